"""The queue of films: put in with a rig, worked off, called off, tried again, taken up after a worker was killed."""

import re
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from onthree.actions import film_queue, measure_task
from onthree.actions.kept_films import name_of_film
from onthree.actions.working import reclaim
from onthree.capture.film import FilmError
from onthree.capture.progress import Progress
from onthree.store.models import MeasureJob
from tests.web.films import FILM, RIG, sent, started

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    return tmp_path


@pytest.fixture
def job(conference: Client) -> MeasureJob:
    """A film that waits to be measured."""
    run = started(conference)
    recording = sent(conference, run)
    rig = SimpleUploadedFile("rig.toml", RIG.read_bytes())
    answer = conference.post(f"/rehearsals/{run}/films/measure/", {"recording": recording, "rig_file": rig})

    assert answer.status_code == 302, answer.content
    return MeasureJob.objects.get()


def work_on(job: MeasureJob) -> MeasureJob:
    measure_task.measure_job.call(job.pk)
    job.refresh_from_db()
    return job


def shown(client: Client, job: MeasureJob) -> str:
    return client.get(f"/rehearsals/measuring/{job.pk}/").content.decode()


def test_a_film_that_ships_is_called_by_its_name_and_found_by_it_again() -> None:
    assert name_of_film(FILM) == FILM.name
    assert measure_task.film_at(name_of_film(FILM), is_invented=True) == FILM


def test_a_film_that_waits_is_called_off_at_once_and_tried_again(conference: Client, job: MeasureJob) -> None:
    assert "waiting" in shown(conference, job)

    conference.post(f"/rehearsals/measuring/{job.pk}/call-off/")
    assert work_on(job).state == "cancelled"
    assert "Try again" in shown(conference, job)

    conference.post(f"/rehearsals/measuring/{job.pk}/again/")
    job.refresh_from_db()
    assert (job.state, job.is_called_off, DBTaskResult.objects.ready().count()) == ("waiting", False, 2)


def test_a_film_at_work_tells_how_far_it_is_and_ends_where_it_is_called_off(
    conference: Client, job: MeasureJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = []

    def read(paths: Any, rig: Any, camera: Any, marked: Any, on_progress: Any) -> Any:
        assert [(one.name, one.start_s, one.end_s) for one in marked.phases] == [
            ("log_roll_supine_long_board", 1.8, 6.8)
        ]
        monkeypatch.setattr(measure_task, "TOLD_EVERY_S", 0.0)
        on_progress(Progress(2.0, 8.0, 3.4))
        pages.append(shown(conference, job))
        conference.post(f"/rehearsals/measuring/{job.pk}/call-off/")
        on_progress(Progress(3.0, 8.0, 2.4))
        raise AssertionError("it went on")

    monkeypatch.setattr(measure_task, "read_film", read)

    assert work_on(job).state == "cancelled"
    assert "2 of 8 s of film, about 3 s left" in pages[0]
    assert 'value="2.0"' in pages[0]


def test_a_film_that_cannot_be_measured_says_why(
    conference: Client, job: MeasureJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read(*given: Any) -> Any:
        raise FilmError(FILM, "no tag was seen in 8 frames", "check light and focus")

    monkeypatch.setattr(measure_task, "read_film", read)

    assert work_on(job).state == "failed"
    page = shown(conference, job)
    assert "no tag was seen in 8 frames; check light and focus" in page
    assert "Try again" in page


def test_what_a_killed_worker_left_begins_again_but_not_for_ever(conference: Client, job: MeasureJob) -> None:
    left = {"state": "measuring", "alive_at": timezone.now()}
    MeasureJob.objects.filter(pk=job.pk).update(attempts=1, **left)
    DBTaskResult.objects.update(status="RUNNING", started_at=timezone.now())

    assert reclaim() == 1
    job.refresh_from_db()
    assert (job.state, DBTaskResult.objects.ready().count()) == ("waiting", 1)

    MeasureJob.objects.filter(pk=job.pk).update(attempts=measure_task.MOST_ATTEMPTS)
    assert work_on(job).state == "failed"
    assert "never ended" in job.problem


def test_a_job_that_is_silent_is_said(conference: Client, job: MeasureJob) -> None:
    long_ago = timezone.now() - timezone.timedelta(seconds=film_queue.SILENT_S + 1)
    MeasureJob.objects.filter(pk=job.pk).update(state="measuring", alive_at=long_ago)

    assert "No sign of life" in shown(conference, job)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({}, "Films: 0 chosen"),
        ({"recording": "REC-1"}, "are not of this run"),
        ({"bound": "999"}, "Bound: 999 given"),
        ({"rig": "77"}, "Rig: choose a rig file"),
        ({"bound": "wide"}, "bound: &#x27;wide&#x27; given"),
        ({"camera": "nobody"}, "Camera: no camera file"),
        ({"camera": "9" * 400}, "Camera: no camera file"),
        ({"camera": str(RIG)}, "Camera: no camera file"),
    ],
)
def test_what_is_asked_for_is_checked(conference: Client, given: dict[str, str], told: str) -> None:
    answer = conference.post("/rehearsals/RUN-3/films/measure/", given)

    assert answer.status_code == 400
    assert told in answer.content.decode()
    assert not MeasureJob.objects.exists()


