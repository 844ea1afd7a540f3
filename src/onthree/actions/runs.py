"""What is done while a run is recorded: each tap is saved at once, and a tap that is sent twice changes nothing.

Whoever sends a tap gives it a key, which becomes the code of what it saves: sent again, it is found there.
"""

from collections.abc import Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, time
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from onthree.actions.kept_films import name_of_film
from onthree.programme.programme import Scope
from onthree.programme.records import Incident, Measured, Recording, Run, RunPhase, RunRole
from onthree.programme.rehearsals import (
    GUESSED_PLANES,
    INCIDENT_KINDS,
    LAGS,
    RECORDING_KINDS,
    START_LAG,
)
from onthree.rehearsals.ladder import Rung
from onthree.rehearsals.recorded import RecordedRun, recorded_run
from onthree.techniques.library import bundled_library
from onthree.workbook.values import LONGEST_CODE, is_code

if TYPE_CHECKING:
    from collections.abc import Iterator

_EARLIEST = date.min
_PLACES = 6
_READ_AT_ONCE = 1 << 20


def run_of(code: str, organisation_code: str | None = None) -> RecordedRun:
    """A run as it stands in the store. Raises LookupError naming the nearest codes."""
    from onthree.store.load import load_programme

    return recorded_run(load_programme(_EARLIEST, Scope("run", code), organisation_code=organisation_code), code)


def start_run(run: Run, roles: Sequence[RunRole], by: str, organisation_code: str | None = None) -> RecordedRun:
    """Save a new run with who does what in it. A run that is there already stays as it is."""
    _refuse_key(run.code)
    with _saving():
        try:
            return run_of(run.code, organisation_code)
        except LookupError:
            return _saved(run.code, [run, *(replace(role, run=run.code) for role in roles)], by, organisation_code)


def tap_phase(
    run: str, technique: str, at_s: float, key: str, by: str, organisation_code: str | None = None
) -> RecordedRun:
    """A technique begins at a moment [s] of the run clock, and the one before it ends, if it has not.

    Raises LookupError for a technique nobody has, ValueError for a moment before the last phase was over.
    """
    if technique not in bundled_library().by_id:
        raise LookupError(f"technique {technique!r} given, the identifier of a technique expected")
    _refuse_key(key)
    with _saving():
        there = run_of(run, organisation_code)
        if any(phase.code == key for phase in there.phases):
            return there
        last = there.phases[-1] if there.phases else None
        over_s = 0.0 if last is None else last.start_s if last.end_s is None else last.end_s
        at_s = _moment_s(at_s)
        if at_s < over_s or (last and last.end_s is None and at_s == over_s):
            raise ValueError(f"{at_s} s given, a moment after {over_s} s expected: correct it, or undo the last tap")
        ended = [replace(last, end_s=at_s)] if last and last.end_s is None else []
        order = last.order + 1 if last else 1
        return _saved(
            run,
            [*ended, RunPhase(code=key, run=run, technique=technique, order=order, start_s=at_s)],
            by,
            organisation_code,
        )


def end_phase(run: str, at_s: float, by: str, organisation_code: str | None = None) -> RecordedRun:
    """The phase that is not done yet ends; where none is open nothing changes. Raises ValueError for a wrong moment."""
    with _saving():
        there = run_of(run, organisation_code)
        phase, at_s = there.open_phase, _moment_s(at_s)
        if phase is None:
            return there
        if at_s <= phase.start_s:
            raise ValueError(f"{at_s} s given, a moment after {phase.start_s} s expected: {phase.technique} began then")
        return _saved(run, [replace(phase, end_s=at_s)], by, organisation_code)


def end_run(run: str, at_s: float, by: str, organisation_code: str | None = None) -> RecordedRun:
    """The run is over: its open phase ends, and how long it lasted is kept. Raises ValueError for a wrong moment."""
    with _saving():
        there = end_phase(run, at_s, by, organisation_code)
        at_s = _moment_s(at_s)
        marks = [*(phase.end_s or phase.start_s for phase in there.phases), *(one.moment_s for one in there.incidents)]
        if marks and at_s < max(marks):
            raise ValueError(f"{at_s} s given, nothing before the last mark at {max(marks)} s expected: correct it")
        return _saved(run, [replace(there.run, lasted_s=at_s)], by, organisation_code)


def open_again(run: str, by: str, organisation_code: str | None = None) -> RecordedRun:
    """The last phase was ended too early, or the run: the end is taken back; the history stays."""
    with _saving():
        there = run_of(run, organisation_code)
        last = there.phases[-1] if there.phases else None
        ended_with_run = there.run.lasted_s is not None and last is not None and last.end_s == there.run.lasted_s
        made: list[Run | RunPhase] = []
        if there.run.lasted_s is not None:
            made.append(replace(there.run, lasted_s=None))
        if last is not None and (not made or ended_with_run):
            made.append(replace(last, end_s=None))
        return _saved(run, made, by, organisation_code) if made else there


