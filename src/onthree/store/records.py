"""Saves records: what is new is added, what differs is changed, what is the same is left alone, nothing is deleted."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Model, ProtectedError
from django.utils import timezone
from simple_history.utils import bulk_create_with_history

from onthree.programme.programme import references_of
from onthree.programme.records import Event, Organisation, Record
from onthree.store.connection import one_saving
from onthree.store.rows import COLUMN_NAMES, EVENT_LISTS, KIND_OF, OWNED_KINDS, TABLE_OF, Values, values_of

_ROWS_AT_ONCE = 1000

Stored = dict[Any, tuple[int, Values]]
"""Rows of a table by the key they are known by: id and columns."""


@dataclass(frozen=True)
class SaveReport:
    """How many records were added, changed, and already the same."""

    added: int
    changed: int
    unchanged: int


def save_records(records: Iterable[Record], by: str, organisation_code: str | None = None) -> SaveReport:
    """Save records of one organisation, all or nothing.

    ``by`` says who or what saves, and stands in the history beside every row that changed. The organisation is the one
    among the records, else the one named, else the only one of the store. Records may refer to records of the store.
    Raises LookupError for references nobody has and for an unclear organisation, ValueError for a code given twice,
    StoreError where the store fails; then nothing is saved.
    """
    given = list(records)
    _refuse_doubles(given)
    with one_saving():
        saving = _Saving(by, timezone.now())
        saving.find_organisation([each for each in given if isinstance(each, Organisation)], organisation_code)
        saving.find_ids(given)
        for kind in OWNED_KINDS:
            saving.save_kind(kind, [each for each in given if type(each) is kind])
        saving.save_lists([each for each in given if isinstance(each, Event)])
    return SaveReport(len(saving.added), len(saving.changed), len(given) - len(saving.added) - len(saving.changed))


def take_back_record(record: Record, by: str, organisation_code: str | None = None) -> None:
    """Take back one record that was put in by mistake; its history stays, and says who took it back.

    Raises LookupError where it is not there, ValueError where other records refer to it; then nothing changes.
    """
    kind = type(record)
    with one_saving():
        saving = _Saving(by, timezone.now())
        saving.find_organisation((), organisation_code)
        row: Any = TABLE_OF[kind]._default_manager.filter(code=record.code, **saving.owner).first()
        if row is None:
            raise LookupError(f"{kind.__name__} {record.code} is not in the store: nothing to take back")
        row._change_reason, row._history_date = by, saving.at
        try:
            row.delete()
        except ProtectedError:
            raise ValueError(f"{kind.__name__} {record.code}: other records refer to it: it stays") from None


@dataclass
class _Saving:
    """One saving: who saves, when, for whom, and what came of it. All its history rows bear the same time."""

    by: str
    at: datetime
    owner: dict[str, int] = field(default_factory=dict)
    ids: dict[str, dict[str, int]] = field(default_factory=dict)
    added: set[tuple[type[Record], str]] = field(default_factory=set)
    changed: set[tuple[type[Record], str]] = field(default_factory=set)

    def find_organisation(self, given: Sequence[Organisation], code: str | None) -> None:
        """Save the organisation among the records, if any; it owns every other row. Raises LookupError, ValueError."""
        codes = {each.code for each in given} | ({code} if code else set())
        if len(codes) > 1:
            raise ValueError(f"organisations {', '.join(sorted(codes))} given, one expected: save each on its own")
        self.save_kind(Organisation, given)
        known = dict(TABLE_OF[Organisation]._default_manager.values_list("code", "id"))
        wanted = codes or set(known)
        if len(wanted) != 1 or not wanted <= set(known):
            asked = code or "no organisation"
            raise LookupError(f"{asked} given, one of the store's expected ({', '.join(known) or 'it has none yet'})")
        self.owner = {"organisation_id": known[wanted.pop()]}

    def find_ids(self, given: Sequence[Record]) -> None:
        """Look up what the records may refer to. Raises LookupError with every reference that nobody has."""
        references = [(each, *reference) for each in given for reference in references_of(each)]
        for name in sorted({refers_to for _, _, refers_to, _ in references}):
            table = TABLE_OF[KIND_OF[name]]._default_manager
            self.ids[name] = dict(table.filter(**self.owner).values_list("code", "id"))
        given_codes = {(type(each).__name__, each.code) for each in given}
        missing = [
            f"{type(each).__name__} {each.code}: {name} {code!r} given, the code of a {refers_to} expected: add it"
            for each, name, refers_to, code in references
            if code not in self.ids[refers_to] and (refers_to, code) not in given_codes
        ]
        if missing:
            raise LookupError("\n".join(missing))

    def save_kind(self, kind: type[Record], given: Sequence[Record]) -> None:
        """Add and change records of one kind, whose references have their ids by now."""
        if not given:
            return
        names = COLUMN_NAMES[kind]
        wanted = {record.code: values_of(record, self.ids) for record in given}
        stored = self._stored(TABLE_OF[kind], names, lambda values: values[0])
        differing = _differing(stored, wanted)
        ids = self._write(TABLE_OF[kind], names, stored, differing)
        self.ids.setdefault(kind.__name__, {}).update(ids)
        self.added |= {(kind, code) for code in differing if code not in stored}
        self.changed |= {(kind, code) for code in differing if code in stored}

    def save_lists(self, events: Sequence[Event]) -> None:
        """Bring the lists of the given events up to date, row by row."""
        codes = {self.ids["Event"][event.code]: event.code for event in events}
        for a_list in EVENT_LISTS if events else ():
            of_any_event = self._stored(a_list.table, a_list.column_names, lambda values: values[:2])
            stored = {key: row for key, row in of_any_event.items() if key[0] in codes}
            wanted = {values[:2]: values for event in events for values in a_list.values_of(event, self.ids)}
            gone = {key: row for key, row in stored.items() if key not in wanted}
            differing = _differing(stored, wanted)
            self._delete(a_list.table, a_list.column_names, gone)
            self._write(a_list.table, a_list.column_names, stored, differing)
            self.changed |= {(Event, codes[event_id]) for event_id, _ in (*gone, *differing)} - self.added

    def _stored(self, table: type[Model], names: Sequence[str], key: Callable[[Values], Any]) -> Stored:
        found = table._default_manager.filter(**self.owner).values_list("id", *names)
        return {key(row[1:]): (row[0], row[1:]) for row in found}

    def _write(
        self, table: type[Model], names: Sequence[str], stored: Stored, differing: Mapping[Any, Values]
    ) -> dict[Any, int]:
        """Insert what is not stored, update what is stored otherwise, each with its history; the ids of all by key."""
        new, edited = {}, []
        for key, values in differing.items():
            columns = dict(zip(names, values, strict=True)) | self.owner
            if key in stored:
                edited.append(table(id=stored[key][0], **columns))
            else:
                new[key] = table(**columns)
        history = {"batch_size": _ROWS_AT_ONCE, "default_change_reason": self.by, "default_date": self.at}
        if new:
            bulk_create_with_history(list(new.values()), table, **history)
        if edited:
            # One statement for many rows: Django's own bulk_update takes ten times as long.
            table._default_manager.bulk_create(edited, update_conflicts=True, unique_fields=["id"], update_fields=names)
            table.history.bulk_history_create(edited, update=True, **history)  # type: ignore[attr-defined]
        return {key: row_id for key, (row_id, _) in stored.items()} | {key: row.pk for key, row in new.items()}

    def _delete(self, table: type[Model], names: Sequence[str], gone: Stored) -> None:
        for row_id, values in gone.values():
            row: Any = table(id=row_id, **dict(zip(names, values, strict=True)), **self.owner)
            row._change_reason, row._history_date = self.by, self.at
            row.delete()


def _differing(stored: Stored, wanted: Mapping[Any, Values]) -> dict[Any, Values]:
    """What is wanted and not stored, or stored otherwise, in the order given."""
    return {key: values for key, values in wanted.items() if key not in stored or stored[key][1] != values}


def _entries(record: Record) -> Iterable[tuple[str, str, str]]:
    return references_of(record) if isinstance(record, Event) else ()


def _refuse_doubles(given: Sequence[Record]) -> None:
    """Raises ValueError with every code given twice, and every entry that stands twice in a list of an event."""
    counted = Counter((type(each).__name__, each.code) for each in given)
    counted.update((f"Event {each.code}: {name}", code) for each in given for name, _, code in _entries(each))
    doubles = [
        f"{what} {code}: given {count} times, once expected" for (what, code), count in counted.items() if count > 1
    ]
    if doubles:
        raise ValueError("\n".join(doubles))