def test_a_rig_file_with_problems_is_refused_with_all_of_them(conference: Client) -> None:
    rig = SimpleUploadedFile("rig.toml", b'family = "other"\n')
    page = conference.post("/rehearsals/RUN-3/films/measure/", {"recording": "REC-3", "rig_file": rig})

    assert page.status_code == 400
    assert "rig.toml: rig: " in page.content.decode()


def test_the_rig_of_the_evening_is_offered_again(conference: Client, job: MeasureJob) -> None:
    run = started(conference)
    sent(conference, run)

    page = conference.get(f"/rehearsals/{run}/films/").content.decode()
    assert f'<option value="{job.rig_id}" selected>rig.toml' in page


def test_a_phase_is_marked_on_the_film_and_the_film_set_on_the_run_clock(conference: Client) -> None:
    from onthree.actions.runs import run_of

    run = started(conference)
    recording = sent(conference, run)
    conference.post(f"/rehearsals/{run}/films/clock/", {"recording": recording, "offset_s": "-1,5"})
    phase = {"recording": recording, "technique": "log_roll_supine_long_board", "from_s": "8.5", "to_s": "9"}
    assert conference.post(f"/rehearsals/{run}/films/phase/", phase).status_code == 302

    assert run_of(run).recordings[0].offset_s == -1.5
    assert [(one.start_s, one.end_s) for one in run_of(run).phases] == [(1.8, 6.8), (7.0, 7.5)]
    refused = conference.post(f"/rehearsals/{run}/films/phase/", {**phase, "to_s": "8"})
    assert (refused.status_code, "a start before the end on the film" in refused.content.decode()) == (400, True)


MARKED = {
    "neutral_from_s": "0,3",
    "neutral_to_s": "1.7",
    "nod_from_s": "2",
    "nod_to_s": "4",
    "turn_from_s": "4",
    "turn_to_s": "6",
}


def test_neutral_nod_and_turn_are_marked_on_the_film_and_travel_to_the_measuring(
    conference: Client, job: MeasureJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    run, recording, asked = job.run.code, job.recordings[0], []
    answer = conference.post(f"/rehearsals/{run}/films/stretches/", {"recording": recording, **MARKED})
    assert answer.status_code == 302

    def read(paths: Any, rig: Any, camera: Any, marked: Any, on_progress: Any) -> Any:
        asked.append(marked)
        raise FilmError(FILM, "not read in this test", "nothing")

    monkeypatch.setattr(measure_task, "read_film", read)
    work_on(job)
    assert asked[0].neutral_s == (0.3, 1.7)
    assert asked[0].movements_s == {"nod": (2.0, 4.0), "turn": (4.0, 6.0)}
    page = conference.get(f"/rehearsals/{run}/films/").content.decode()
    assert 'name="nod_to_s" inputmode="decimal" autocomplete="off" value="4.0"' in page


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"neutral_to_s": "0.2"}, "more than its start, 0.3, expected"),
        ({"nod_to_s": ""}, "Nod to (s): Left blank. Needed: seconds from the first frame."),
        ({"turn_from_s": "", "turn_to_s": ""}, "Nod and turn show the axes only together: mark both, or none"),
        ({"turn_to_s": "later"}, "Turn to (s): "),
        ({"nod_to_s": "", "nod_from_s": ""}, "Nod from (s): Left blank."),
    ],
)
def test_what_is_marked_on_a_film_is_checked(conference: Client, given: dict[str, str], told: str) -> None:
    run = started(conference)
    recording = sent(conference, run)
    answer = conference.post(f"/rehearsals/{run}/films/stretches/", {"recording": recording, **MARKED, **given})

    assert answer.status_code == 400
    assert told in answer.content.decode()
    page = conference.get(f"/rehearsals/{run}/films/").content.decode()
    assert 'name="nod_from_s" inputmode="decimal" autocomplete="off" value=""' in page, "nothing is half saved"


@pytest.mark.parametrize(
    ("form", "typed"),
    [
        ("clock", {"offset_s": "1:30"}),
        ("phase", {"technique": "lift_and_slide_long_board", "from_s": "8.5", "to_s": "8"}),
        ("stretches", {**MARKED, "nod_to_s": "later"}),
        ("measure", {"camera": "nobody", "bound": "wide"}),
    ],
)
def test_what_was_typed_about_a_film_still_stands_when_it_is_refused(
    conference: Client, form: str, typed: dict[str, str]
) -> None:
    run = started(conference)
    recording = sent(conference, run)
    answer = conference.post(f"/rehearsals/{run}/films/{form}/", {"recording": recording, **typed})
    page = answer.content.decode()

    assert answer.status_code == 400
    for name, value in typed.items():
        chosen = f'<option value="{value}" selected>' if name == "technique" else None
        assert chosen in page if chosen else re.search(f'name="{name}"[^>]* value="{value}"', page), name


def test_the_view_of_the_phone_is_looked_at(conference: Client) -> None:
    given = {
        "film": SimpleUploadedFile("try.mp4", FILM.read_bytes()),
        "rig_file": SimpleUploadedFile("rig.toml", RIG.read_bytes()),
    }
    page = conference.post("/rehearsals/look/", given).content.decode()
    assert "head" in page and "trunk" in page
    assert "battery" in page.lower()

    wrong = {"film": SimpleUploadedFile("notes.txt", b"not a film"), "rig": film_queue.rigs()[0].id}
    refused = conference.post("/rehearsals/look/", wrong)
    assert (refused.status_code, "notes.txt" in refused.content.decode()) == (400, True)
