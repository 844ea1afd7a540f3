"""Workbooks for tests, typed cell by cell as a person or another program would, and archives taken apart."""

import io
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from openpyxl import Workbook

from onthree.programme.programme import Programme
from onthree.programme.records import Record
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_workbook

Sheets = Mapping[str, Sequence[Sequence[Any]]]

TECHNIQUES = ("device_out_on_cot", "centring")
TEAMS = (("Code", "Name"), ("T-1", "Herons"))


def workbook_of(sheets: Sheets) -> bytes:
    """An .xlsx workbook with these cells, from A1 on; None is a blank cell."""
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for title, rows in sheets.items():
        sheet = workbook.create_sheet(title)
        for row, cells in enumerate(rows, start=1):
            for column, value in enumerate(cells, start=1):
                sheet.cell(row, column, value)
    return saved(workbook)


def saved(workbook: Workbook) -> bytes:
    """The bytes of a workbook."""
    content = io.BytesIO()
    workbook.save(content)
    return content.getvalue()


def athletes(*rows: Sequence[Any], header: str = "Body mass") -> bytes:
    """A workbook of one team and athletes, each of these rows being (code, team, number, body mass)."""
    return workbook_of({"Teams": TEAMS, "Athletes": [("Code", "Team", "Number", header), *rows]})


def read(content: bytes, current: Programme | None = None) -> tuple[Record, ...]:
    """The records of a workbook called season.xlsx."""
    return read_workbook(content, "season.xlsx", known_techniques=TECHNIQUES, current=current)


def problems_of(content: bytes, current: Programme | None = None) -> list[str]:
    """Every problem of a workbook that must be refused."""
    with pytest.raises(WorkbookError) as refused:
        read(content, current)
    return [str(problem) for problem in refused.value.problems]


def members_of(content: bytes) -> dict[str, bytes]:
    """The files inside a workbook."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def archive_of(members: Mapping[str, bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip archive with these files."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", compression) as archive:
        for name, member in members.items():
            archive.writestr(name, member)
    return content.getvalue()
