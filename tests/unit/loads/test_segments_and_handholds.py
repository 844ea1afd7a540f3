"""Places of segments, hold places from a few measured distances, and the load as one mass."""

import numpy as np
import pytest

from onthree.loads.handholds import (
    PartOnDevice,
    athlete_on_device,
    hold_places_m,
    load_of,
    slope_shift_m,
)
from onthree.loads.segments import SEXES, supine_centre_ratio, supine_segments
from onthree.loads.sharing import least_largest_ratio


@pytest.mark.parametrize("sex", SEXES)
def test_segments_lie_between_head_and_soles(sex: str) -> None:
    places = {segment.name: segment.place_ratio for segment in supine_segments(sex)}

    assert 0 < places["head"] < places["upper trunk"] < places["middle trunk"] < places["lower trunk"] < places["thigh"]
    assert places["upper trunk"] < places["upper arm"] < places["forearm"] < places["hand"] < places["shank"]
    assert places["thigh"] < places["shank"] < places["foot"] < 1


def test_another_sex_is_refused() -> None:
    with pytest.raises(ValueError, match="male or female"):
        supine_segments("unknown")


def test_hold_places_from_three_distances() -> None:
    holds_m = hold_places_m(first_m=0.25, spacing_m=0.6, pairs=3, width_m=0.44)

    expected_m = [(x, y) for x in (0.25, 0.85, 1.45) for y in (-0.22, 0.22)]
    assert holds_m == pytest.approx(np.array(expected_m))


@pytest.mark.parametrize(("pairs", "spacing_m"), [(0, 0.6), (3, -0.1)])
def test_impossible_distances_are_refused(pairs: int, spacing_m: float) -> None:
    with pytest.raises(ValueError, match="at least one pair"):
        hold_places_m(0.25, spacing_m, pairs, 0.44)


def test_parts_add_up_to_one_load() -> None:
    load = load_of([PartOnDevice(130, 0.9), PartOnDevice(10, 0.2, 0.14), PartOnDevice(8, 1.0)])

    assert load.mass_kg == 148
    assert load.com_m == pytest.approx(((117 + 2 + 8) / 148, 1.4 / 148))
    assert load.weight_n() == pytest.approx(148 * 9.80665)
    assert load.weight_n(1.2) == pytest.approx(148 * 9.80665 * 1.2)


def test_an_athlete_lies_with_the_centre_of_mass_below_the_head() -> None:
    part = athlete_on_device(130, 1.93, "male", vertex_m=0.05)

    assert part == PartOnDevice(130, 0.05 + 1.93 * (1 - supine_centre_ratio("male")))


def test_a_slope_loads_the_lower_end() -> None:
    # tan 20 deg = 0.36397: 8 cm above the hands the centre of mass moves by 29 mm.
    shift_m = slope_shift_m(0.08, 20)
    holds_m = hold_places_m(0.25, 0.6, 3, 0.44)
    limits_n = [23 * 9.80665] * 6
    level, tilted = (
        least_largest_ratio(holds_m, limits_n, 147 * 9.80665, (x_m, 0)) for x_m in (0.864, 0.864 + shift_m)
    )

    assert shift_m == pytest.approx(0.0291, abs=5e-5)
    # Foot and middle pairs take t each, the head pair the rest: t = W (x - 0.25) / 3.6.
    assert (level, tilted) == pytest.approx((147 * 0.614 / 3.6 / 23, 147 * (0.614 + shift_m) / 3.6 / 23))
