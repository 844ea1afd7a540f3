"""The log roll as a rolling ellipse and as a block on its edge."""

import numpy as np
import pytest

from onthree.loads.limits import reference_number
from onthree.loads.log_roll import ellipse_peak_moment_n_m, log_roll

G = 9.80665
LIMIT_N = reference_number("patient-handling").force_n


@pytest.mark.parametrize(
    ("half_breadth_m", "half_depth_m"), [(0.255, 0.125), (0.286, 0.150), (0.31, 0.165), (0.2, 0.2)]
)
def test_the_moment_is_the_steepest_rise_of_the_centre(half_breadth_m: float, half_depth_m: float) -> None:
    turned = np.linspace(0, np.pi / 2, 200_001)
    height_m = np.hypot(half_breadth_m * np.sin(turned), half_depth_m * np.cos(turned))
    steepest = np.diff(height_m).max() / (turned[1] - turned[0])

    moment_n_m = ellipse_peak_moment_n_m(1000, half_breadth_m, half_depth_m)
    assert moment_n_m == pytest.approx(1000 * max(steepest, 0), abs=1e-3)


@pytest.mark.parametrize(
    ("mass_kg", "half_breadth_m", "half_depth_m", "by_ellipse", "by_block"),
    [(98, 0.255, 0.125, 3, 4), (127, 0.286, 0.150, 3, 4), (149, 0.30, 0.16, 3, 5), (159, 0.31, 0.165, 4, 6)],
)
def test_rollers_at_35_lb(
    mass_kg: float, half_breadth_m: float, half_depth_m: float, by_ellipse: int, by_block: int
) -> None:
    roll = log_roll(mass_kg * G, half_breadth_m, half_depth_m, LIMIT_N)

    assert (roll.rollers_by_ellipse.count, roll.rollers_by_block.count) == (by_ellipse, by_block)
    assert roll.block_force_n == pytest.approx(mass_kg * G / 2)
    assert roll.ellipse_force_n * (half_breadth_m + half_depth_m) == pytest.approx(roll.ellipse_moment_n_m)


def test_the_number_of_rollers_never_stands_without_its_ratio() -> None:
    # 118 kg with 9 kg worn: half the weight is 3.9998 times 35 lb; a few grams more and it takes a fifth.
    roll = log_roll(127 * G, 0.286, 0.150, LIMIT_N)

    assert "4 (force / limit = 3.9998)" in roll.sentence
    assert "3 (force / limit = 2.4953)" in roll.sentence
    assert "one more at the head" in roll.sentence


@pytest.mark.parametrize(("half_breadth_m", "half_depth_m"), [(0.1, 0.2), (0.3, 0.0)])
def test_a_trunk_deeper_than_broad_is_refused(half_breadth_m: float, half_depth_m: float) -> None:
    with pytest.raises(ValueError, match="breadth comes first"):
        log_roll(1000, half_breadth_m, half_depth_m, LIMIT_N)
