"""The history of one record: who saved it when, and what each field was before and after."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.records import Event, Organisation, Record
from onthree.store.connection import one_moment
from onthree.store.listing import owner_of
from onthree.store.rows import COLUMN_NAMES, COLUMNS, EVENT_LISTS, KIND_OF, TABLE_OF, EventList

ADDED, CHANGED, TAKEN_BACK = "added", "changed", "taken back"
_WAYS = {"+": ADDED, "~": CHANGED, "-": TAKEN_BACK}

Values = dict[str, Any]
"""Values of a record by field name, as a record has them."""


@dataclass(frozen=True)
class Writing:
    """One saving of a record: when, by whom, what was done, and the values that changed, before and after."""

    at: datetime
    by: str
    way: str
    changed: tuple[tuple[FieldDescription, Any, Any], ...]


def history_of(kind: type[Record], code: str, organisation_code: str | None = None) -> tuple[Writing, ...]:
    """Every saving of the records that bore a code, the latest first; empty where none ever did. Raises LookupError."""
    with one_moment():
        owner_id = owner_of(organisation_code)
        if owner_id is None:
            return ()
        owner = {"id": owner_id} if kind is Organisation else {"organisation_id": owner_id}
        table: Any = TABLE_OF[kind]
        rows = list(table.history.filter(code=code, **owner).order_by("history_id"))
        written = [(row.history_date, row.history_change_reason or "", _WAYS[row.history_type], row) for row in rows]
        lists = _list_writings({row.id for row in rows}) if kind is Event else {}
        return tuple(reversed(_compared(kind, written, lists)))


def _compared(
    kind: type[Record], written: list[tuple[datetime, str, str, Any]], lists: Mapping[datetime, tuple[str, Values]]
) -> list[Writing]:
    """Each saving beside the one before it. What a list alone was changed in is a saving of its own."""
    codes = _codes(kind, [row for *_, row in written])
    rows = {at: (by, way, row) for at, by, way, row in written}
    before: Values = {}
    made: list[Writing] = []
    for at in sorted({*rows, *lists}):
        by, way, row = rows.get(at, (lists.get(at, ("", {}))[0], CHANGED, None))
        after = dict(before) if row is None else before | _values(kind, row, codes)
        after |= lists[at][1] if at in lists else {}
        shown = {} if way == TAKEN_BACK else after
        fields = [(field, before.get(field.name), shown.get(field.name)) for field in fields_of(kind)]
        made.append(Writing(at, by, way, tuple(each for each in fields if (each[1] or None) != (each[2] or None))))
        before = shown
    return made


def _values(kind: type[Record], row: Any, codes: Mapping[str, Mapping[int, str]]) -> Values:
    values = {}
    for field, name in zip(COLUMNS[kind], COLUMN_NAMES[kind], strict=True):
        value = getattr(row, name)
        if field.kind is Kind.REFERENCE and value is not None:
            value = codes[field.refers_to].get(value, "?")
        values[field.name] = tuple(value) if field.kind in (Kind.CHOICES, Kind.WORDS) else value
    return values


def _codes(kind: type[Record], rows: Iterable[Any]) -> dict[str, dict[int, str]]:
    """Codes that the ids of references had, also of records taken back since."""
    asked: dict[str, set[int]] = {}
    for field, name in zip(COLUMNS[kind], COLUMN_NAMES[kind], strict=True):
        if field.kind is Kind.REFERENCE:
            asked.setdefault(field.refers_to, set()).update(id for row in rows if (id := getattr(row, name)))
    return {name: _codes_by_id(name, ids) for name, ids in asked.items()}


def _codes_by_id(refers_to: str, ids: Iterable[int]) -> dict[int, str]:
    history: Any = TABLE_OF[KIND_OF[refers_to]].history  # type: ignore[attr-defined]
    return dict(history.filter(id__in=ids).order_by("history_id").values_list("id", "code"))


def _list_writings(event_ids: Iterable[int]) -> dict[datetime, tuple[str, Values]]:
    """For each moment at which a list of the event was written: by whom, and the lists that changed as they became."""
    written: dict[datetime, tuple[str, Values]] = {}
    for a_list in EVENT_LISTS:
        history: Any = a_list.table.history  # type: ignore[attr-defined]
        rows = list(history.filter(event_id__in=event_ids).order_by("history_id"))
        codes = _codes_by_id(a_list.refers_to, {row.who_id for row in rows})
        there: dict[int, Any] = {}
        for at, together in groupby(rows, key=lambda row: row.history_date):
            for row in together:
                there.pop(row.who_id, None)
                if row.history_type != "-":
                    there[row.who_id] = row
                by = row.history_change_reason or ""
            written.setdefault(at, (by, {}))[1][a_list.name] = _entries(a_list, there, codes)
    return written


def _entries(a_list: EventList, there: Mapping[int, Any], codes: Mapping[int, str]) -> tuple[Any, ...]:
    more = [name for name in a_list.column_names if name == "from_min"]
    in_order = sorted(there.values(), key=lambda row: row.place)
    return tuple(a_list.entry(codes[row.who_id], *(getattr(row, name) for name in more)) for row in in_order)
