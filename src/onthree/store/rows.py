"""Which table and columns hold a kind of record, and the way there and back."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any

from django.db.models import Max, Model, QuerySet

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.presence import Presence
from onthree.programme.records import RECORD_TYPES, Event, Organisation, Record
from onthree.store import models

TABLE_OF: Mapping[type[Record], type[Model]] = MappingProxyType(
    {kind: getattr(models, kind.__name__) for kind in RECORD_TYPES}
)
"""Kind of record to its table."""

OWNED_KINDS: tuple[type[Record], ...] = tuple(kind for kind in RECORD_TYPES if kind is not Organisation)
"""Every kind that belongs to an organisation, in the order in which references can be resolved."""

KIND_OF: Mapping[str, type[Record]] = MappingProxyType({kind.__name__: kind for kind in RECORD_TYPES})
"""Name of a kind to the kind."""

Values = tuple[Any, ...]
"""The columns of a row as stored."""

Ids = Mapping[str, Mapping[str, int]]
"""Name of a kind to the ids of its rows by code."""

Codes = Mapping[str, Mapping[int, str]]
"""Name of a kind to the codes of its rows by id."""


@dataclass(frozen=True)
class EventList:
    """A list of an event that has a table of its own, with one row per entry."""

    name: str
    table: type[Model]
    refers_to: str
    column_names: tuple[str, ...]

    def values_of(self, event: Event, ids: Ids) -> Iterator[Values]:
        """The rows of an event's list."""
        for place, entry in enumerate(getattr(event, self.name)):
            code, minute = (entry.code, (entry.from_min,)) if isinstance(entry, Presence) else (entry, ())
            yield ids["Event"][event.code], ids[self.refers_to][code], place, *minute

    def entry(self, code: str, *from_min: int) -> Any:
        """An entry as an event's record has it."""
        return Presence(code, *from_min) if from_min else code


def _event_list(name: str, table: type[Model], *more: str) -> EventList:
    refers_to = next(field.refers_to for field in fields_of(Event) if field.name == name)
    return EventList(name, table, refers_to, ("event_id", "who_id", "place", *more))


EVENT_LISTS = (
    _event_list("teams", models.EventTeam),
    _event_list("responders", models.EventResponder, "from_min"),
    _event_list("gear", models.EventGear, "from_min"),
    _event_list("vehicles", models.EventVehicle, "from_min"),
    _event_list("may_leave", models.EventMayLeave),
    _event_list("shifts", models.EventShift),
)


_AS_JSON = (Kind.CHOICES, Kind.WORDS)


def _columns(kind: type[Any]) -> tuple[FieldDescription, ...]:
    lists = (Kind.REFERENCES, Kind.PRESENCES)
    return tuple(field for field in fields_of(kind) if field.kind not in lists)


def _name(field: FieldDescription) -> str:
    return f"{field.name}_id" if field.kind is Kind.REFERENCE else field.name


COLUMNS: Mapping[type[Record], tuple[FieldDescription, ...]] = MappingProxyType(
    {kind: _columns(kind) for kind in RECORD_TYPES}
)
"""Kind of record to those of its fields that are columns of its own table."""

COLUMN_NAMES: Mapping[type[Record], tuple[str, ...]] = MappingProxyType(
    {kind: tuple(_name(field) for field in COLUMNS[kind]) for kind in RECORD_TYPES}
)
"""The same as names of columns: a reference is kept as the id of the row referred to."""


_FIELD_NAMES = {kind: tuple(field.name for field in COLUMNS[kind]) for kind in RECORD_TYPES}
_CONVERTED = {
    kind: tuple(field for field in COLUMNS[kind] if field.kind in (Kind.REFERENCE, *_AS_JSON)) for kind in RECORD_TYPES
}
"""The fields that are stored as something else than they are: references as ids, lists as JSON."""


def rows(table: type[Model], recorded_at: datetime | None) -> QuerySet[Any]:
    """The rows of a table now, or as they stood at a time: the last one written by then for each id, if not deleted."""
    if recorded_at is None:
        return table._default_manager.all()
    history: QuerySet[Any] = table.history.filter(history_date__lte=recorded_at).order_by()  # type: ignore[attr-defined]
    last = history.values("id").annotate(last=Max("history_id")).values("last")
    everything: QuerySet[Any] = table.history.order_by()  # type: ignore[attr-defined]
    return everything.filter(history_id__in=last).exclude(history_type="-")


def values_of(record: Record, ids: Ids) -> Values:
    """A record's own columns as stored; ``ids`` maps name of kind and code to id."""
    return tuple(_stored(field, getattr(record, field.name), ids) for field in COLUMNS[type(record)])


def record_from(kind: type[Any], values: Values, codes: Codes, **lists: tuple[Any, ...]) -> Record:
    """A record from its own columns and, for an event, its lists."""
    made = dict(zip(_FIELD_NAMES[kind], values, strict=True))
    for field in _CONVERTED[kind]:
        made[field.name] = _shown(field, made[field.name], codes)
    record: Record = kind(**made, **lists)
    return record


def _stored(field: FieldDescription, value: Any, ids: Ids) -> Any:
    if field.kind is Kind.REFERENCE and value is not None:
        return ids[field.refers_to][value]
    return list(value) if field.kind in _AS_JSON else value


def _shown(field: FieldDescription, value: Any, codes: Codes) -> Any:
    if field.kind is Kind.REFERENCE and value is not None:
        return codes[field.refers_to][value]
    return tuple(value) if field.kind in _AS_JSON else value
