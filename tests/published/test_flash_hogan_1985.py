"""What a smooth start adds to a lift: the curve of least jerk, differentiated by numpy."""

import numpy as np
import pytest

from onthree.loads.lift import dynamic_lift_ratio, peak_lift_speed_m_s
from tests.printed import assert_agrees

WHERE = "the curve of least jerk from rest to rest, 10 s^3 - 15 s^4 + 6 s^5; from memory"
G = 9.80665


@pytest.mark.published("flash-hogan-1985", where=WHERE)
@pytest.mark.parametrize(("height_m", "time_s"), [(0.15, 0.5), (0.15, 1.5), (0.75, 1.0), (0.75, 2.0)])
def test_the_smooth_lift_is_the_curve_of_least_jerk(height_m: float, time_s: float) -> None:
    path = np.polynomial.Polynomial([0, 0, 0, 10, -15, 6])
    along = np.linspace(0, 1, 20_001)
    acceleration = height_m / time_s**2 * path.deriv(2)(along).max()
    speed = height_m / time_s * path.deriv(1)(along).max()

    assert dynamic_lift_ratio(height_m, time_s) == pytest.approx(1 + acceleration / G, rel=1e-7)
    assert peak_lift_speed_m_s(height_m, time_s) == pytest.approx(speed, rel=1e-7)


@pytest.mark.published("flash-hogan-1985", where=WHERE + "; its largest speed is 1.875 of the mean")
def test_the_largest_speed() -> None:
    assert_agrees(peak_lift_speed_m_s(1, 1), "1.875")
    # A lift of 75 cm in 2 s stays below the 0.76 m/s of the lifting equation, one in 1.5 s does not.
    assert peak_lift_speed_m_s(0.75, 2) < 0.76 < peak_lift_speed_m_s(0.75, 1.5)
