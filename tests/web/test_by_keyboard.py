"""The keyboard alone leads through the records, and the visitors' request; both are read by axe on the way."""

import pytest
from playwright.sync_api import Page

from onthree.actions.records import record_as_saved
from onthree.programme.records import Athlete
from tests.web.conftest import PageAt, assert_accessible, assert_works_at_double_text
from tests.web.test_in_a_browser import tab_to

pytestmark = pytest.mark.browser


def typed(page: Page, selector: str, text: str) -> None:
    """Reach a field with Tab and type into it."""
    tab_to(page, selector)
    page.keyboard.type(text)


def test_an_athlete_is_added_corrected_and_read_in_the_history_by_keyboard_alone(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto("/")
    for link in ("nav.legs a[href^='/ready/']", ".leg-pages a[href^='/records/']", "a[href='/records/athletes/']"):
        tab_to(page, link)
        with page.expect_navigation():
            page.keyboard.press("Enter")
    tab_to(page, "a[href='/records/add/athletes/']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/records/add/athletes/")
    typed(page, "#field-code", "T1-new")
    typed(page, "#field-team", "T-1")
    typed(page, "#field-number", "1")
    typed(page, "#field-mass", "290")
    page.keyboard.press("Enter")
    page.locator("#problems").wait_for()
    assert_accessible(page)

    tab_to(page, ".problems a[href='#field-mass']")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "field-mass"
    page.keyboard.press("End")
    page.keyboard.type(" lb")
    page.keyboard.press("Enter")
    page.wait_for_url("**/records/athletes/T1-new/?saved*")  # the address keeps the field that was corrected
    assert record_as_saved(Athlete, "T1-new").typed["mass"] == "290 lb"
    tab_to(page, "a[href='/records/history/athletes/T1-new/']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/records/history/athletes/T1-new/")
    assert "290 lb" in page.inner_text("main")


def test_a_mark_is_put_on_a_plan_by_keyboard_alone(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto("/records/plan/of/V-1/")
    typed(page, "#plan-label", "second AED")
    typed(page, "#plan-drawn", "POINT (10 20)")
    page.keyboard.press("Enter")
    page.locator("table >> text=second AED").wait_for()
    assert_accessible(page)


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_the_visitors_request_is_made_and_answered_by_keyboard_alone(page_at: PageAt, size: str) -> None:
    page = page_at(size)
    page.goto("/events/E-1/")
    tab_to(page, "form[action$='/visitor-link/'] button", most=200)
    page.keyboard.press("Enter")
    page.locator("p.link a").wait_for()
    assert_accessible(page)
    assert_works_at_double_text(page)

    page.goto(page.locator("p.link a").get_attribute("href") or "")
    assert_accessible(page)
    assert_works_at_double_text(page)
    typed(page, "#line-name", "Ann, visiting athletic trainer")
    page.keyboard.press("Tab")
    page.keyboard.type("77: 330 lb")
    tab_to(page, "form button")
    page.keyboard.press("Enter")
    page.locator("text=77: 330 lb").wait_for()
    assert_accessible(page)
