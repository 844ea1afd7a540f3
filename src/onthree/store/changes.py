"""What was written since a time: one line per saving and kind of record, in one question however much changed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import CharField, Count, Max, Min, Value

from onthree.programme.records import SHEETS, Event, Organisation
from onthree.store.rows import EVENT_LISTS, TABLE_OF

_WAYS = {"+": "added", "~": "changed", "-": "taken back"}


@dataclass(frozen=True)
class Change:
    """Records of one kind that one saving wrote; ``code`` where it was a single one. The time is this computer's."""

    at: datetime
    by: str
    sheet: str
    way: str
    count: int
    code: str


def load_changes(organisation_id: int, since: datetime, most: int) -> tuple[Change, ...]:
    """At most so many changes after a time, the latest first; several lists of an event are one change of it."""
    questions = [
        _of_table(TABLE_OF[kind], sheet, organisation_id, since, "code")
        for sheet, kind in SHEETS.items()
        if kind is not Organisation
    ]
    events = next(sheet for sheet, kind in SHEETS.items() if kind is Event)
    questions += [_of_table(each.table, events, organisation_id, since, "event__code") for each in EVENT_LISTS]
    first, *others = questions
    rows = first.union(*others, all=True).order_by("-history_date", "sheet")[: most * (len(EVENT_LISTS) + 1)]
    return _merged(rows, events)[:most]


def _of_table(table: Any, sheet: str, organisation_id: int, since: datetime, code: str) -> Any:
    found = table.history.filter(organisation_id=organisation_id, history_date__gt=since).order_by()
    counted = found.values("history_type", "history_date", "history_change_reason").annotate(
        sheet=Value(sheet, output_field=CharField()), count=Count(code, distinct=True), first=Min(code), last=Max(code)
    )
    return counted.values_list(
        "history_date", "history_change_reason", "sheet", "history_type", "count", "first", "last"
    )


def _merged(rows: Iterable[tuple[Any, ...]], events: str) -> tuple[Change, ...]:
    """The lists of an event change the event, unless the same saving added it."""
    found: dict[tuple[Any, ...], Change] = {}
    for at, by, sheet, way, count, first, last in sorted(rows, key=lambda row: (row[0], row[4]), reverse=True):
        code = first if first == last else ""
        same = [key for key in found if key[:2] == (at, sheet)]
        if sheet == events and same:
            continue
        found[(at, sheet, way)] = Change(at.astimezone(), by or "", sheet, _WAYS[way], count, code or "")
    return tuple(found.values())
