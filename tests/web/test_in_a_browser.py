"""The pages in a real browser, at the widths of a desk, a tablet and a phone, by keyboard, and with large text."""

import pytest

from tests.web.addresses import ADDRESSES
from tests.web.conftest import SIZES, PageAt, assert_accessible, assert_works_at_double_text

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("size", SIZES)
def test_every_page_is_accessible_and_stays_within_the_screen_with_large_text_too(page_at: PageAt, size: str) -> None:
    page = page_at(size)
    for address in ADDRESSES:
        page.goto(address)

        assert_accessible(page)
        assert page.locator("h1:visible").count() == 1
        assert page.locator("main").count() == 1
        assert page.locator("nav.legs a").count() == 3
        assert page.locator("a.life-first-link").is_visible()
        if size != "narrow":
            assert_works_at_double_text(page)


def test_contrast_holds_in_the_dark_scheme(page_at: PageAt) -> None:
    page = page_at("tablet")
    page.emulate_media(color_scheme="dark")
    for address in ("/", "/events/E-1/", "/events/E-1/?surface=wet-turf", "/life-first/arrest/"):
        page.goto(address)

        assert_accessible(page)


def test_what_is_tapped_is_large(page_at: PageAt) -> None:
    page = page_at("phone")
    for address in ("/", "/events/E-1/", "/life-first/"):
        page.goto(address)
        low = page.evaluate(
            "[...document.querySelectorAll('.legs a, .life-first-link, button, select, .events a, .go')]"
            ".filter(each => each.getBoundingClientRect().height < 48).map(each => each.textContent)"
        )

        assert low == [], address


def test_the_keyboard_alone_leads_from_home_to_an_athlete(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "content"
    tab_to(page, "#next a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/events/E-1/")
    page.focus("#content")
    tab_to(page, "tbody th a")
    page.keyboard.press("Enter")
    page.wait_for_url("**/athletes/**")

    assert page.locator("h1 .jersey").is_visible()


def tab_to(page: object, selector: str, most: int = 60) -> None:
    """Press Tab until the first element that matches is reached; it must be seen to have the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")  # type: ignore[attr-defined]
        if page.evaluate(f"document.activeElement.matches({selector!r})"):  # type: ignore[attr-defined]
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"  # type: ignore[attr-defined]
            return
    pytest.fail(f"{selector} is not reached with {most} presses of Tab")


def test_how_the_listed_events_stand_is_filled_in(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto("/choose/")
    page.locator(".events .stands").first.wait_for()

    assert "athletes" in page.locator(".events .stands").first.inner_text()


def test_answers_stand_in_the_columns_of_their_table_on_screen_and_on_paper(page_at: PageAt) -> None:
    page = page_at("desktop")
    for medium in ("screen", "print"):
        if medium == "print":
            page.set_viewport_size({"width": 703, "height": 1032})  # A4 with margins of 12 mm
        page.emulate_media(media=medium)
        page.goto("/events/E-1/")
        shown = page.evaluate(
            "[...document.querySelectorAll('.athletes td.answer')].map(each => getComputedStyle(each).display)"
        )

        assert set(shown) == {"table-cell"}, medium


@pytest.mark.parametrize("address", ["/", "/events/E-1/"])
def test_a_phone_shows_the_sentence_at_once_with_life_first_in_one_line_before_it(
    page_at: PageAt, address: str
) -> None:
    page = page_at("phone")
    page.goto(address)
    sentence, line = page.locator(".sentences p").first.bounding_box(), page.locator("nav.life-first").bounding_box()
    assert sentence and line
    assert line["height"] < 60
    assert sentence["y"] + sentence["height"] <= 844

    page.locator("nav.life-first summary").click()
    page.get_by_role("link", name="No breathing or pulse").click()
    assert page.url.endswith("/life-first/arrest/")
