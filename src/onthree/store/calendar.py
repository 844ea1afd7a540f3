"""The calendar of an organisation without the records that its events refer to: quick, however large the programme."""

from dataclasses import dataclass
from datetime import date, time
from typing import Any

from django.db.models import F

from onthree.programme.records import Organisation
from onthree.store.connection import one_moment
from onthree.store.models import Event
from onthree.store.rows import COLUMN_NAMES, TABLE_OF, record_from


@dataclass(frozen=True)
class CalendarEntry:
    """One event in the calendar."""

    code: str
    name: str
    kind: str
    day: date
    start: time | None
    venue: str


@dataclass(frozen=True)
class Calendar:
    """The events from a day on in their order, or where none is left the past ones, the latest first."""

    organisation: Organisation
    entries: tuple[CalendarEntry, ...]
    count: int
    are_past: bool


def find_organisation(code: str | None = None) -> tuple[int, Organisation] | None:
    """Id and record of the organisation with a code, or of the only one; None where the store holds none.

    Raises LookupError for an unknown code, and where there are several and no code.
    """
    table: Any = TABLE_OF[Organisation]._default_manager
    listed = [
        (row[0], record_from(Organisation, row[1:], {}))
        for row in table.order_by("id").values_list("id", *COLUMN_NAMES[Organisation])
    ]
    asked = [found for found in listed if code in (None, found[1].code)]
    if len(asked) == 1 or not listed:
        return (asked[0][0], asked[0][1]) if asked else None  # type: ignore[return-value]
    known = ", ".join(found.code for _, found in listed)
    if code is None:
        raise LookupError(f"the store holds several organisations: say which one of {known}")
    raise LookupError(f"no organisation has the code {code!r}: known are {known}")


def load_calendar(on: date, most: int, organisation_code: str | None = None) -> Calendar | None:
    """At most so many events of the calendar; None where the store is empty. Raises LookupError."""
    with one_moment():
        found = find_organisation(organisation_code)
        if found is None:
            return None
        organisation_id, organisation = found
        events = Event.objects.filter(organisation_id=organisation_id)
        coming = events.filter(day__gte=on).order_by("day", F("start").asc(nulls_first=True), "code")
        are_past = not coming.exists()
        listed = events.order_by("-day", F("start").desc(nulls_last=True), "code") if are_past else coming
        columns = ("code", "name", "kind", "day", "start", "venue__name")
        entries = tuple(CalendarEntry(*row) for row in listed.values_list(*columns)[:most])
        return Calendar(organisation, entries, listed.count(), are_past)
