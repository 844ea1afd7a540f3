"""Workbooks that LibreOffice 7.4.7.2 saved, as .xlsx and as .ods.

Made by ``sh tests/reference/oracles/libreoffice_workbook.sh``, which calls
``soffice --headless --convert-to`` for each; the inputs are in typed_workbooks.py.
"""

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from onthree.programme.fields import fields_of
from onthree.programme.programme import programme_of
from onthree.programme.records import SHEETS, Record
from onthree.readiness.rules import RULES
from onthree.techniques.library import bundled_library
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_csv_files, read_workbook
from tests.invented import clean_records
from tests.reference.typed_workbooks import ATHLETES_READ, ATHLETES_TYPED, CSV_TEAMS, EVENTS_READ, EVENTS_TYPED, RECORDS

SAVED = Path(__file__).with_name("libreoffice")
STORED = programme_of(clean_records(), date(2026, 11, 25))
KNOWN: dict[str, Any] = {"known_techniques": bundled_library().by_id, "known_rules": [rule.id for rule in RULES]}
BOTH_FORMATS = pytest.mark.parametrize("suffix", ["xlsx", "ods"])
KINDS = list(SHEETS.values())


def read(name: str) -> tuple[Record, ...]:
    content = (SAVED / name).read_bytes()
    return read_workbook(content, name, current=STORED, **KNOWN)


def in_order_of_sheets(records: Iterable[Record]) -> tuple[Record, ...]:
    return tuple(sorted(records, key=lambda record: KINDS.index(type(record))))


@BOTH_FORMATS
def test_an_export_saved_by_another_program_reads_back_the_same(suffix: str) -> None:
    back = read(f"records.{suffix}")

    assert back == in_order_of_sheets(RECORDS)


@BOTH_FORMATS
def test_cells_typed_into_another_program(suffix: str) -> None:
    """Numbers, dates and times are what LibreOffice made of plain text; a blank row stands in between."""
    assert columns_of(read(f"Athletes.{suffix}"), ATHLETES_TYPED) == columns_of(ATHLETES_READ, ATHLETES_TYPED)
    assert columns_of(read(f"Events.{suffix}"), EVENTS_TYPED) == columns_of(EVENTS_READ, EVENTS_TYPED)


def columns_of(records: Iterable[Record], typed: str) -> list[list[Any]]:
    """The values of the columns that were typed; the others keep what is stored."""
    headers = [header.partition(" (")[0] for header in typed.splitlines()[0].split(",")]
    return [[getattr(one, field.name) for field in fields_of(type(one)) if field.header in headers] for one in records]


def test_our_csv_file_saved_by_another_program_reads_back_the_same() -> None:
    """Texts that begin like formulas are none to that program, and are given back as they were."""
    files = {"Teams.csv": (SAVED / "Teams.csv").read_bytes()}

    assert b"#NAME?" not in files["Teams.csv"]
    assert read_csv_files(files, "Teams.csv", current=STORED, **KNOWN) == CSV_TEAMS


@pytest.mark.parametrize("separator", ["44", "59"])
def test_sheets_that_another_program_saved_as_csv(separator: str) -> None:
    files = {path.name: path.read_bytes() for path in (SAVED / f"csv_{separator}").glob("*.csv")}

    assert {title for title, kind in SHEETS.items() if kind in map(type, RECORDS)} <= {
        Path(name).stem for name in files
    }
    assert read_csv_files(files, "csv", current=STORED, **KNOWN) == in_order_of_sheets(RECORDS)


@BOTH_FORMATS
def test_formulas_with_stored_results_errors_and_merged_cells_are_refused(suffix: str) -> None:
    with pytest.raises(WorkbookError) as refused:
        read(f"faults.{suffix}")
    found = [(problem.row, problem.column, problem.expected) for problem in refused.value.problems]

    assert found == [
        (3, "column B", "a typed value, not a formula"),
        (4, "column B", "a typed value, not a formula"),
        (5, "column B", "a typed value, not a formula"),
        (7, "column B", "cells that are not merged"),
        (12, "column B", "a typed value, not a formula"),
    ]
