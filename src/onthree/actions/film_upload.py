"""Films that come in pieces over a bad line: declared first, then added to where they stopped, attached when whole.

How much is there, the file itself tells; so a restart of the server, an expired login or a reload loses nothing. Films
lie in the folder of the store, never in the database.
"""

import hashlib
import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from filelock import FileLock

from onthree.actions.kept_films import films_folder, parts_folder, plain_name
from onthree.actions.runs import attach_recording, run_of
from onthree.programme.rehearsals import RECORDING_KINDS

if TYPE_CHECKING:
    from onthree.store.film_models import FilmUpload

MOST_BYTES = 20 * 1024**3
LARGEST_PIECE_BYTES = 2 * 1024**2
SPARE_BYTES = 512 * 1024**2
"""What stays free on the disk beside a film."""
LONGEST_OFFSET_S = 86_400.0
_LONGEST_WAIT_S = 30.0


class OffsetError(ValueError):
    """A piece that does not begin where the film ends so far; ``offset_bytes`` says where that is."""

    def __init__(self, given_bytes: int, offset_bytes: int) -> None:
        self.offset_bytes = offset_bytes
        super().__init__(f"piece at {given_bytes} given, {offset_bytes} expected: go on from there")


class NoSpaceError(OSError):
    """The disk has no room for the film."""


@dataclass(frozen=True)
class Arriving:
    """A film on its way: how much is there, of how much, and, once whole, the recording it became or what is wrong."""

    key: UUID
    run: str
    name: str
    offset_bytes: int
    size_bytes: int
    recording: str
    problem: str


def declare(
    key: UUID, run: str, given: Mapping[str, Any], by: str, organisation_code: str | None = None
) -> tuple[Arriving, bool]:
    """Say that a film will come: name, size_bytes, kind; taken_by, offset_s and offset_sd_s may be left out.

    Returns how much is there already, and whether it is new. Raises ValueError with every problem, LookupError for a
    run nobody has, NoSpaceError.
    """
    from django.utils import timezone

    from onthree.store.listing import owner_of
    from onthree.store.models import FilmUpload, Run

    there = _row(key, organisation_code)
    if there is not None:
        return _arriving(there), False
    run_of(run, organisation_code)
    told = list(_problems(given))
    if FilmUpload.objects.filter(key=key).exists():
        told.append(f"key {key} was used for another film: make a new one")
    if told:
        raise ValueError("; ".join(told))
    _refuse_full_disk(int(given["size_bytes"]))
    owner_id = owner_of(organisation_code) or 0
    row = FilmUpload.objects.create(
        key=key,
        organisation_id=owner_id,
        run=Run.objects.get(organisation_id=owner_id, code=run),
        name=Path(str(given["name"])).name,
        size_bytes=given["size_bytes"],
        kind=given["kind"],
        taken_by=str(given.get("taken_by") or ""),
        offset_s=given.get("offset_s"),
        offset_sd_s=given.get("offset_sd_s"),
        by=by,
        at=timezone.now(),
    )
    return _arriving(row), True


def add_piece(
    key: UUID, at_bytes: int, piece: bytes, sha256: bytes, by: str, organisation_code: str | None = None
) -> Arriving:
    """Add the next piece; with the last one the film is looked at and attached to its run.

    A film of the wrong kind is not kept, and why is in ``problem``. An empty piece at its end finishes what a crash
    left over. Raises LookupError for an unknown key, OffsetError, ValueError for a piece damaged on its way,
    NoSpaceError.
    """
    if hashlib.sha256(piece).digest() != sha256:
        raise ValueError("the piece was damaged on its way: send it again")
    parts_folder().mkdir(parents=True, exist_ok=True)
    with FileLock(f"{_part(key)}.lock", timeout=_LONGEST_WAIT_S):
        row = _row(key, organisation_code)
        if row is None:
            raise LookupError(f"no film with the key {key} was declared: declare it first")
        if row.recording or row.problem:
            return _arriving(row)
        there_bytes = _there_bytes(row)
        if at_bytes != there_bytes:
            raise OffsetError(at_bytes, there_bytes)
        if there_bytes + len(piece) > row.size_bytes:
            raise ValueError(f"{there_bytes + len(piece)} bytes given, {row.size_bytes} were declared")
        if piece:
            _append(_part(key), piece, row.size_bytes - there_bytes)
        if there_bytes + len(piece) == row.size_bytes:
            _finish(row, by, organisation_code)
    return _arriving(row)


def arriving(key: UUID, organisation_code: str | None = None) -> Arriving | None:
    """How much of a film is there; None where nothing was declared under the key."""
    row = _row(key, organisation_code)
    return None if row is None else _arriving(row)


