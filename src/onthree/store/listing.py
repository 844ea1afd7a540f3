"""Records of one kind for a page: a part of the list, one of them with its version, codes to choose from.

Every reading takes a fixed number of queries, however many records there are.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Q, QuerySet

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.records import Event, Organisation, Record
from onthree.store.calendar import find_organisation
from onthree.store.connection import one_moment
from onthree.store.rows import COLUMNS, EVENT_LISTS, KIND_OF, TABLE_OF

_LONGEST_INTEGER = 4


@dataclass(frozen=True)
class Listed:
    """A part of the records of one kind, and how many there are in all."""

    records: tuple[Record, ...]
    count: int


@dataclass(frozen=True)
class StoredRecord:
    """A record, the version it has in the store, and who saved it when."""

    record: Record
    version: str
    by: str
    at: datetime


def list_records(
    kind: type[Record],
    *,
    search: str = "",
    where: Mapping[str, str] | None = None,
    order: Sequence[str] = (),
    first: int = 0,
    most: int = 50,
    organisation_code: str | None = None,
) -> Listed:
    """At most so many records of a kind from a place on, those that hold a text and refer to some codes.

    ``where`` maps a field to what it must be, a code where it is a reference. Raises LookupError for an unknown
    organisation; the list of an empty store is empty.
    """
    with one_moment():
        owned = _owned(kind, organisation_code)
        if owned is None:
            return Listed((), 0)
        asked = {_path(kind, name): value for name, value in (where or {}).items()}
        found = owned.filter(**asked).filter(_holding(kind, search))
        paths = [f"-{_path(kind, name[1:])}" if name[0] == "-" else _path(kind, name) for name in (*order, "code")]
        return Listed(tuple(_records(kind, found.order_by(*paths)[first : first + most])), found.count())


def stored_record(kind: type[Record], code: str, organisation_code: str | None = None) -> StoredRecord | None:
    """One record with its version, None where the organisation has none of this code. Raises LookupError."""
    with one_moment():
        owned = _owned(kind, organisation_code)
        row = None if owned is None else owned.filter(code=code)
        records = [] if row is None else _records(kind, row)
        if row is None or not records:
            return None
        row_id = row.values_list("pk", flat=True)[0]
        version, by, at = _last_writing(kind, row_id)
        return StoredRecord(records[0], version, by, at)


def codes_of(
    refers_to: str, names: Sequence[str], *, search: str = "", most: int = 50, organisation_code: str | None = None
) -> tuple[list[tuple[str, ...]], int]:
    """Codes of a kind that hold a text, each with some columns beside it as text; and how many there are in all."""
    kind = KIND_OF[refers_to]
    owned = _owned(kind, organisation_code)
    if owned is None:
        return [], 0
    found = owned.filter(_holding(kind, search)).order_by("code")
    paths = [_path(kind, name) for name in names]
    listed = [
        tuple("" if each is None else str(each) for each in row) for row in found.values_list("code", *paths)[:most]
    ]
    return listed, found.count()


def all_codes(kind: type[Record], organisation_code: str | None = None) -> frozenset[str]:
    """Every code of a kind. Raises LookupError."""
    owned = _owned(kind, organisation_code)
    return frozenset() if owned is None else frozenset(owned.values_list("code", flat=True))


def counts_of(organisation_code: str | None = None) -> dict[type[Record], int]:
    """How many records there are of each kind."""
    found = {kind: _owned(kind, organisation_code) for kind in TABLE_OF}
    return {kind: owned.count() if owned is not None else 0 for kind, owned in found.items()}


def owner_of(organisation_code: str | None = None) -> int | None:
    """The id of the organisation, None where the store is empty. Raises LookupError."""
    found = find_organisation(organisation_code)
    return found[0] if found else None


def _owned(kind: type[Record], organisation_code: str | None) -> QuerySet[Any] | None:
    owner_id = owner_of(organisation_code)
    if owner_id is None:
        return None
    whose = {"pk": owner_id} if kind is Organisation else {"organisation_id": owner_id}
    return TABLE_OF[kind]._default_manager.filter(**whose)


def _field(kind: type[Record], name: str) -> FieldDescription:
    return next(field for field in fields_of(kind) if field.name == name)


def _path(kind: type[Record], name: str) -> str:
    """A column as a query names it: of a reference the code, of a list of an event the code of each."""
    field = _field(kind, name)
    return f"{name}__code" if field.kind in (Kind.REFERENCE, Kind.REFERENCES, Kind.PRESENCES) else name


def _holding(kind: type[Record], search: str) -> Q:
    """Every word of the search stands in the code or a text, or is the jersey number."""
    texts = [field.name for field in COLUMNS[kind] if field.kind in (Kind.CODE, Kind.TEXT)]
    whole = [field.name for field in COLUMNS[kind] if field.name == "number"]
    asked = Q()
    for word in search.split():
        anywhere = [Q(**{f"{name}__icontains": word}) for name in texts]
        if word.isdecimal() and len(word) <= _LONGEST_INTEGER:
            anywhere += [Q(**{name: int(word)}) for name in whole]
        asked &= reduce(or_, anywhere)
    return asked


def _records(kind: type[Any], found: QuerySet[Any]) -> list[Record]:
    fields = COLUMNS[kind]
    rows = list(found.values_list("pk", *(_path(kind, field.name) for field in fields)))
    lists = _lists_of([row[0] for row in rows]) if kind is Event else {}
    return [
        kind(**{field.name: _value(field, value) for field, value in zip(fields, row[1:], strict=True)},
             **lists.get(row[0], {}))
        for row in rows
    ]  # fmt: skip


def _value(field: FieldDescription, value: Any) -> Any:
    return tuple(value) if field.kind in (Kind.CHOICES, Kind.WORDS) else value


def _lists_of(event_ids: Sequence[int]) -> dict[int, dict[str, tuple[Any, ...]]]:
    lists: dict[int, dict[str, tuple[Any, ...]]] = {each: {a.name: () for a in EVENT_LISTS} for each in event_ids}
    for a_list in EVENT_LISTS:
        more = ("from_min",) if "from_min" in a_list.column_names else ()
        table = a_list.table._default_manager.filter(event_id__in=event_ids).order_by("place")
        for event_id, code, *from_min in table.values_list("event_id", "who__code", *more):
            lists[event_id][a_list.name] += (a_list.entry(code, *from_min),)
    return lists


def _last_writing(kind: type[Record], row_id: int) -> tuple[str, str, datetime]:
    """The version is the last number of the history of a row, and of each list where it is an event."""
    histories: list[QuerySet[Any]] = [TABLE_OF[kind].history.filter(id=row_id)]  # type: ignore[attr-defined]
    if kind is Event:
        histories += [a_list.table.history.filter(event_id=row_id) for a_list in EVENT_LISTS]  # type: ignore[attr-defined]
    asked = ("history_id", "history_change_reason", "history_date")
    lasts = [history.order_by("-history_id").values_list(*asked).first() for history in histories]
    latest = max((last for last in lasts if last), key=lambda last: (last[2], last[0]))
    return "-".join(str(last[0] if last else 0) for last in lasts), latest[1] or "", latest[2]
