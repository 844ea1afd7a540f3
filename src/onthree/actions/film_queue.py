"""The queue of films to be measured: put in, look at, call off, try again. A worker takes them one by one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from onthree.actions.kept_cameras import named_camera
from onthree.actions.runs import run_of
from onthree.capture.camera_file import CameraFileError
from onthree.capture.rig import RigError, read_rig

if TYPE_CHECKING:
    from onthree.store.film_models import MeasureJob

MOST_FILMS = 2
MOST_BOUND_DEG = 180.0
LARGEST_RIG_BYTES = 200_000
SILENT_S = 60.0
"""After how long without a sign of life a job is called silent [s]; working out the bands takes its time."""


@dataclass(frozen=True)
class Wanted:
    """What is to be measured of a run: films by their recordings, rig, camera, an own bound."""

    run: str
    recordings: tuple[str, ...]
    rig: int
    camera: str = ""
    bound_deg: float | None = None


@dataclass(frozen=True)
class RigChoice:
    """A rig file that was given: its number, name, day."""

    id: int
    name: str
    day: date


def put_in(wanted: Wanted, by: str, organisation_code: str | None = None) -> "MeasureJob":
    """Put films of a run into the queue. Raises ValueError with every problem, LookupError for a run nobody has."""
    from django.db import transaction
    from django.utils import timezone

    from onthree.actions.measure_task import measure_job
    from onthree.store.listing import owner_of
    from onthree.store.models import MeasureJob, RigFile, Run

    owner_id = owner_of(organisation_code) or 0
    told = _problems(wanted, organisation_code)
    rig = RigFile.objects.filter(organisation_id=owner_id, pk=wanted.rig).first()
    if rig is None:
        told.append("Rig: choose a rig file, or give one")
    if told or rig is None:
        raise ValueError("; ".join(told))
    with transaction.atomic():
        job = MeasureJob.objects.create(
            organisation_id=owner_id,
            run=Run.objects.get(organisation_id=owner_id, code=wanted.run),
            rig=rig,
            camera=wanted.camera,
            recordings=list(wanted.recordings),
            bound_deg=wanted.bound_deg,
            by=by,
            at=timezone.now(),
        )
        measure_job.enqueue(job.pk)
    return job


def jobs_of(run: str, organisation_code: str | None = None) -> "Sequence[MeasureJob]":
    """Every measuring of a run, the latest first."""
    from onthree.store.listing import owner_of
    from onthree.store.models import MeasureJob

    rows = MeasureJob.objects.filter(organisation_id=owner_of(organisation_code) or 0, run__code=run)
    return list(rows.select_related("run", "rig").order_by("-pk"))


def job_numbered(number: int, organisation_code: str | None = None) -> "MeasureJob":
    """One measuring. Raises LookupError."""
    from onthree.store.listing import owner_of
    from onthree.store.models import MeasureJob

    rows = MeasureJob.objects.filter(organisation_id=owner_of(organisation_code) or 0, pk=number)
    job = rows.select_related("run", "rig").first()
    if job is None:
        raise LookupError(f"there is no measuring {number}")
    return job


def last_measured(run: str, organisation_code: str | None = None) -> "MeasureJob | None":
    """The last measuring of a run that came to numbers; its films may still be being drawn on."""
    return next((job for job in jobs_of(run, organisation_code) if job.told), None)


def call_off(number: int, organisation_code: str | None = None) -> None:
    """Call a measuring off: one that waits at once, one that runs as soon as it looks up. Raises LookupError."""
    from django.utils import timezone

    from onthree.store.film_models import CANCELLED, DRAWING, MEASURING, WAITING
    from onthree.store.models import MeasureJob

    job = job_numbered(number, organisation_code)
    MeasureJob.objects.filter(pk=job.pk, state=WAITING).update(
        state=CANCELLED, is_called_off=True, finished_at=timezone.now()
    )
    MeasureJob.objects.filter(pk=job.pk, state__in=(MEASURING, DRAWING)).update(is_called_off=True)


def try_again(number: int, organisation_code: str | None = None) -> None:
    """Put a measuring that failed or was called off back into the queue. Raises LookupError."""
    from django.db import transaction

    from onthree.actions.measure_task import measure_job
    from onthree.store.film_models import CANCELLED, FAILED, WAITING
    from onthree.store.models import MeasureJob

    job = job_numbered(number, organisation_code)
    again = {"state": WAITING, "is_called_off": False, "attempts": 0, "problem": "", "done_s": None, "left_s": None}
    with transaction.atomic():
        if MeasureJob.objects.filter(pk=job.pk, state__in=(FAILED, CANCELLED)).update(**again):
            measure_job.enqueue(job.pk)


def is_silent(job: "MeasureJob", now: datetime) -> bool:
    """Whether a job that is being worked on gave no sign of life for long."""
    from onthree.store.film_models import DRAWING, MEASURING

    at_work = job.state in (MEASURING, DRAWING)
    return at_work and job.alive_at is not None and (now - job.alive_at).total_seconds() > SILENT_S


def keep_rig(name: str, content: bytes, on: date, by: str, organisation_code: str | None = None) -> int:
    """Keep a rig file; one with the same content is kept once. Raises ValueError with every problem of the file."""
    from django.utils import timezone

    from onthree.store.listing import owner_of
    from onthree.store.models import RigFile

    text = _rig_text(name, content)
    owner_id = owner_of(organisation_code) or 0
    made, _ = RigFile.objects.get_or_create(
        organisation_id=owner_id,
        content=text,
        defaults={"name": Path(name).name[:100], "day": on, "by": by, "at": timezone.now()},
    )
    return int(made.pk)


def rigs(organisation_code: str | None = None) -> tuple[RigChoice, ...]:
    """Rig files that were given, the latest first."""
    from onthree.store.listing import owner_of
    from onthree.store.models import RigFile

    rows = RigFile.objects.filter(organisation_id=owner_of(organisation_code) or 0).order_by("-pk")
    return tuple(RigChoice(*row) for row in rows.values_list("pk", "name", "day"))


def rig_content(number: int, organisation_code: str | None = None) -> str:
    """What stands in a rig file that was given. Raises ValueError where there is none of the number."""
    from onthree.store.listing import owner_of
    from onthree.store.models import RigFile

    rows = RigFile.objects.filter(organisation_id=owner_of(organisation_code) or 0, pk=number)
    content = rows.values_list("content", flat=True).first()
    if content is None:
        raise ValueError("Rig: choose a rig file, or give one")
    return str(content)


def usual_rig(run_day: date, organisation_code: str | None = None) -> int | None:
    """The rig of an evening: the one its runs were measured with last, else the last one that was given."""
    from onthree.store.listing import owner_of
    from onthree.store.models import MeasureJob

    rows = MeasureJob.objects.filter(organisation_id=owner_of(organisation_code) or 0, run__day=run_day)
    used = rows.order_by("-pk").values_list("rig_id", flat=True).first()
    known = rigs(organisation_code)
    return used or (known[0].id if known else None)


def _rig_text(name: str, content: bytes) -> str:
    from tempfile import TemporaryDirectory

    if len(content) > LARGEST_RIG_BYTES:
        raise ValueError(f"{name}: {len(content)} bytes given, a rig file of at most {LARGEST_RIG_BYTES} expected")
    with TemporaryDirectory() as folder:
        path = Path(folder) / "rig.toml"
        path.write_bytes(content)
        try:
            read_rig(path)
            return content.decode("utf-8-sig")
        except (RigError, UnicodeDecodeError) as error:
            raise ValueError(f"{Path(name).name}: {error}") from None


def _problems(wanted: Wanted, organisation_code: str | None) -> list[str]:
    run = run_of(wanted.run, organisation_code)
    told = []
    if not 1 <= len(set(wanted.recordings)) <= MOST_FILMS:
        told.append(f"Films: {len(set(wanted.recordings))} chosen, one expected, or two of two phones")
    if unknown := set(wanted.recordings) - {one.code for one in run.recordings}:
        told.append(f"Films: {', '.join(sorted(unknown))} are not of this run")
    if wanted.bound_deg is not None and not 0 < wanted.bound_deg <= MOST_BOUND_DEG:
        told.append(f"Bound: {wanted.bound_deg:g} given, degrees above 0 and at most {MOST_BOUND_DEG:g} expected")
    if wanted.camera:
        try:
            named_camera(wanted.camera)
        except CameraFileError as error:
            told += [f"Camera: {text}" for text in error.problems]
    return told
