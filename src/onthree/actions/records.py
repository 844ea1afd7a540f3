"""One record: shown, saved as a person typed it, taken back; it is checked as the row of a workbook is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from onthree.programme.fields import fields_of
from onthree.programme.records import SHEETS, Organisation, Record
from onthree.readiness.rules import RULES
from onthree.techniques.library import bundled_library
from onthree.workbook.checks import check_rows
from onthree.workbook.contradictions import contradictions
from onthree.workbook.problems import InputError, Problem, problem_at
from onthree.workbook.rows import Row
from onthree.workbook.run_checks import check_runs
from onthree.workbook.stored import Stored
from onthree.workbook.values import as_typed, read_value

SHEET_OF: Mapping[type[Record], str] = {kind: title for title, kind in SHEETS.items()}
"""Kind of record to the title of its sheet, which is also the title of its page."""

_ROW = 1  # the only row there is; 0 is a record that is stored
_EARLIEST = date.min


class NotFoundError(LookupError):
    """A record that the organisation does not have; says which."""


class FieldsError(ValueError):
    """What was typed cannot be saved: the problems by field name, under an empty name those of no one field."""

    def __init__(self, problems: Mapping[str, tuple[Problem, ...]]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(each) for of_field in problems.values() for each in of_field))


@dataclass(frozen=True)
class Saved:
    """A record as it is saved: values as typed by field name, its version, and who saved it when."""

    record: Record
    typed: Mapping[str, str]
    version: str
    by: str
    at: datetime


class ChangedMeanwhileError(ValueError):
    """Somebody else saved the record since it was read; carries it as it is now, None where it was taken back."""

    def __init__(self, saved: Saved | None) -> None:
        self.saved = saved
        who = f"{saved.by} at {saved.at.astimezone():%H:%M}" if saved else "somebody, who took it back"
        super().__init__(f"saved meanwhile by {who}: nothing was overwritten, look at both")


def typed_values(record: Record) -> dict[str, str]:
    """Every field of a record as a person types it, by field name."""
    return {field.name: as_typed(field, getattr(record, field.name)) for field in fields_of(type(record))}


def record_as_saved(kind: type[Record], code: str, organisation_code: str | None = None) -> Saved:
    """One record of the store. Raises NotFoundError."""
    found = _found(kind, code, organisation_code)
    if found is None:
        raise NotFoundError(f"{SHEET_OF[kind]}: there is no record {code!r}")
    return found


def save_one(
    kind: type[Record],
    given: Mapping[str, str],
    version: str,
    on: date,
    by: str,
    organisation_code: str | None = None,
) -> Record:
    """Save one record as typed, by field name; a field left out is blank. An empty version means: a new record.

    Raises FieldsError with every problem, ChangedMeanwhileError where another version is saved by now. Then nothing is
    saved. What is unchanged is not written again.
    """
    from onthree.store.beside import stored_beside
    from onthree.store.connection import one_saving
    from onthree.store.records import save_records

    with one_saving():
        current = stored_beside(kind, given, organisation_code)
        record: Record = _checked(kind, given, current, is_new=not version)
        there = _found(kind, record.code, organisation_code)
        if version and (there is None or there.version != version):
            raise ChangedMeanwhileError(there)
        save_records([record], by, organisation_code)
    return record


def take_back(record: Record, version: str, by: str, organisation_code: str | None = None) -> None:
    """Take one record off the lists; its history stays. Raises ChangedMeanwhileError, and ValueError where others
    refer to it.
    """
    from onthree.store.connection import one_saving
    from onthree.store.records import take_back_record

    with one_saving():
        there = _found(type(record), record.code, organisation_code)
        if there is None or there.version != version:
            raise ChangedMeanwhileError(there)
        take_back_record(record, by, organisation_code)


def _found(kind: type[Record], code: str, organisation_code: str | None) -> Saved | None:
    from onthree.store.listing import stored_record

    found = stored_record(kind, code, organisation_code)
    if found is None:
        return None
    return Saved(found.record, typed_values(found.record), found.version, found.by, found.at)


def _checked(kind: type[Record], given: Mapping[str, str], current: Stored | None, *, is_new: bool) -> Any:
    """The record typed. Raises FieldsError with every problem of its fields, and of it beside the others."""
    title = SHEET_OF[kind]
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for field in fields_of(kind):
        try:
            values[field.name] = read_value(field, given.get(field.name, ""))
        except InputError as error:
            problems.append(problem_at(error, title, _ROW, field.header))
    row = Row(title, _ROW, kind, values)
    if is_new and current and row.code in current.codes(kind):
        problems.append(row.problem("code", row.code, "a code that is not taken", "give another, or edit that record"))
    problems += _beside_others(row, current)
    if problems:
        raise FieldsError(_by_field(kind, problems))
    return kind(**values)


def _beside_others(row: Row, current: Stored | None) -> list[Problem]:
    techniques = bundled_library().by_id
    if current is None and row.kind is not Organisation:
        return [row.problem("code", row.code, "an organisation first", "add the organisation, then everything else")]
    return [
        *check_rows([row], (), techniques, [rule.id for rule in RULES], current),
        *contradictions([row], current),
        *check_runs([row], techniques, current),
    ]


def _by_field(kind: type[Record], problems: list[Problem]) -> dict[str, tuple[Problem, ...]]:
    names = {field.header: field.name for field in fields_of(kind)}
    found: dict[str, tuple[Problem, ...]] = {}
    for problem in problems:
        name = names.get(problem.column, "") if problem.row == _ROW else ""
        found[name] = (*found.get(name, ()), problem)
    return found
