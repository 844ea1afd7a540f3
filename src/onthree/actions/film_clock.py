"""Where a film stands on the run clock, phases that were found on the film, where it is neutral or shows the axes."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from math import isfinite
from uuid import uuid4

from onthree.actions import runs
from onthree.actions.records import record_as_saved, save_one
from onthree.actions.run_taps import PHASE_PREFIX
from onthree.programme.records import Recording
from onthree.programme.rehearsals import STRETCHES

LONGEST_OFFSET_S = 86_400.0
STRETCH_FIELDS = tuple(f"{kind}_{end}_s" for kind in STRETCHES for end in ("from", "to"))
"""The ends of what is marked on a film, as the fields of a recording are called."""


def set_film_clock(
    run: str, recording: str, offset_s: float | None, by: str, organisation_code: str | None = None
) -> None:
    """Where on the run clock [s] a film begins, None: not known. Raises LookupError, ValueError."""
    if offset_s is not None and not (isfinite(offset_s) and abs(offset_s) <= LONGEST_OFFSET_S):
        raise ValueError(f"Begins at: {offset_s} s given, at most {LONGEST_OFFSET_S:g} s before or after expected")
    from onthree.store.connection import one_saving
    from onthree.store.records import save_records

    with one_saving():
        film = _recording(run, recording, organisation_code)
        save_records([replace(film, offset_s=offset_s)], by=by, organisation_code=organisation_code)


def add_phase_of_film(
    run: str,
    recording: str,
    technique: str,
    stretch_s: tuple[float | None, float | None],
    by: str,
    organisation_code: str | None = None,
) -> None:
    """Add a phase by its moments on the film [s]; a film whose place is not known begins the run clock.

    Raises LookupError, and ValueError for moments that are missing, turned round or before the last phase.
    """
    from_s, to_s = stretch_s
    if from_s is None or to_s is None or not 0 <= from_s < to_s:
        raise ValueError(f"Phase: from {from_s} to {to_s} given, a start before the end on the film expected")
    from onthree.store.connection import one_saving

    with one_saving():
        film = _recording(run, recording, organisation_code)
        if film.offset_s is None:
            set_film_clock(run, recording, 0.0, by, organisation_code)
        offset_s = film.offset_s or 0.0
        code = f"{PHASE_PREFIX}-{uuid4().hex[:12].upper()}"
        runs.tap_phase(run, technique, max(from_s + offset_s, 0.0), code, by, organisation_code)
        runs.end_phase(run, max(to_s + offset_s, 0.0), by, organisation_code)


def mark_stretches(
    run: str, recording: str, typed: Mapping[str, str], on: date, by: str, organisation_code: str | None = None
) -> None:
    """Mark neutral, nod and turn on a film, as typed by ``STRETCH_FIELDS``; blank is not marked.

    Raises LookupError, FieldsError with every problem.
    """
    from onthree.store.connection import one_saving

    with one_saving():
        saved = record_as_saved(Recording, _recording(run, recording, organisation_code).code, organisation_code)
        ends = {name: typed.get(name, "") for name in STRETCH_FIELDS}
        save_one(Recording, {**saved.typed, **ends}, saved.version, on, by, organisation_code)


def _recording(run: str, code: str, organisation_code: str | None) -> Recording:
    found = next((one for one in runs.run_of(run, organisation_code).recordings if one.code == code), None)
    if found is None:
        raise LookupError(f"{run} has no film {code!r}")
    return found
