"""A run of the invented evening from the store to one printed page, and a person without pages who sets a run aside."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from onthree.actions import debrief as action
from onthree.actions.debrief import DebriefAnswer
from onthree.cli.commands import app
from onthree.demo.conference import conference_records
from onthree.store.records import save_records

pytestmark = pytest.mark.django_db
SHIPPED = Path(action.__file__).parents[1] / "demo" / "rehearsal"


@pytest.fixture(autouse=True)
def _conference(monkeypatch: pytest.MonkeyPatch) -> None:
    """The invented conference in the store of the test."""
    monkeypatch.setattr("onthree.actions.opening.open_programme_store", lambda: None)
    save_records(conference_records(), by="test")


def onthree(*words: str) -> Result:
    return CliRunner().invoke(app, list(words))


def answer(code: str) -> DebriefAnswer:
    from onthree.demo.conference import DEMO_TODAY

    return action.debrief_run(code, DEMO_TODAY)


@pytest.mark.parametrize("code", ["RUN-1", "RUN-3", "RUN-4", "RUN-6", "RUN-7", "RUN-8"])
@pytest.mark.parametrize("paper", action.PAPERS)
def test_every_run_fits_on_one_page(code: str, paper: str) -> None:
    from onthree.demo.conference import DEMO_TODAY

    assert len(action.debrief_run(code, DEMO_TODAY, paper=paper).png()) == 1


def test_the_page_shows_the_peak_three_times_and_the_incident() -> None:
    found = answer("RUN-3")

    assert [(round(still.moment_s, 1), still.of_peak) for still in found.stills] == [
        (20.5, True),
        (20.9, True),
        (21.3, True),
        (20.1, False),
    ]
    assert all(still.jpeg[:2] == b"\xff\xd8" for still in found.stills)
    assert (
        found.said_of_films
        == "Pictures from roll-head-late.mp4; its clock stands on the run clock, give or take 0.3 s."
    )
    assert found.pdf() == found.pdf()


def test_a_film_that_is_not_there_is_said_and_the_page_is_whole(tmp_path: Path) -> None:
    page = tmp_path / "page.pdf"
    result = onthree("debrief", "RUN-6", "--out", str(page))

    assert result.exit_code == 0, result.output
    assert "run-6-phone-a.mp4 was not found: give its folder with --films." in result.output
    assert "Rung 1 of 3" in result.output
    assert page.read_bytes().startswith(b"%PDF")


def test_a_film_given_under_its_name_shows_only_the_marks_it_holds(tmp_path: Path) -> None:
    (tmp_path / "run-6-phone-a.mp4").write_bytes((SHIPPED / "roll-head-late.mp4").read_bytes())
    result = onthree("debrief", "RUN-6", "--films", str(tmp_path), "--json")

    found = json.loads(result.output)
    assert [picture["moment_s"] for picture in found["pictures"]] == [3.1]
    assert len(found["marks"]) == 6


def test_another_file_under_the_name_is_not_taken(tmp_path: Path) -> None:
    from onthree.actions.runs import attach_recording

    film = tmp_path / "evening.mp4"
    film.write_bytes((SHIPPED / "hold-still.mp4").read_bytes())
    attach_recording("RUN-1", film, "film", by="test", offset_s=0.0)
    film.write_bytes((SHIPPED / "lift-in-time.mp4").read_bytes())

    assert "evening.mp4 is another file than the one attached" in answer("RUN-1").said_of_films


def test_a_run_is_set_aside_and_counts_again() -> None:
    aside = onthree("run", "RUN-2", "--set-aside", "tripod kicked over")
    listed = onthree("runs", "--json")
    again = onthree("run", "RUN-2", "--count-again", "--json")

    assert "Set aside, does not count: tripod kicked over." in aside.output
    runs = {run["code"]: run for run in json.loads(listed.output)["runs"]}
    assert (runs["RUN-2"]["counts"], runs["RUN-7"]["counts"], len(runs)) == (False, False, 8)
    assert json.loads(again.output)["counts"] is True


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("debrief", "RUN-33"), "no run has the code 'RUN-33': did you mean RUN-3"),
        (("run", "RUN-33"), "no run has the code 'RUN-33'"),
        (("run", "RUN-2", "--set-aside", " "), "a reason alone expected"),
        (("run", "RUN-2", "--set-aside", "x", "--count-again"), "a reason alone expected"),
        (("debrief", "RUN-3", "--paper", "a5"), "a4 or letter expected"),
        (("debrief", "RUN-3", "--out", "page.doc"), "a file that ends in .pdf or .png expected"),
    ],
)
def test_bad_input_is_refused_with_what_to_do(words: tuple[str, ...], message: str) -> None:
    result = onthree(*words)

    assert result.exit_code == 2
    assert message in result.output
