"""Sharing a load: what must hold for every device, group and load."""

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from onthree.loads.sharing import (
    after_one_lets_go_ratios,
    equal_stiffness_forces_n,
    equal_stiffness_ratio,
    least_largest_ratio,
)

Numbers = NDArray[np.float64]
Lift = tuple[Numbers, Numbers, float, Numbers]
RELATIVE = 1e-6


@st.composite
def lifts(draw: st.DrawFn) -> Lift:
    """Holds on a grid of 5 cm, limits, a weight, and a centre of mass among the holds."""
    place = st.tuples(st.integers(0, 40), st.integers(-6, 6))
    holds_m = 0.05 * np.array(draw(st.lists(place, min_size=2, max_size=7)), dtype=float)
    count = len(holds_m)
    limits_n = np.array(draw(st.lists(st.integers(50, 500), min_size=count, max_size=count)), dtype=float)
    shares = np.array(draw(st.lists(st.integers(1, 9), min_size=count, max_size=count)), dtype=float)
    return holds_m, limits_n, float(draw(st.integers(300, 2500))), shares @ holds_m / shares.sum()


@given(lifts())
def test_never_less_than_the_weight_over_all_limits_and_never_more_than_a_sharing_that_balances(lift: Lift) -> None:
    _, limits_n, weight_n, _ = lift
    ratio = least_largest_ratio(*lift)

    assert ratio >= weight_n / limits_n.sum() * (1 - RELATIVE)
    assert ratio <= equal_stiffness_ratio(*lift) * (1 + RELATIVE)
    assert ratio <= after_one_lets_go_ratios(*lift).min() * (1 + RELATIVE)


@given(lifts(), st.integers(2, 9))
def test_scales_with_the_weight_and_against_the_limits(lift: Lift, times: int) -> None:
    holds_m, limits_n, weight_n, com_m = lift
    ratio = least_largest_ratio(*lift)

    assert np.isclose(least_largest_ratio(holds_m, limits_n, times * weight_n, com_m), times * ratio)
    assert np.isclose(least_largest_ratio(holds_m, times * limits_n, weight_n, com_m), ratio / times)


@given(lifts(), st.data())
def test_a_stronger_lifter_never_makes_it_worse(lift: Lift, data: st.DataObject) -> None:
    holds_m, limits_n, weight_n, com_m = lift
    stronger_n = limits_n.copy()
    stronger_n[data.draw(st.integers(0, len(limits_n) - 1))] *= 1.5

    assert least_largest_ratio(holds_m, stronger_n, weight_n, com_m) <= least_largest_ratio(*lift) * (1 + RELATIVE)


@given(lifts(), st.integers(-100, 100), st.integers(0, 359))
def test_it_does_not_matter_from_where_and_along_what_places_are_measured(lift: Lift, by_m: int, turn_deg: int) -> None:
    holds_m, limits_n, weight_n, com_m = lift
    turn = np.radians(turn_deg)
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    moved = least_largest_ratio(holds_m @ turned + by_m, limits_n, weight_n, com_m @ turned + by_m)

    assert np.isclose(moved, least_largest_ratio(*lift), rtol=RELATIVE)


@given(lifts(), st.randoms(use_true_random=False))
def test_the_order_in_which_holds_are_named_does_not_matter(lift: Lift, chance: object) -> None:
    holds_m, limits_n, weight_n, com_m = lift
    order = list(range(len(limits_n)))
    chance.shuffle(order)  # type: ignore[attr-defined]

    assert np.isclose(least_largest_ratio(holds_m[order], limits_n[order], weight_n, com_m), least_largest_ratio(*lift))


@given(lifts(), st.integers(-10, 50), st.integers(-8, 8))
def test_equal_arms_balance_and_pull_up_wherever_a_balance_exists(lift: Lift, x: int, y: int) -> None:
    holds_m, limits_n, weight_n, _ = lift
    com_m = 0.05 * np.array([x, y]) + 0.013
    forces_n = equal_stiffness_forces_n(holds_m, weight_n, com_m)
    ratio = least_largest_ratio(holds_m, limits_n, weight_n, com_m)
    assume(np.isfinite(ratio) or np.isinf(forces_n).all())

    assert np.isfinite(forces_n).all() == np.isfinite(ratio)
    if np.isfinite(ratio):
        assert forces_n.min() >= -1e-6 * weight_n
        assert np.isclose(forces_n.sum(), weight_n)
        assert np.allclose(forces_n @ holds_m, weight_n * com_m, atol=1e-6 * weight_n)
