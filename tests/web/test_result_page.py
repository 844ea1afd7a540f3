"""The whole evening in a browser: a run recorded live, its film sent, measured, shown beside its traces, debriefed."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from onthree.actions.working import work
from onthree.store.models import MeasureJob
from tests.web.conftest import SIZES, PageAt, assert_accessible, assert_works_at_double_text
from tests.web.films import FILM, RIG, ROLL

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LONGEST_MS = 60_000
FIRST_DRAWN_MS, ZOOMED_MS = 1000.0, 300.0
"""Generous: other things run on the machine that tests; quiet ones draw 60 000 moments in a third and a tenth of it."""
FRAME_S = 1 / 30


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def begin_run(page: Page) -> None:
    """Fill in the form of a run with a dummy and go."""
    page.goto("/rehearsals/start/")
    page.select_option("#step-1", ROLL)
    page.select_option("#responder-1", "R-1")
    page.click("#start-form button[type=submit]")
    assert "Spotters: place them first" in page.inner_text("#start-problems")
    page.select_option("[name=stand_in]", "dummy")
    page.select_option("[name=spotters]", "yes")
    page.click("#start-form button[type=submit]")
    page.wait_for_selector("#taps")


def test_a_run_recorded_live_is_filmed_measured_and_shown(page_at: PageAt) -> None:
    page = page_at("tablet")
    page.set_default_timeout(LONGEST_MS)
    begin_run(page)
    for size in ("tap-next", "tap-end-phase", "tap-undo"):
        box = page.locator(f"#{size}").bounding_box()
        assert box and min(box["width"], box["height"]) >= 64
    assert_accessible(page)

    page.click("#tap-next")
    page.wait_for_timeout(1900)
    page.keyboard.press("n")  # the roll begins about 1.9 s after the clock, and in the film
    page.wait_for_timeout(200)
    page.keyboard.press("4")
    page.click("#tap-undo")
    page.keyboard.press("1")
    page.wait_for_selector("#sending:has-text('All sent')")
    page.reload()  # what was tapped is still there
    page.wait_for_selector("#tapped li:has-text('caught on equipment')")
    assert page.locator("#tapped li").count() == 2
    page.wait_for_timeout(3000)
    page.click("#tap-end-run")
    page.fill("#guess-deg", "10")
    page.click("#tap-guess")
    page.locator("#efforts label", has_text="7").click()
    page.wait_for_selector("#sending:has-text('All sent')")
    assert not page.is_visible("#refused")
    assert_accessible(page)
    run = page.inner_text("#run-code")

    page.click("#to-films")
    page.set_input_files("#film", FILM)
    page.select_option("#kind", "film with tags")
    page.fill("#offset", "0")
    with page.expect_navigation():
        page.click("text=Send the film")
    page.set_input_files("#rig-file", RIG)
    assert_accessible(page)
    page.click("button:text-is('Measure')")
    page.wait_for_selector(".job:has-text('waiting')")
    work(is_batch=True)
    page.wait_for_selector(".job:has-text('Result beside the film')")
    assert MeasureJob.objects.get().state == "done"

    page.click("text=Result beside the film >> nth=0")
    page.wait_for_selector("body[data-traces=drawn]")
    see_result(page)
    page.click("main a:has-text('Debrief')")
    said = page.inner_text(".sentences")
    assert "The body began before the head" in said  # the invented film was made so: the head is late
    assert "Caught on equipment" in said
    assert page.locator(".stills img").count() >= 3
    assert_accessible(page)
    for size in SIZES:
        page.set_viewport_size({"width": SIZES[size][0], "height": SIZES[size][1]})
        for address in ("", "result/", "debrief/"):
            page.goto(f"/rehearsals/{run}/{address}")
            assert_accessible(page)
    assert_works_at_double_text(page)


def see_result(page: Page) -> None:
    """The cursor and the film stand at the same moment, by click and by key; the drawn film has its own frames."""
    assert float(page.get_attribute("body", "data-first-ms") or "inf") < FIRST_DRAWN_MS
    text = page.inner_text("main")
    assert "never called safe" not in text or "no motion is ever called safe" in text
    assert "95 % BAND" in text.upper()
    assert page.locator(".trace table tbody tr").count() == 4
    plot = page.locator("#plot-3 .u-over")
    box = plot.bounding_box()
    assert box
    plot.click(position={"x": box["width"] / 2, "y": box["height"] / 2})
    at_cursor, at_film = moments(page)
    assert at_cursor > 1
    assert abs(at_cursor - at_film) < FRAME_S
    page.focus("#plot-3")
    page.keyboard.press("ArrowRight")
    stepped, at_film = moments(page)
    assert 0 < stepped - at_cursor < 1.5 * FRAME_S
    assert abs(stepped - at_film) < FRAME_S
    page.keyboard.press("+")
    assert float(page.get_attribute("body", "data-drew-ms") or "inf") < ZOOMED_MS


def moments(page: Page) -> tuple[float, float]:
    """Where the cursor stands, and the film [s]."""
    page.wait_for_timeout(300)
    at_cursor = float(page.inner_text("#at-cursor").partition(" s")[0])
    return at_cursor, float(page.evaluate("document.getElementById('film').currentTime"))
