"""Sharing a load over hand holds: cases worked by hand, what cannot balance, what is not known."""

import numpy as np
import pytest

from onthree.loads.sharing import (
    after_one_lets_go_ratios,
    equal_stiffness_forces_n,
    equal_stiffness_ratio,
    least_largest_force_n,
    least_largest_ratio,
    least_largest_ratios,
)

FOUR = [(0.0, -0.2), (0.0, 0.2), (2.0, -0.2), (2.0, 0.2)]
SIX = [(x, y) for x in (0.25, 0.85, 1.45) for y in (-0.22, 0.22)]


def test_four_holds_share_by_the_lever_rule() -> None:
    # 1000 N at 0.9 m of 2.0 m: the head end carries 550 N, the foot end 450 N, each by two people.
    assert equal_stiffness_forces_n(FOUR, 1000, (0.9, 0)) == pytest.approx([275, 275, 225, 225])
    assert least_largest_ratio(FOUR, [250] * 4, 1000, (0.9, 0)) == pytest.approx(1.1)
    assert least_largest_force_n(FOUR, 1000, (0.9, 0)) == pytest.approx(275)


def test_three_holds_leave_no_choice() -> None:
    holds_m, com_m = [(0.0, 0.0), (2.0, -0.3), (2.0, 0.3)], (1.2, 0.0)

    assert equal_stiffness_forces_n(holds_m, 900, com_m) == pytest.approx([360, 270, 270])
    assert least_largest_ratio(holds_m, [360, 270, 270], 900, com_m) == pytest.approx(1)


def test_six_holds_may_share_equally_where_the_load_lies_in_the_middle() -> None:
    assert least_largest_ratio(SIX, [100] * 6, 1200, (0.85, 0)) == pytest.approx(2)


@pytest.mark.parametrize("com_m", [(-0.01, 0), (2.01, 0), (1, 0.21)])
def test_a_centre_of_mass_outside_the_holds_cannot_be_held(com_m: tuple[float, float]) -> None:
    assert least_largest_ratio(FOUR, [250] * 4, 1000, com_m) == np.inf
    assert equal_stiffness_ratio(FOUR, [250] * 4, 1000, com_m) == np.inf


def test_over_an_edge_of_the_holds_only_that_edge_carries() -> None:
    assert equal_stiffness_forces_n(FOUR, 1000, (0, 0)) == pytest.approx([500, 500, 0, 0])
    assert least_largest_ratio(FOUR, [250] * 4, 1000, (0, 0)) == pytest.approx(2)


def test_nobody_pushes_down() -> None:
    # Over the head pair of six holds, springs that also push would push down at the foot.
    forces_n = equal_stiffness_forces_n(SIX, 1200, (0.25, 0))

    assert forces_n == pytest.approx([600, 600, 0, 0, 0, 0], abs=1e-6)


def test_two_people_at_the_ends_are_a_beam() -> None:
    # 900 N at 0.4 of the span: 540 N at the near end.
    ends_m = [(0, 0), (1, 0)]

    assert least_largest_ratio(ends_m, [300, 300], 900, (0.4, 0)) == pytest.approx(1.8)
    assert equal_stiffness_ratio(ends_m, [300, 300], 900, (0.4, 0)) == pytest.approx(1.8)
    assert least_largest_ratio(ends_m, [300, 300], 900, (0.4, 0.05)) == np.inf


def test_three_in_one_line_may_spare_the_ends() -> None:
    line_m = [(0, 0), (1, 1), (2, 2)]

    assert least_largest_ratio(line_m, [100, 400, 100], 600, (1, 1)) == pytest.approx(1)
    assert equal_stiffness_forces_n(line_m, 600, (1, 1)) == pytest.approx([200, 200, 200])


def test_all_at_one_point_add_up() -> None:
    point_m = [(0.7, 0.1)] * 3

    assert least_largest_ratio(point_m, [100, 200, 300], 900, (0.7, 0.1)) == pytest.approx(1.5)
    assert equal_stiffness_ratio(point_m, [100, 200, 300], 900, (0.7, 0.1)) == pytest.approx(3)
    assert least_largest_ratio(point_m, [100, 200, 300], 900, (0.7, 0.2)) == np.inf


def test_the_others_take_over_when_one_lets_go() -> None:
    # Four holds, load in the middle: without one, the opposite corner carries nothing, the other two half each.
    assert after_one_lets_go_ratios(FOUR, [250] * 4, 1000, (1, 0)) == pytest.approx([2] * 4)
    # Nearer the head: neither at the head can be spared; without one at the foot, the other there carries 450 N, so
    # the two at the head 500 N and 50 N.
    assert after_one_lets_go_ratios(FOUR, [250] * 4, 1000, (0.9, 0.0)) == pytest.approx([np.inf, np.inf, 2, 2])


def test_a_hold_nobody_holds_is_no_hold() -> None:
    assert least_largest_ratio(SIX, [200, 200, 0, 0, 200, 200], 1000, (0.85, 0)) == pytest.approx(1.25)
    assert equal_stiffness_ratio(SIX, [200, 200, 0, 0, 200, 200], 1000, (0.85, 0)) == pytest.approx(1.25)
    assert least_largest_ratio(SIX, [0] * 6, 1000, (0.85, 0)) == np.inf
    assert equal_stiffness_ratio(SIX, [0] * 6, 1000, (0.85, 0)) == np.inf


@pytest.mark.parametrize(("limit_n", "weight_n", "x_m"), [(np.nan, 1000, 1), (250, np.nan, 1), (250, 1000, np.nan)])
def test_what_is_not_known_gives_no_number(limit_n: float, weight_n: float, x_m: float) -> None:
    limits_n = [limit_n, 250, 250, 250]

    assert np.isnan(least_largest_ratio(FOUR, limits_n, weight_n, (x_m, 0)))
    assert np.isnan(equal_stiffness_ratio(FOUR, limits_n, weight_n, (x_m, 0)))


def test_one_call_is_every_combination() -> None:
    holds_m = [SIX, [*FOUR, (0, 0), (0, 0)]]
    limits_n = [[[200] * 6, [150, 200, 250, 200, 150, 100]], [[200] * 4 + [0, 0], [150, 200, 250, 200, 0, 0]]]
    weight_n = [[900, 950], [1300, 1350], [700, 720]]
    com_m = [[(0.8, 0.02), (0.9, 0.0)]] * 3
    ratios = least_largest_ratios(holds_m, limits_n, weight_n, com_m)

    assert ratios.shape == (3, 2, 2)
    for athlete, device, group in np.ndindex(ratios.shape):
        one = least_largest_ratio(
            holds_m[device], limits_n[device][group], weight_n[athlete][device], com_m[athlete][device]
        )
        assert ratios[athlete, device, group] == pytest.approx(one)


def test_a_negative_limit_and_a_load_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="limits"):
        least_largest_ratio(FOUR, [250, 250, 250, -1], 1000, (1, 0))
    with pytest.raises(ValueError, match="weight"):
        least_largest_ratio(FOUR, [250] * 4, 0, (1, 0))
