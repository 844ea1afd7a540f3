"""Every sheet with one row made of its own examples, and a stored programme that has what these rows refer to."""

import csv
import io
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import pytest

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.programme import Programme, programme_of
from onthree.programme.records import RECORD_TYPES, SHEETS, Record
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_csv_files, read_workbook
from onthree.workbook.values import read_value
from tests.unit.workbook.typed_sheets import Sheets, workbook_of

KNOWN: Mapping[str, Any] = {
    "known_techniques": ("device_out_on_cot", "centring", "log_roll_push_long_board"),
    "known_rules": ("weight-limit", "gate-narrow", "hands"),
}
KIND_OF = {kind.__name__: kind for kind in RECORD_TYPES}
EVERY_FIELD = [(title, field) for title, kind in SHEETS.items() for field in fields_of(kind)]


def fields(title: str) -> tuple[FieldDescription, ...]:
    """The fields of a sheet."""
    return fields_of(SHEETS[title])


def example(title: str, **changes: Any) -> Sheets:
    """A sheet with its headers and one row of examples; ``changes`` are cells by field name."""
    row = [changes.get(field.name, field.example) for field in fields(title)]
    return {title: [[field.header for field in fields(title)], row]}


def stored() -> Programme:
    """What the examples refer to: of each code a record with its required fields only."""
    records = {
        (kind, code): _least(kind, code)
        for kind in RECORD_TYPES
        for code in sorted({next(iter(fields_of(kind))).example, *_named(kind)})
        if kind.__name__ in {field.refers_to for _, field in EVERY_FIELD} or kind.__name__ == "Organisation"
    }
    return programme_of(records.values(), date(2026, 11, 25))


def _named(kind: type[Record]) -> Iterator[str]:
    for _, field in EVERY_FIELD:
        if field.refers_to == kind.__name__ or (field.name == "fits_items" and kind.__name__ == "Gear"):
            value = read_value(field, field.example)
            if field.kind is Kind.REFERENCE:
                yield value
            else:
                yield from (getattr(one, "code", one) for one in value)


def _least(kind: type[Record], code: str) -> Record:
    values = {field.name: read_value(field, field.example) for field in fields_of(kind) if field.is_required}
    return kind(**{**values, "code": code})


STORED = stored()


def csv_of(rows: Any, separator: str = ",") -> bytes:
    """These rows as a CSV file."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator).writerows(["" if cell is None else cell for cell in row] for row in rows)
    return text.getvalue().encode()


def read_both(sheets: Sheets) -> tuple[Record, ...]:
    """The records of these sheets, the same from a workbook and from CSV files."""
    records = read_workbook(workbook_of(sheets), "season.xlsx", current=STORED, **KNOWN)
    files = {f"{title}.csv": csv_of(rows) for title, rows in sheets.items()}
    assert read_csv_files(files, "season", current=STORED, **KNOWN) == records
    return records


def problems_of_both(sheets: Sheets) -> list[str]:
    """Every problem of these sheets, the same from a workbook and, but for the file name, from CSV files."""
    with pytest.raises(WorkbookError) as in_workbook:
        read_workbook(workbook_of(sheets), "season.xlsx", current=STORED, **KNOWN)
    files = {f"{title}.csv": csv_of(rows) for title, rows in sheets.items()}
    with pytest.raises(WorkbookError) as in_csv:
        read_csv_files(files, "season", current=STORED, **KNOWN)
    told = [str(problem) for problem in in_workbook.value.problems]
    assert [str(problem).replace(".csv", "") for problem in in_csv.value.problems] == told
    return told


def problems_of_workbook(content: bytes) -> list[str]:
    """Every problem of a workbook that must be refused."""
    with pytest.raises(WorkbookError) as refused:
        read_workbook(content, "season.xlsx", current=STORED, **KNOWN)
    return [str(problem) for problem in refused.value.problems]