def call_off(key: UUID, organisation_code: str | None = None) -> None:
    """Forget a film on its way, and what has arrived of it; sent again it begins anew.

    Raises LookupError for an unknown key, ValueError for a film that is whole: that belongs to its run.
    """
    parts_folder().mkdir(parents=True, exist_ok=True)
    with FileLock(f"{_part(key)}.lock", timeout=_LONGEST_WAIT_S):
        row = _row(key, organisation_code)
        if row is None:
            raise LookupError(f"no film with the key {key} was declared: there is nothing to call off")
        if row.recording or _whole(row).exists():
            raise ValueError(f"{row.name} is here as a whole: it belongs to {row.run.code}, nothing was called off")
        row.delete()
        _part(key).unlink(missing_ok=True)


def unfinished(run: str, organisation_code: str | None = None) -> tuple[Arriving, ...]:
    """Films of a run that have not arrived as a whole, and those that were refused."""
    from onthree.store.listing import owner_of
    from onthree.store.models import FilmUpload

    rows = FilmUpload.objects.filter(organisation_id=owner_of(organisation_code) or 0, run__code=run, recording="")
    return tuple(_arriving(row) for row in rows.select_related("run").order_by("at"))


def _finish(row: "FilmUpload", by: str, organisation_code: str | None) -> None:
    """Look at the whole film and attach it; one of the wrong kind is not kept, and why is."""
    from onthree.capture.film import FilmError, open_film

    part, film = _part(row.key), _whole(row)
    if part.exists():
        try:
            open_film(part)
        except FilmError as error:
            row.problem = str(error).replace(part.name, row.name)
            row.save(update_fields=["problem"])
            part.unlink()
            return
        films_folder().mkdir(parents=True, exist_ok=True)
        part.replace(film)
    clock = (row.offset_s, row.offset_sd_s, row.taken_by)
    run = attach_recording(row.run.code, film, row.kind, by, *clock, organisation_code)
    row.recording = next(one.code for one in run.recordings if one.file == film.name)
    row.save(update_fields=["recording"])


def _append(part: Path, piece: bytes, needed_bytes: int) -> None:
    _refuse_full_disk(needed_bytes)
    try:
        with part.open("ab") as file:
            file.write(piece)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise NoSpaceError(f"the piece could not be kept: {error.strerror}: make room, then go on") from None


def _problems(given: Mapping[str, Any]) -> list[str]:
    told = []
    name, size_bytes = given.get("name"), given.get("size_bytes")
    if not isinstance(name, str) or not name.strip():
        told.append(f"name: {name!r} given, that of the film expected")
    if isinstance(size_bytes, bool) or not isinstance(size_bytes, int) or not 0 < size_bytes <= MOST_BYTES:
        told.append(f"size: {size_bytes!r} bytes given, 1 to {MOST_BYTES} expected")
    if given.get("kind") not in RECORDING_KINDS[:2]:
        told.append(f"kind: {given.get('kind')!r} given, one of these expected: {', '.join(RECORDING_KINDS[:2])}")
    for field, lowest_s in (("offset_s", -LONGEST_OFFSET_S), ("offset_sd_s", 0.0)):
        value = given.get(field)
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if value is not None and not (is_number and lowest_s <= value <= LONGEST_OFFSET_S):
            told.append(f"{field}: {value!r} given, seconds from {lowest_s:g} to {LONGEST_OFFSET_S:g} expected")
    return told


def _refuse_full_disk(size_bytes: int) -> None:
    place = next(folder for folder in (films_folder(), *films_folder().parents) if folder.is_dir())
    free_bytes = shutil.disk_usage(place).free
    if size_bytes + SPARE_BYTES > free_bytes:
        need_mb, free_mb = (size_bytes + SPARE_BYTES) // 1024**2, free_bytes // 1024**2
        raise NoSpaceError(f"the film needs {need_mb} MB on the disk of the store, {free_mb} MB are free: make room")


def _row(key: UUID, organisation_code: str | None) -> "FilmUpload | None":
    from onthree.store.listing import owner_of
    from onthree.store.models import FilmUpload

    return (
        FilmUpload.objects.select_related("run")
        .filter(key=key, organisation_id=owner_of(organisation_code) or 0)
        .first()
    )


def _part(key: UUID) -> Path:
    return parts_folder() / f"{key}.part"


def _whole(row: "FilmUpload") -> Path:
    return films_folder() / plain_name(row.name, row.key.hex)


def _there_bytes(row: "FilmUpload") -> int:
    """How much is there; all of it where the film lies whole and only was not attached yet."""
    place = next((path for path in (_part(row.key), _whole(row)) if path.exists()), None)
    return place.stat().st_size if place else 0


def _arriving(row: "FilmUpload") -> Arriving:
    is_whole = bool(row.recording or row.problem)
    offset_bytes = row.size_bytes if is_whole else _there_bytes(row)
    return Arriving(row.key, row.run.code, row.name, offset_bytes, row.size_bytes, row.recording, row.problem)
