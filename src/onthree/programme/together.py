"""When an ambulance crew last rehearsed with us: as somebody recorded it, or in a run that counts."""

from collections.abc import Iterator
from datetime import date

from onthree.programme.programme import Programme, RunDay
from onthree.programme.records import Agency, Run, Shift


def is_rehearsed(run: Run) -> bool:
    """Whether those in a run rehearsed in it: it was not set aside, and no do-nothing hold."""
    return not run.set_aside and not run.is_hold


def rehearsed_on(programme: Programme, crew: Agency | Shift) -> date | None:
    """The last day on which a crew rehearsed with us; a run counts for its shift and for the agency of that shift.

    What is still to come on the date of the programme is given only where nothing came before it.
    """
    known = [each.day for each in _run_days(programme) if each.day <= programme.on and _is_of(programme, each, crew)]
    if crew.rehearsed_on and crew.rehearsed_on <= programme.on:
        known.append(crew.rehearsed_on)
    return max(known, default=crew.rehearsed_on)


def _run_days(programme: Programme) -> Iterator[RunDay]:
    yield from programme.run_days
    yield from (RunDay(run.agency, run.shift, run.day) for run in programme.runs.values() if is_rehearsed(run))


def _is_of(programme: Programme, each: RunDay, crew: Agency | Shift) -> bool:
    if isinstance(crew, Shift):
        return each.shift == crew.code
    shift = programme.shifts.get(each.shift or "")
    return crew.code in (each.agency, shift.agency if shift else None)
