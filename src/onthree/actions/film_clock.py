"""Where a film stands on the run clock, and phases that were found on the film instead of tapped."""

from dataclasses import replace
from math import isfinite
from uuid import uuid4

from onthree.actions import runs
from onthree.actions.run_taps import PHASE_PREFIX
from onthree.programme.records import Recording

LONGEST_OFFSET_S = 86_400.0


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


def _recording(run: str, code: str, organisation_code: str | None) -> Recording:
    found = next((one for one in runs.run_of(run, organisation_code).recordings if one.code == code), None)
    if found is None:
        raise LookupError(f"{run} has no film {code!r}")
    return found
