"""A film sent from the page: paused, called off in the middle and sent anew, refused with the reason and forgotten."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from onthree.actions.kept_films import films_folder, parts_folder
from onthree.actions.runs import run_of
from tests.web.conftest import PageAt, assert_accessible
from tests.web.films import FILM

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TOLD = "#upload-told"
PIECES = "**/api/films/uploads/*"


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def send(page: Page, film: Path) -> None:
    page.set_input_files("#film", film)
    page.click("#upload button[type=submit]")


def cut_after_the_first_piece(page: Page) -> None:
    """From the second piece on the line is dead for pieces."""

    def answer(route: Route) -> None:
        is_late_piece = route.request.method == "PATCH" and route.request.headers["upload-offset"] != "0"
        if is_late_piece:
            route.abort("internetdisconnected")
        else:
            route.continue_()

    page.route(PIECES, answer)


def test_a_film_is_called_off_in_the_middle_and_sent_anew(page_at: PageAt) -> None:
    page = page_at("phone")
    page.goto("/rehearsals/RUN-3/films/")
    cut_after_the_first_piece(page)
    send(page, FILM)
    expect(page.locator(TOLD)).to_contain_text("No connection: the film waits")
    assert len(list(parts_folder().glob("*.part"))) == 1
    assert_accessible(page)
    page.click("#call-off")
    expect(page.locator(TOLD)).to_have_text("Called off: nothing of the film was kept.")
    assert list(parts_folder().glob("*.part")) == []
    expect(page.locator("#call-off")).to_be_hidden()

    page.unroute(PIECES)
    page.click("#upload button[type=submit]")
    page.locator(".film-of-run h2", has_text="roll-head-late-").wait_for()
    (recording,) = run_of("RUN-3").recordings
    assert (films_folder() / recording.file).read_bytes() == FILM.read_bytes()


def test_what_was_called_off_without_a_connection_is_thrown_away_later(page_at: PageAt) -> None:
    page = page_at("tablet")
    page.goto("/rehearsals/RUN-3/films/")
    cut_after_the_first_piece(page)
    send(page, FILM)
    expect(page.locator(TOLD)).to_contain_text("No connection: the film waits")
    page.context.set_offline(True)
    page.click("#call-off")
    expect(page.locator(TOLD)).to_contain_text("What has arrived is kept until it is thrown away on this page.")
    page.context.set_offline(False)
    page.reload()
    assert_accessible(page)
    page.click("text=Throw away what is here")

    expect(page.locator(".unfinished")).to_have_count(0)
    assert list(parts_folder().glob("*.part")) == []


def test_a_film_of_the_wrong_kind_is_refused_and_said_again_until_forgotten(page_at: PageAt, tmp_path: Path) -> None:
    wrong = tmp_path / "notes.mp4"
    wrong.write_bytes(b"not a film " * 50)
    page = page_at("tablet")
    page.goto("/rehearsals/RUN-3/films/")
    for _ in range(2):
        send(page, wrong)
        expect(page.locator(TOLD)).to_contain_text("Nothing of it was kept.")
        assert page.inner_text(TOLD).startswith("notes.mp4: ")
        page.reload()
        expect(page.locator(".unfinished")).to_contain_text("refused: notes.mp4: ")
    page.click("text=Forget it")

    expect(page.locator(".unfinished")).to_have_count(0)
