"""The keyboard alone leads through a rehearsal: a run started, recorded to its end, filmed; its result, its debrief."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, TimeoutError, expect

from onthree.actions.runs import run_of
from onthree.store.models import MeasureJob
from onthree.techniques.library import bundled_library
from tests.web.conftest import PageAt, assert_accessible
from tests.web.films import FILM, RIG, ROLL
from tests.web.measured import measured_run
from tests.web.test_by_keyboard import typed
from tests.web.test_in_a_browser import tab_to

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_TABS = 150


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def follow(page: Page, selector: str) -> None:
    """Reach a link or a button and press it, which leads to another page."""
    tab_to(page, selector, MOST_TABS)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def press(page: Page, selector: str) -> None:
    tab_to(page, selector, MOST_TABS)
    page.keyboard.press("Enter")


def choose_file(page: Page, selector: str, path: Path) -> None:
    """Reach the button that asks for a file, and press it: browsers take the space bar there.

    A browser beside much other work may miss a press so soon after a page came; whoever sits there presses once more.
    """
    tab_to(page, selector, MOST_TABS)
    for is_last in (False, True):
        expect(page.locator(selector)).to_be_focused()
        try:
            with page.expect_file_chooser(timeout=10_000) as asked:
                page.keyboard.press("Space")
        except TimeoutError:
            if is_last:
                raise
        else:
            break
    asked.value.set_files(path)


def start_run(page: Page) -> None:
    """From the list of rehearsals to a run that is ready: two people in their roles, one technique."""
    page.goto("/rehearsals/")
    follow(page, "main a[href^='/rehearsals/start/']")
    typed(page, "#field-stand_in", "dummy")
    tab_to(page, "#field-device")
    page.keyboard.press("ArrowDown")
    typed(page, "#step-1", bundled_library().by_id[ROLL].title)
    press(page, "#start-form button[type=submit]")
    expect(page.locator("#start-problems")).to_be_focused()
    assert_accessible(page)
    typed(page, "#field-spotters", "yes")
    tab_to(page, "#responder-1")
    page.keyboard.press("ArrowDown")
    typed(page, "#role-2", "hips")
    typed(page, "#somebody-2", "guest")
    press(page, "#start-form button[type=submit]")
    expect(page.locator("#tap-next")).to_be_focused()


def record_run(page: Page) -> str:
    """The run to its end, with buttons and with keys; then what is asked before anything is shown."""
    page.keyboard.press("Enter")
    expect(page.locator("#now")).to_have_text("between techniques")
    page.keyboard.press("Enter")
    expect(page.locator("#now")).to_contain_text("now: ")
    press(page, ".incident[data-kind=re-grip]")
    press(page, "#tap-undo")
    page.keyboard.press("2")
    expect(page.locator("#tapped li")).to_have_count(2)
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("e")
    page.keyboard.press("o")
    expect(page.locator("#after-title")).to_be_focused()
    typed(page, "#guess-deg", "10")
    press(page, "#tap-guess")
    expect(page.locator("#guess-told")).to_have_text("Kept.")
    tab_to(page, "#efforts input")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#sending")).to_contain_text("All sent")
    assert_accessible(page)
    return page.inner_text("#run-code")


def send_film(page: Page) -> None:
    """A film and a rig file are chosen, sent, and put into the queue."""
    follow(page, "#to-films")
    choose_file(page, "#film", FILM)
    typed(page, "#offset", "0")
    press(page, "#upload button[type=submit]")
    page.locator(".film-of-run").wait_for()
    choose_file(page, "#rig-file", RIG)
    follow(page, "#measure-form button[type=submit]")
    expect(page.locator(".job").first).to_contain_text("waiting")
    assert_accessible(page)


def read_result(page: Page) -> None:
    """The cursor goes through the traces, the film along with it; then the debrief."""
    follow(page, "main a[href*='/result/']")
    page.wait_for_selector("body[data-traces=drawn]")
    for number in range(4):
        tab_to(page, f"#plot-{number}", MOST_TABS)
        page.keyboard.press("Home")
        expect(page.locator("#at-cursor")).to_contain_text("0.000 s")
        page.keyboard.press("Shift+ArrowRight")
        expect(page.locator("#at-cursor")).to_contain_text("0.167 s")  # ten moments of the trace, five of the film
        page.keyboard.press("+")
    assert page.get_attribute("#plot-3", "aria-valuenow") == "0.167"
    follow(page, "main a[href*='/debrief/']")
    expect(page.locator("#say")).to_be_visible()
    assert_accessible(page)


def test_a_rehearsal_is_recorded_filmed_and_read_by_keyboard_alone(page_at: PageAt) -> None:
    page = page_at("desktop")
    start_run(page)
    run = record_run(page)

    recorded = run_of(run)
    assert [(one.technique, one.end_s is not None) for one in recorded.phases] == [(ROLL, True)]
    assert len(recorded.incidents) == 1
    assert [(one.role, one.effort) for one in recorded.roles] == [("head", 3), ("hips", None)]
    assert (recorded.run.lasted_s is not None, recorded.run.head_guess_deg, bool(recorded.run.device)) == (
        True,
        10,
        True,
    )

    send_film(page)
    (recording,) = run_of(run).recordings
    assert MeasureJob.objects.get().recordings == [recording.code]
    measured = measured_run(run)
    MeasureJob.objects.filter(pk=measured.pk).update(recordings=[recording.code])
    page.goto(f"/rehearsals/{run}/")
    read_result(page)
