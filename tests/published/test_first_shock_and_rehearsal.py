"""The targets and intervals behind rules are those their sources print."""

import re
from datetime import date, timedelta

import pytest

from onthree.sources import parameter
from onthree.techniques.life_first import life_first_pages
from tests.house.tree import DOCS
from tests.printed import assert_agrees

DAY = date(2026, 11, 27)


@pytest.mark.published("thompson-2021", where="abstract: time from collapse to first shock less than 3 min")
def test_the_first_shock_is_asked_for_in_less_than_three_minutes() -> None:
    assert_agrees(parameter("first_shock_s", DAY).value / 60, "3")


@pytest.mark.published(
    "casa-2012",
    where="sudden cardiac arrest, recommendation 1: less than three to five minutes, as a public page lists it",
)
def test_the_older_target_ends_at_five_minutes() -> None:
    assert_agrees(parameter("first_shock_s", DAY).value / 60, "3")
    assert_agrees(parameter("first_shock_latest_s", DAY).value / 60, "5")


@pytest.mark.published("andersen-2002", where="abstract: emergency plans are reviewed and rehearsed annually")
def test_a_rehearsal_counts_for_a_year() -> None:
    interval = parameter("rehearsal_interval_days", DAY)

    assert date(2025, 11, 27) + timedelta(days=interval.value) == DAY
    assert not interval.is_guess


@pytest.mark.published("heat-protocols-51", where="abstract, results: cooling before transport, 11 of 51")
def test_the_share_of_protocols_that_cool_first_is_the_same_on_the_rules_page_and_the_life_first_page() -> None:
    (page,) = (each for each in life_first_pages() if each.id == "heat_stroke")
    printed = next(each.printed for each in page.known if "before transport" in each.says)
    written = (DOCS / "rules" / "cooling-absent.md").read_text(encoding="utf-8")

    assert re.findall(r"[\d.]+", printed) == ["11", "51", "21.6"]
    assert_agrees(100 * 11 / 51, "21.6")
    assert "of 51 ambulance protocols, 21.6 % say to cool before transport" in written
