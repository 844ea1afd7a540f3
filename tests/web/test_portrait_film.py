"""A film that was held upright beside its traces: as high as it was filmed, and its frames where the cursor stands."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from onthree.actions.kept_films import films_folder, measured_folder
from onthree.actions.measured_traces import ABOUT_FILE, film_begins_s
from onthree.actions.runs import run_of
from onthree.capture.drawn_film import Overlay, draw_film
from onthree.capture.tags import Sightings
from onthree.store.records import save_records
from onthree.web.views.results import DRAWN
from tests.web.conftest import PageAt, assert_accessible
from tests.web.measured import FRAMES_HZ, measured_run
from tests.web.numbered_film import HEIGHT_PX, READ_NUMBER, WIDTH_PX, numbered_film

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
COUNT = 120


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def filmed_upright(begins_s: float) -> None:
    """A measured run whose film was held upright, and the drawn copy of it."""
    films_folder().mkdir()
    film = numbered_film(films_folder() / "upright.mp4", COUNT, FRAMES_HZ, begins_s)
    save_records([replace(run_of("RUN-3").recordings[0], file=film.name)], by="test")
    nothing = np.array([], int)
    overlay = Overlay(
        sightings=Sightings(np.arange(COUNT) / FRAMES_HZ, nothing, nothing, np.zeros((0, 4, 2))),
        camera=np.array([600.0, 1.0, 239.5, 135.5, 0.0, 0.0, 0.0, 0.0]),
        poses={},
        is_seen={},
        angles_deg=np.zeros((COUNT, 4)),
        phases=[],
        said="invented",
    )
    folder = measured_folder(measured_run("RUN-3", COUNT).pk)
    draw_film(film, folder / DRAWN, overlay)
    about = json.loads((folder / ABOUT_FILE).read_text())
    (folder / ABOUT_FILE).write_text(json.dumps({**about, "film_begins_s": film_begins_s(film)}))


def assert_locked(page: Page) -> None:
    """Wherever one goes, by click or by key, the film shows the frame of the cursor."""
    plot = page.locator("#plot-0 .u-over")
    box = plot.bounding_box()
    assert box
    film = page.locator("#film")
    for across in (0.3, 0.7, 0.1):
        plot.click(position={"x": across * box["width"], "y": box["height"] / 2})
        page.focus("#plot-0")
        for key in ("ArrowRight", "ArrowRight", "Shift+ArrowRight", "ArrowLeft"):
            page.keyboard.press(key)
            number = film.evaluate(READ_NUMBER)
            at_cursor = float(page.inner_text("#at-cursor").partition(" s")[0])
            assert number == round(at_cursor * FRAMES_HZ), (across, key)


@pytest.mark.parametrize("begins_s", [0.0, 0.25])
def test_an_upright_film_stands_upright_and_its_frames_are_those_of_the_cursor(
    page_at: PageAt, begins_s: float
) -> None:
    filmed_upright(begins_s)
    page = page_at("tablet")
    page.goto("/rehearsals/RUN-3/result/")
    page.wait_for_selector("body[data-traces=drawn]")
    for film in ("drawn on", "as filmed"):
        page.select_option("#which", label=film)
        expect(page.locator("#film")).to_have_js_property("readyState", 4)
        size = page.evaluate(
            "(({ videoWidth, videoHeight }) => [videoWidth, videoHeight])(document.getElementById('film'))"
        )
        assert size == [WIDTH_PX, HEIGHT_PX], film
        assert_locked(page)
    assert_accessible(page)
