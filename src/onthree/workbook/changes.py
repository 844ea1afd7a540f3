"""What an import would change, before anything is saved."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from onthree.programme.fields import FieldDescription, fields_of
from onthree.programme.programme import Programme
from onthree.programme.records import SHEETS, Record
from onthree.workbook.values import as_typed

_SHEET_OF = {kind: title for title, kind in SHEETS.items()}


@dataclass(frozen=True)
class FieldChange:
    """One field that would change, old and new as typed."""

    field: FieldDescription
    old: str
    new: str


@dataclass(frozen=True)
class RecordChange:
    """A stored record that would change, as it would be, and its changed fields."""

    record: Record
    fields: tuple[FieldChange, ...]


@dataclass(frozen=True)
class Changes:
    """What an import would add and change. ``kept`` is stored but not in the workbook: it stays, nothing is deleted."""

    added: tuple[Record, ...]
    changed: tuple[RecordChange, ...]
    unchanged: int
    kept: tuple[Record, ...]

    @property
    def is_empty(self) -> bool:
        """Whether the import would leave everything as it is."""
        return not self.added and not self.changed

    @property
    def summary(self) -> str:
        """How many of each, in one sentence."""
        counts = (len(self.added), len(self.changed), self.unchanged, len(self.kept))
        return "{} added, {} changed, {} unchanged, {} kept that the workbook does not have.".format(*counts)

    def lines(self) -> Iterator[str]:
        """One line for each record that would be added and each field that would change."""
        for record in self.added:
            yield f"added: {_SHEET_OF[type(record)]}, {record.code}"
        for change in self.changed:
            for one in change.fields:
                place = f"{_SHEET_OF[type(change.record)]}, {change.record.code}, {one.field.header}"
                yield f"changed: {place}: {one.old or 'blank'} -> {one.new or 'blank'}"


def preview(current: Programme | None, records: Iterable[Record]) -> Changes:
    """Compare the records of a workbook with what is stored, by kind and code."""
    stored = {(type(record), record.code): record for record in current.records()} if current else {}
    given = {(type(record), record.code): record for record in records}
    compared = [(stored[key], record) for key, record in given.items() if key in stored]
    changed = tuple(RecordChange(new, _field_changes(old, new)) for old, new in compared if old != new)
    return Changes(
        added=tuple(record for key, record in given.items() if key not in stored),
        changed=changed,
        unchanged=len(compared) - len(changed),
        kept=tuple(record for key, record in stored.items() if key not in given),
    )


def _field_changes(old: Record, new: Record) -> tuple[FieldChange, ...]:
    fields = fields_of(type(new))
    values = [(field, getattr(old, field.name), getattr(new, field.name)) for field in fields]
    return tuple(
        FieldChange(field, as_typed(field, was), as_typed(field, is_)) for field, was, is_ in values if was != is_
    )
