"""What medical direction signed holds on its days only, and says by whom and when."""

from datetime import date, timedelta
from typing import Any

import pytest

from onthree.programme.programme import Programme, Scope, programme_of
from onthree.programme.records import MedicalOrder
from onthree.readiness.approval import NOT_APPROVED, approval, approval_words
from tests.invented import DAY, clean_records

PAGE = "life_first/arrest"


def order(code: str = "MO-1", **changes: Any) -> MedicalOrder:
    given = {"code": code, "about": PAGE, "signer": "team physician", "signed_on": date(2026, 8, 1), **changes}
    return MedicalOrder(**given)


def programme(*orders: MedicalOrder) -> Programme:
    others = [record for record in clean_records() if not isinstance(record, MedicalOrder)]
    return programme_of([*others, *orders], DAY, Scope())


def test_nothing_signed_is_not_approved() -> None:
    assert approval(programme(), PAGE, DAY) is None
    assert approval_words(None) == NOT_APPROVED == "not approved by medical direction: a sourced default"


def test_a_signed_page_says_by_whom_and_when() -> None:
    found = approval(programme(order()), PAGE, DAY)

    assert approval_words(found) == "approved by medical direction: team physician, 2026-08-01"


def test_conditions_stand_beside_the_approval() -> None:
    assert approval_words(order(conditions="two trained people")).endswith("2026-08-01; conditions: two trained people")


@pytest.mark.parametrize(
    ("changes", "is_approved"),
    [
        ({"signed_on": DAY}, True),
        ({"signed_on": DAY + timedelta(days=1)}, False),
        ({"until": DAY}, True),
        ({"until": DAY - timedelta(days=1)}, False),
        ({"about": "life_first/airway"}, False),
    ],
)
def test_an_order_holds_from_its_first_to_its_last_day_and_for_its_page_only(
    changes: dict[str, Any], is_approved: bool
) -> None:
    assert (approval(programme(order(**changes)), PAGE, DAY) is not None) == is_approved


def test_of_several_orders_the_latest_signed_that_still_holds_counts() -> None:
    orders = (
        order("MO-1"),
        order("MO-2", signed_on=date(2026, 9, 1), signer="second physician"),
        order("MO-3", signed_on=date(2026, 10, 1), until=date(2026, 10, 31)),
    )
    found = approval(programme(*orders), PAGE, DAY)

    assert found and found.code == "MO-2"
