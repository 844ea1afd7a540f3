"""The part of a programme that rehearsals are about: every run, and the people, places and gear they name."""

from datetime import date

from onthree.programme.programme import Programme, Scope, programme_of
from onthree.programme.records import (
    Agency,
    Gear,
    Incident,
    Measured,
    Place,
    Record,
    Recording,
    Responder,
    Run,
    RunPhase,
    RunRole,
    Shift,
    Vehicle,
    Venue,
)

_KINDS: tuple[type[Record], ...] = (
    Venue,
    Place,
    Responder,
    Agency,
    Shift,
    Vehicle,
    Gear,
    Run,
    RunRole,
    RunPhase,
    Incident,
    Recording,
    Measured,
)
_ALL = 1_000_000


def run_programme(on: date, organisation_code: str | None = None) -> Programme:
    """Runs and what they name, in a fixed number of queries; no athlete, no event. Raises LookupError: empty store."""
    from onthree.store.calendar import find_organisation
    from onthree.store.connection import one_moment
    from onthree.store.listing import list_records

    with one_moment():
        found = find_organisation(organisation_code)
        if found is None:
            raise LookupError("the store is empty: import a workbook first")
        records = [
            record
            for kind in _KINDS
            for record in list_records(kind, most=_ALL, organisation_code=organisation_code).records
        ]
    return programme_of([found[1], *records], on, Scope("all"))
