"""Workbooks that LibreOffice 7.4.7.2 saved, as .xlsx and as .ods.

Made by ``sh tests/reference/oracles/libreoffice_workbook.sh``, which calls
``soffice --headless --convert-to`` for each; the inputs are in typed_workbooks.py.
"""

from collections.abc import Iterable
from datetime import date
from pathlib import Path

import pytest

from onthree.programme.programme import programme_of
from onthree.programme.records import SHEETS, Record
from onthree.techniques.library import bundled_library
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_workbook
from tests.invented import clean_records
from tests.reference.typed_workbooks import ATHLETES_READ, EVENTS_READ, RECORDS

SAVED = Path(__file__).with_name("libreoffice")
STORED = programme_of(clean_records(), date(2026, 11, 25))
BOTH_FORMATS = pytest.mark.parametrize("suffix", ["xlsx", "ods"])
KINDS = list(SHEETS.values())


def read(name: str) -> tuple[Record, ...]:
    content = (SAVED / name).read_bytes()
    return read_workbook(content, name, known_techniques=bundled_library().by_id, current=STORED)


def in_order_of_sheets(records: Iterable[Record]) -> tuple[Record, ...]:
    return tuple(sorted(records, key=lambda record: KINDS.index(type(record))))


@BOTH_FORMATS
def test_an_export_saved_by_another_program_reads_back_the_same(suffix: str) -> None:
    back = read(f"records.{suffix}")

    assert back == in_order_of_sheets(RECORDS)


@BOTH_FORMATS
def test_cells_typed_into_another_program(suffix: str) -> None:
    """Numbers, dates and times are what LibreOffice made of plain text; a blank row stands in between."""
    assert read(f"Athletes.{suffix}") == ATHLETES_READ
    assert read(f"Events.{suffix}") == EVENTS_READ


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
