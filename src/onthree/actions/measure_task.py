"""One film of the queue measured; safe to begin again from the start. Import it only where the store is open."""

import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.utils import timezone
from django_tasks import task

from onthree.actions.kept_cameras import named_camera
from onthree.actions.kept_films import kept_film, measured_folder
from onthree.actions.measure import FilmResult, measured, read_film
from onthree.actions.measured_files import write_files
from onthree.actions.measured_json import film_document
from onthree.actions.measured_run import keep_with_run, phases_of_run
from onthree.actions.measured_traces import write_traces
from onthree.actions.runs import run_of
from onthree.capture.film import open_film
from onthree.capture.phases_file import MarkedPhases
from onthree.capture.progress import Cancelled, Listener, Progress
from onthree.capture.rig import Rig, read_rig
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.store.film_models import CANCELLED, DONE, DRAWING, FAILED, MEASURING
from onthree.store.models import MeasureJob

MOST_ATTEMPTS = 3
"""After so many beginnings that never ended a job is given up: it may be what ends the worker."""
TOLD_EVERY_S = 1.0


@task()
def measure_job(number: int) -> None:
    """Measure the films of a job and keep what was found with the run, then draw on the film."""
    job = MeasureJob.objects.select_related("run", "rig", "organisation").get(pk=number)
    if job.state in (DONE, FAILED, CANCELLED):
        return
    if job.attempts >= MOST_ATTEMPTS:
        _end(job, FAILED, f"given up: begun {job.attempts} times and never ended; try again, or with a shorter film")
        return
    MeasureJob.objects.filter(pk=number).update(attempts=job.attempts + 1, state=MEASURING, alive_at=timezone.now())
    try:
        result = _measured(job)
        MeasureJob.objects.filter(pk=number).update(state=DRAWING, left_s=None, done_s=None, alive_at=timezone.now())
        write_files(result, measured_folder(number), job.run.day, with_film=True, on_progress=_listener(number))
        _end(job, DONE, "")
    except Cancelled:
        _end(job, CANCELLED, "")
    except (ValueError, LookupError, OSError) as error:
        _end(job, FAILED, str(error))


def films_of(job: MeasureJob) -> tuple[Path, ...]:
    """The films of a job, by its recordings. Raises LookupError for one that is not there any more."""
    run = run_of(job.run.code, job.organisation.code)
    found = []
    for code in job.recordings:
        recording = next((one for one in run.recordings if one.code == code), None)
        path = film_at(recording.file, bool(job.organisation.is_invented)) if recording else None
        if path is None:
            raise LookupError(
                f"the film {recording.file if recording else code} is not here: send it to the page again"
            )
        found.append(path)
    return tuple(found)


def film_at(name: str, is_invented: bool) -> Path | None:
    """A film of the store's folder, or of the invented ones that come with the program; nothing else is ever opened."""
    shipped = rehearsal_folder() / Path(name).name
    return kept_film(name) or (shipped if is_invented and shipped.name == name and shipped.is_file() else None)


def _measured(job: MeasureJob) -> FilmResult:
    """Measure, keep the numbers with the run and the files beside; all of it may be done twice."""
    paths, code = films_of(job), job.organisation.code
    camera = named_camera(job.camera) if job.camera else None
    marked = _marked(job, paths[0])
    rig = _rig(job)
    read = read_film(paths, rig, camera, marked, _listener(job.pk))
    _told(job.pk)(Progress(0.0, None, None))
    result = replace(measured(paths, rig, read, marked, job.bound_deg), is_camera_calibrated=camera is not None)
    _told(job.pk)(Progress(0.0, None, None))
    folder = measured_folder(job.pk)
    write_traces(result, folder)
    write_files(result, folder, job.run.day, with_film=False)
    kept = keep_with_run(job.run.code, result, job.by, code)
    told = {**film_document(result), "kept_count": kept.count, "left_out": list(kept.left_out)}
    MeasureJob.objects.filter(pk=job.pk).update(told=told)
    return result


def _marked(job: MeasureJob, film: Path) -> MarkedPhases:
    """The phases tapped live that the film shows, and what is marked on it."""
    marked = phases_of_run(run_of(job.run.code, job.organisation.code), film)
    lasts_s = open_film(film).duration_s
    in_film = tuple(one for one in marked.phases if lasts_s is None or one.start_s < lasts_s)
    return replace(marked, phases=in_film)


def _rig(job: MeasureJob) -> Rig:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rig.toml"
        path.write_text(job.rig.content, encoding="utf-8")
        return read_rig(path)


def _listener(number: int) -> Listener:
    """Tells the job how far it is, about once a second, and ends it where it was called off."""
    told_s = [0.0]
    tell = _told(number)

    def told(step: Progress) -> None:
        now_s = time.monotonic()
        if now_s - told_s[0] >= TOLD_EVERY_S or step.left_s == 0:
            told_s[0] = now_s
            tell(step)

    return told


def _told(number: int) -> Callable[[Progress], None]:
    def tell(step: Progress) -> None:
        rows = MeasureJob.objects.filter(pk=number)
        rows.update(done_s=step.done_s, of_s=step.of_s, left_s=step.left_s, alive_at=timezone.now())
        if rows.filter(is_called_off=True).exists():
            raise Cancelled

    return tell


def _end(job: MeasureJob, state: str, problem: str) -> None:
    ended: dict[str, Any] = {"state": state, "problem": problem, "finished_at": timezone.now(), "left_s": None}
    MeasureJob.objects.filter(pk=job.pk).update(**ended)
