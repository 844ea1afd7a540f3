"""The container refuses what no measure could be taken from, every problem at once."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.unit.kinematics.recorded import recorded, uncertain


def test_it_knows_its_segments() -> None:
    motion = recorded(Rotation.identity(5), lost=slice(1, 2))

    assert motion.is_seen("head").tolist() == [True, False, True, True, True]
    assert motion.column("trunk") == 1
    with pytest.raises(KeyError, match="'pelvis' given, one of head, trunk expected"):
        motion.column("pelvis")


@pytest.mark.parametrize(
    ("changed", "complaint"),
    [
        ({"time_s": np.array([0.0, 0.1, 0.1, 0.2])}, "does not rise strictly"),
        ({"time_s": np.array([0.0, 0.1, np.nan, 0.2])}, "does not rise strictly"),
        ({"time_s": np.zeros((4, 1))}, "with at least 2 moments"),
        ({"frame": "room"}, "camera, gravity, laboratory expected"),
        ({"segments": ("head", "head")}, "the same ones expected, each once"),
        ({"is_valid": np.ones((4, 3), dtype=bool)}, r"truth values of shape \(4, 2\)"),
        ({"is_valid": np.zeros((4, 2), dtype=bool)}, "head: a rotation other than the identity where it is not valid"),
        ({"position_m": np.zeros((4, 2))}, r"\(4, 2, 3\) expected"),
        ({"position_m": np.full((4, 2, 3), np.nan)}, "not a number where the segment is valid"),
        ({"neutral_s": (2.0, 1.0)}, "start before end"),
        ({"measured_as": ""}, "say what was measured"),
    ],
)
def test_what_is_wrong_is_refused(changed: dict[str, object], complaint: str) -> None:
    motion = recorded(Rotation.from_rotvec(np.full((4, 3), 0.1)))

    with pytest.raises(ValueError, match=complaint):
        replace(motion, **changed)


def test_every_problem_is_told_at_once() -> None:
    with pytest.raises(ValueError, match=r"(?s)room.*measured_as is empty"):
        replace(recorded(Rotation.identity(4)), frame="room", measured_as="")


@pytest.mark.parametrize(
    ("changed", "complaint"),
    [
        ({"reference": "head"}, "two segments expected"),
        ({"noise_cov_rad2": np.zeros((4, 3))}, r"\(n, 3, 3\) expected"),
        ({"noise_cov_rad2": np.full((4, 3, 3), np.nan)}, "give zero"),
        ({"noise_cov_rad2": np.tile(np.triu(np.ones((3, 3))), (4, 1, 1))}, "not symmetric"),
        ({"noise_cov_rad2": np.tile(-np.eye(3), (4, 1, 1))}, "negative variance"),
        ({"noise_correlation_s": float("nan")}, "at least 0 s"),
        ({"shared_names": ("focal",)}, "one row for each"),
        ({"shared_rad": np.full((1, 4, 3), np.inf), "shared_names": ("focal",)}, "shared_rad is not a number"),
        ({"shared_rad": np.zeros((2, 4, 3)), "shared_names": ("focal", "focal")}, "a name twice"),
    ],
)
def test_an_uncertainty_that_cannot_be_drawn_from_is_refused(changed: dict[str, object], complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        uncertain(4, **changed)