def set_start(run: str, start: time, by: str, organisation_code: str | None = None) -> RecordedRun:
    """The local time of day at which the run clock was started."""
    with _saving():
        there = run_of(run, organisation_code)
        return _saved(run, [replace(there.run, start=start, timed="live")], by, organisation_code)


def tap_incident(
    run: str,
    kind: str,
    at_s: float,
    key: str,
    by: str,
    responder: str | None = None,
    note: str = "",
    organisation_code: str | None = None,
) -> RecordedRun:
    """Something went otherwise than meant; the technique is that of the phase of the moment. Raises ValueError."""
    if kind not in INCIDENT_KINDS:
        raise ValueError(f"incident {kind!r} given, one of these expected: {', '.join(INCIDENT_KINDS)}")
    _refuse_key(key)
    with _saving():
        there = run_of(run, organisation_code)
        if any(one.code == key for one in there.incidents):
            return there
        at_s = _moment_s(at_s)
        phase = there.phase_at(at_s)
        technique = phase.technique if phase else ""
        made = Incident(
            code=key, run=run, moment_s=at_s, kind=kind, technique=technique, responder=responder, note=note
        )
        return _saved(run, [made], by, organisation_code)


def set_effort(run: str, role: str, effort: int | None, by: str, organisation_code: str | None = None) -> RecordedRun:
    """How hard a role was for whoever had it, 0 to 10; None: not asked. Raises LookupError, ValueError."""
    if effort is not None and not 0 <= effort <= 10:
        raise ValueError(f"effort {effort} given, a whole number from 0 to 10 expected")
    with _saving():
        found = next((one for one in run_of(run, organisation_code).roles if one.code == role), None)
        if found is None:
            raise LookupError(f"{run} has no role {role!r}: give the code of one of its roles")
        return _saved(run, [replace(found, effort=effort)], by, organisation_code)


def set_guess(
    run: str, guess_deg: float | None, plane: str | None, by: str, organisation_code: str | None = None
) -> RecordedRun:
    """How far the head moved, as the head holder felt it, asked before anything is shown. Raises ValueError."""
    if guess_deg is not None and not 0 <= guess_deg <= 180:
        raise ValueError(f"{guess_deg} degrees given, 0 to 180 expected")
    if plane is not None and plane not in GUESSED_PLANES:
        raise ValueError(f"{plane!r} given, one of these expected: {', '.join(GUESSED_PLANES)}")
    with _saving():
        guessed = replace(run_of(run, organisation_code).run, head_guess_deg=guess_deg, head_guess_plane=plane)
        return _saved(run, [guessed], by, organisation_code)


def undo(run: str, key: str, by: str, organisation_code: str | None = None) -> RecordedRun:
    """Take back one tapped phase or incident; a phase that it ended is open again. Its history stays.

    A key that is not there changes nothing, so that undo may be sent twice. Raises ValueError for a phase that is not
    the last, or in which something was measured.
    """
    from onthree.store.records import take_back_record

    with _saving():
        there = run_of(run, organisation_code)
        incident = next((one for one in there.incidents if one.code == key), None)
        phase = next((one for one in there.phases if one.code == key), None)
        if incident:
            take_back_record(incident, by, organisation_code)
        elif phase:
            if phase is not there.phases[-1]:
                raise ValueError(f"{key} is not the last phase of {run}: undo the later ones first, or correct it")
            take_back_record(phase, by, organisation_code)
            before = there.phases[-2] if len(there.phases) > 1 else None
            if before and before.end_s == phase.start_s:
                return _saved(run, [replace(before, end_s=None)], by, organisation_code)
        return run_of(run, organisation_code)


def set_aside(run: str, reason: str, by: str, organisation_code: str | None = None) -> RecordedRun:
    """The run stays and no longer counts; an empty reason makes it count again."""
    with _saving():
        return _saved(
            run,
            [replace(run_of(run, organisation_code).run, set_aside=" ".join(reason.split()))],
            by,
            organisation_code,
        )


def attach_recording(
    run: str,
    path: Path,
    kind: str,
    by: str,
    offset_s: float | None = None,
    offset_sd_s: float | None = None,
    taken_by: str = "",
    organisation_code: str | None = None,
) -> RecordedRun:
    """Attach a film or log by its content: the same file again changes what is given of clock and words, adds nothing.

    Raises ValueError for an unknown kind, OSError for a file that cannot be read.
    """
    if kind not in RECORDING_KINDS:
        raise ValueError(f"recording {kind!r} given, one of these expected: {', '.join(RECORDING_KINDS)}")
    digest = sha256_of(path)
    with _saving():
        there = run_of(run, organisation_code)
        known = recording_of(there, path, digest)
        name = name_of_film(path)
        if known is not None and offset_s is None:
            offset_s, offset_sd_s = known.offset_s, known.offset_sd_s
        made = replace(
            known or Recording(code=f"{run}-{digest[:8]}", run=run, file=name, kind=kind),
            run=run,
            file=name,
            sha256=digest,
            kind=kind,
            offset_s=None if offset_s is None else round(offset_s, _PLACES),
            offset_sd_s=None if offset_sd_s is None else round(offset_sd_s, _PLACES),
            taken_by=taken_by or (known.taken_by if known else ""),
        )
        return _saved(run, [made], by, organisation_code)


