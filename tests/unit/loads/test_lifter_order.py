"""The order of the people at the holds."""

from itertools import permutations

import numpy as np
import pytest

from onthree.loads.handholds import hold_places_m
from onthree.loads.lifter_order import lifter_orders
from onthree.loads.sharing import least_largest_ratio

G = 9.80665
HOLDS_M = hold_places_m(0.25, 0.6, 3, 0.44)


def test_the_strongest_stand_where_the_load_is() -> None:
    orders = lifter_orders([(0, 0), (1, 0), (2, 0)], [100, 300, 100], 400, (0.0, 0.0))

    assert orders.given.ratio == 4
    assert orders.best.lifters[0] == 1
    assert orders.best.ratio == pytest.approx(4 / 3)
    assert orders.worst.ratio == 4


@pytest.mark.parametrize("people", [2, 3, 4])
def test_best_and_worst_of_all_orders(people: int) -> None:
    chance = np.random.default_rng(people)
    holds_m = [(0, -0.2), (0, 0.2), (1.8, 0)]
    limits_n = chance.uniform(100, 400, people)
    com_m = (0.0, 0.05) if people == 2 else (0.8, 0.03)
    standing_n = [*limits_n, *[0] * (3 - people)]
    every = [least_largest_ratio(holds_m, order, 900, com_m) for order in permutations(standing_n, 3)]
    orders = lifter_orders(holds_m, limits_n, 900, com_m)

    assert orders.best.ratio == pytest.approx(min(every))
    assert orders.worst.ratio == pytest.approx(max(every))


def test_each_order_names_people_once_and_its_own_ratio() -> None:
    limits_n = np.array([30, 23, 15, 25, 20, 23]) * G
    orders = lifter_orders(HOLDS_M, limits_n, 147 * G, (0.864, 0))

    for order in (orders.given, orders.best, orders.worst):
        assert sorted(order.lifters) == list(range(6))
        assert order.ratio == pytest.approx(
            least_largest_ratio(HOLDS_M, limits_n[list(order.lifters)], 147 * G, (0.864, 0))
        )
    assert orders.best.ratio < orders.given.ratio <= orders.worst.ratio


def test_the_given_order_stays_where_none_is_better() -> None:
    orders = lifter_orders(HOLDS_M, [250] * 6, 147 * G, (0.864, 0))

    assert orders.best == orders.given == orders.worst


def test_too_few_people_leave_holds_free() -> None:
    orders = lifter_orders(HOLDS_M, [300, 300, 300, 200], 1000, (0.85, 0))

    assert orders.given.lifters == (0, 1, 2, 3, None, None)
    assert orders.best.lifters.count(None) == 2
    assert np.isinf(orders.given.ratio) or orders.given.ratio > orders.best.ratio


def test_with_more_people_than_holds_the_weaker_stay_out() -> None:
    orders = lifter_orders([(0, 0), (1, 0)], [100, 200, 300], 400, (0.5, 0))

    assert orders.given.lifters == (0, 1)
    assert set(orders.best.lifters) == {1, 2}


def test_a_limit_that_is_not_known_gives_no_order() -> None:
    orders = lifter_orders(HOLDS_M, [np.nan, *[250] * 5], 1000, (0.85, 0))

    assert orders.best == orders.given or np.isnan(orders.best.ratio)
    assert np.isnan([orders.given.ratio, orders.best.ratio, orders.worst.ratio]).all()


def test_nine_people_are_refused() -> None:
    with pytest.raises(ValueError, match="at most 8"):
        lifter_orders(HOLDS_M, [250] * 9, 1000, (0.85, 0))
