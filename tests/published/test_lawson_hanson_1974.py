"""Springs that only pull up, against the conditions that a least distance has to meet."""

import numpy as np
import pytest

from onthree.loads.sharing import equal_stiffness_forces_n


@pytest.mark.published("lawson-hanson-1974", where="chapter 23, conditions of Kuhn and Tucker for a least distance")
@pytest.mark.parametrize("seed", range(20))
def test_forces_are_those_of_one_tilted_plane_where_they_pull_and_zero_where_it_would_push(seed: int) -> None:
    chance = np.random.default_rng(seed)
    holds_m = chance.uniform((0, -0.3), (2, 0.3), (chance.integers(4, 9), 2))
    com_m = chance.dirichlet(np.full(len(holds_m), 0.5)) @ holds_m
    forces_n = equal_stiffness_forces_n(holds_m, 1000, com_m)
    pulls = forces_n > 1e-6
    plane = np.column_stack([np.ones(len(holds_m)), holds_m])
    tilt, *_ = np.linalg.lstsq(plane[pulls], forces_n[pulls], rcond=None)

    assert plane[pulls] @ tilt == pytest.approx(forces_n[pulls], abs=1e-6)
    if pulls.sum() >= 3:
        assert (plane[~pulls] @ tilt <= 1e-6).all()
    assert plane.T @ forces_n == pytest.approx(1000 * np.append(1, com_m))
