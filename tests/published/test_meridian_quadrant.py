"""From the equator to the pole along a meridian, against the printed length of the quadrant."""

import pytest

from onthree.actions.venue_plan import degree_lengths_m

QUADRANT_M = 10_001_965.7293
OTHER_FLATTENING_M = 0.0001
"""The ellipsoid of the print is flatter than that of WGS 84 by 1.6e-11, which is less than this on the quadrant."""


@pytest.mark.published("moritz-2000", where="derived geometric constants: meridian quadrant, from memory")
def test_degrees_of_latitude_add_up_to_the_quadrant() -> None:
    steps = 900
    weights = [1, *([4, 2] * (steps // 2))[:-1], 1]  # Simpson's rule
    lengths_m = [degree_lengths_m(90 * step / steps)[0] for step in range(steps + 1)]
    quadrant_m = sum(weight * each for weight, each in zip(weights, lengths_m, strict=True)) * (90 / steps) / 3

    assert quadrant_m == pytest.approx(QUADRANT_M, abs=0.00005 + OTHER_FLATTENING_M)
