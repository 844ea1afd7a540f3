"""The clock of a run after its page was closed: right though the device's time of day was set, or said to be unsure."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.web.conftest import PageAt, assert_accessible
from tests.web.test_result_page import begin_run

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
AN_HOUR_MS = 3_600_000
SET_THE_CLOCK = """
an_hour_ms => {
  const [name] = Object.keys(localStorage).filter(each => each.startsWith("onthree-run-"));
  const log = JSON.parse(localStorage.getItem(name));
  localStorage.setItem(name, JSON.stringify({ ...log, went_ms: log.went_ms - an_hour_ms }));
}
"""
"""A device whose time of day was set on by an hour finds the start of the clock an hour too early."""


@pytest.fixture
def running(page_at: PageAt) -> Page:
    """A run whose clock was started, and that has arrived."""
    page = page_at("phone")
    begin_run(page)
    page.click("#tap-next")
    expect(page.locator("#sending")).to_contain_text("All sent")
    return page


def test_a_clock_that_was_set_while_the_page_was_closed_is_put_right_by_the_server(running: Page) -> None:
    running.reload()
    running.wait_for_load_state("networkidle")
    expect(running.locator("#clock-told")).to_have_text("")
    expect(running.locator("#clock")).to_have_text(re.compile(r"^[0-3]:"))

    running.evaluate(SET_THE_CLOCK, AN_HOUR_MS)
    running.reload()
    expect(running.locator("#clock-told")).to_contain_text("the clock was restored from the server")
    expect(running.locator("#clock")).to_have_text(re.compile(r"^[0-3]:"))
    assert_accessible(running)


def test_without_a_connection_the_page_says_that_it_goes_by_the_time_of_day_of_the_device(running: Page) -> None:
    running.route("**/api/films/runs/*/clock", lambda route: route.abort("internetdisconnected"))
    running.reload()

    expect(running.locator("#clock-told")).to_contain_text("restored from this device's time of day")
    assert_accessible(running)
