"""Lifts at the ends and without a device."""

from datetime import date

import pytest

from onthree.loads.lift import (
    direct_lift_share_ratio,
    end_carry_share_ratio,
)
from onthree.loads.segments import SEXES, supine_centre_ratio
from onthree.loads.sharing import least_largest_ratio
from onthree.sources import parameter


def test_two_at_the_ends_share_by_the_lever_rule() -> None:
    assert end_carry_share_ratio(0.9, 0, 2) == pytest.approx((0.55, 0.45))
    head_ratio, _ = end_carry_share_ratio(0.9, 0, 2)
    assert least_largest_ratio([(0, 0), (2, 0)], [500, 500], 1000, (0.9, 0)) == pytest.approx(head_ratio * 2)


@pytest.mark.parametrize(("com_m", "foot_m"), [(-0.1, 2), (2.1, 2), (0, 0)])
def test_a_centre_of_mass_beyond_the_ends_is_refused(com_m: float, foot_m: float) -> None:
    with pytest.raises(ValueError, match="expected"):
        end_carry_share_ratio(com_m, 0, foot_m)


@pytest.mark.parametrize("sex", SEXES)
def test_holds_beyond_head_and_soles_balance_the_whole_body(sex: str) -> None:
    places_ratio = (0.0, 0.3, 0.6, 1.0)
    shares_ratio = direct_lift_share_ratio(sex, places_ratio)

    assert sum(shares_ratio) == pytest.approx(1)
    moment = sum(share * place for share, place in zip(shares_ratio, places_ratio, strict=True))
    assert moment == pytest.approx(1 - supine_centre_ratio(sex))


def test_what_lies_beyond_the_last_hold_is_carried_by_it() -> None:
    assert direct_lift_share_ratio("male", (0.998, 0.999)) == pytest.approx((1, 0))
    assert direct_lift_share_ratio("male", (0.001, 0.002)) == pytest.approx((0, 1))


def test_the_guessed_holds_share_the_whole_body() -> None:
    holds = parameter("direct_lift_holds", date(2026, 1, 1))
    shares_ratio = direct_lift_share_ratio("male", [hold["place"] for hold in holds.value])

    assert holds.is_guess
    assert sum(shares_ratio) == pytest.approx(1)
    assert shares_ratio.index(max(shares_ratio)) == [hold["hold"] for hold in holds.value].index("pelvis")


@pytest.mark.parametrize("places_ratio", [(0.1,), (0.4, 0.2), (0.2, 0.2)])
def test_holds_out_of_order_are_refused(places_ratio: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="in order"):
        direct_lift_share_ratio("male", places_ratio)