def recording_of(run: RecordedRun, path: Path, digest: str | None = None) -> Recording | None:
    """The recording of a run that is this file: by its content, else by its name, where no content was noted."""
    digest = digest or sha256_of(path)
    same = (one for one in run.recordings if one.sha256 == digest)
    named = (one for one in run.recordings if not one.sha256 and Path(one.file).name == path.name)
    return next(same, None) or next(named, None)


def save_measured(
    run: str, values: Sequence[Measured], by: str, rung: Rung | None = None, organisation_code: str | None = None
) -> RecordedRun:
    """Keep what was measured of a run, each quantity once for each phase and for the whole; measured again, it changes.

    ``values`` are records without a code or with one of their own choosing: the code is given here. Values are kept to
    six places. Nothing is stored for unknown ones (NaN), and what stood there is taken back: measured again, it is not
    known. Raises ValueError for an unknown quantity, LookupError for a phase or recording of another run.
    """
    from onthree.kinematics.measures import NAMES
    from onthree.store.records import take_back_record

    if unknown := sorted({one.quantity for one in values} - {*LAGS, *NAMES}):
        raise ValueError(f"quantity {', '.join(unknown)} given, {START_LAG} or a name of the measures expected")
    with _saving():
        there = run_of(run, organisation_code)
        _refuse_others(there, values)
        codes = {(one.phase, one.quantity): one.code for one in there.measured}
        taken = set(codes.values())
        numbers = (f"{run}-m{number}" for number in range(1, 100_000) if f"{run}-m{number}" not in taken)
        made = []
        for one in values:
            if one.value == one.value:
                code = codes.setdefault((one.phase, one.quantity), "") or next(numbers)
                codes[one.phase, one.quantity] = code
                made.append(_rounded(replace(one, code=code, run=run)))
        unknown_now = {(one.phase, one.quantity) for one in values} - {(one.phase, one.quantity) for one in made}
        for stood in there.measured:
            if (stood.phase, stood.quantity) in unknown_now:
                take_back_record(stood, by, organisation_code)
        measured_run = [replace(there.run, rung=rung.number)] if rung else []
        return _saved(run, [*measured_run, *{one.code: one for one in made}.values()], by, organisation_code)


def sha256_of(path: Path) -> str:
    """The checksum of a file."""
    digest = sha256()
    with path.open("rb") as file:
        while block := file.read(_READ_AT_ONCE):
            digest.update(block)
    return digest.hexdigest()


def _refuse_key(key: str) -> None:
    """Raises ValueError for a key that no sheet could hold as a code."""
    if not is_code(key):
        raise ValueError(f"key {key!r} given, at most {LONGEST_CODE} characters without blanks , ; and @ expected")


def _refuse_others(there: RecordedRun, values: Sequence[Measured]) -> None:
    phases, recordings = {one.code for one in there.phases}, {one.code for one in there.recordings}
    for one in values:
        if one.phase is not None and one.phase not in phases:
            raise LookupError(f"phase {one.phase!r} given, one of {there.run.code} expected: {', '.join(phases)}")
        if one.recording is not None and one.recording not in recordings:
            known = ", ".join(recordings) or "none is attached"
            raise LookupError(f"recording {one.recording!r} given, one of {there.run.code} expected: {known}")


def _rounded(one: Measured) -> Measured:
    """A value, its band, moment and share to six places, unknown ones (NaN) as None."""
    names = ("value", "low", "high", "moment_s", "seen_ratio")
    numbers = {name: getattr(one, name) for name in names}
    is_known = {name: number is not None and number == number for name, number in numbers.items()}
    known: Any = {name: round(number, _PLACES) if is_known[name] else None for name, number in numbers.items()}
    return replace(one, **known)


def _moment_s(at_s: float) -> float:
    if not 0 <= at_s < float("inf"):
        raise ValueError(f"{at_s} s given, a moment of the run clock from 0 expected")
    return round(at_s, _PLACES)


def _saved(
    run: str,
    records: Sequence[Run | RunRole | RunPhase | Incident | Recording | Measured],
    by: str,
    organisation_code: str | None,
) -> RecordedRun:
    from onthree.store.records import save_records

    save_records(records, by=by, organisation_code=organisation_code)
    return run_of(run, organisation_code)


@contextmanager
def _saving() -> "Iterator[None]":
    """Reading and saving are one: whoever else saves meanwhile waits."""
    from onthree.store.connection import one_saving

    with one_saving():
        yield
