"""One sheet's cells to rows of values: columns by their headers, every cell by its field's description."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.records import Record
from onthree.units import LENGTH_UNITS, MASS_UNITS
from onthree.workbook.marks import FIXES, Marks
from onthree.workbook.problems import InputError, Problem, did_you_mean, problem_at
from onthree.workbook.spreadsheet import SheetTable
from onthree.workbook.values import Cell, blank, cleaned, read_value, shown_cell

_UNITS = {Kind.MASS: MASS_UNITS, Kind.LENGTH: LENGTH_UNITS}
_HEADER_WITH_UNIT = re.compile(r"(.+?)\s*\(\s*([^()]+?)\s*\)")


@dataclass(frozen=True)
class Row:
    """One row: values by field name, of cells that could be read and, for columns left out, of the stored record.

    ``number`` is 0 for a record that is stored and not in the workbook.
    """

    sheet: str
    number: int
    kind: type[Record]
    values: Mapping[str, Any]

    @property
    def code(self) -> str:
        """The row's code, empty when it could not be read."""
        return self.values.get("code") or ""

    def problem(self, field: str, given: str, expected: str, fix: str) -> Problem:
        """A problem with one field of this row."""
        header = next(described.header for described in fields_of(self.kind) if described.name == field)
        return Problem(self.sheet, self.number, header, given, expected, fix)


@dataclass(frozen=True)
class Column:
    """A column of a sheet: its place from 0, its field, and the unit that its header states."""

    place: int
    field: FieldDescription
    unit: str = ""


def read_rows(
    title: str, kind: type[Record], table: SheetTable, stored: Mapping[str, Record]
) -> tuple[list[Row], list[Problem]]:
    """The rows of one sheet, with the problems of its headers and cells; blank rows are left out.

    A column that the sheet does not have keeps the values of the ``stored`` records, by code.
    """
    problems = list(_marked(title, kind, table.marks))
    rows: list[Row] = []
    filled = [(number, cells) for number, cells in enumerate(table.rows, start=1) if any(map(_is_filled, cells))]
    if not filled:
        return rows, problems
    headers = table.rows[0] if table.rows else []
    columns, header_problems = _columns(title, kind, headers, table.marks)
    if not columns:
        return rows, [*problems, _without_headers(title, kind, filled)]
    problems += header_problems
    is_sure = not header_problems and not any(row == 1 for row, _ in table.marks.cells)
    left_out = _left_out(kind, columns) if is_sure else []  # else one of them may stand under a misspelt header
    problems += _cells_without_header(title, headers, filled, table.marks)
    for number, cells in filled:
        if number > 1:
            values, cell_problems = _values(title, number, cells, columns, table.marks)
            kept = stored.get(values.get("code", ""))
            values |= {field.name: blank(field) if kept is None else getattr(kept, field.name) for field in left_out}
            rows.append(Row(title, number, kind, values))
            problems += cell_problems
    return rows, problems


def _left_out(kind: type[Record], columns: Sequence[Column]) -> list[FieldDescription]:
    there = {column.field.name for column in columns}
    return [field for field in fields_of(kind) if field.name not in there]


def _is_filled(cell: Cell) -> bool:
    return bool(cleaned(cell)) if isinstance(cell, str) else True


def _marked(title: str, kind: type[Record], marks: Marks) -> Iterator[Problem]:
    for place, mark in sorted(marks.cells.items()):
        if place == mark.first:
            column = f"column {_letters(place[1] - 1)}"
            yield Problem(title, place[0], column, mark.given, mark.expected, FIXES[mark.expected])


def _columns(
    title: str, kind: type[Record], headers: Sequence[Cell], marks: Marks
) -> tuple[list[Column], list[Problem]]:
    columns: dict[str, Column] = {}
    problems: list[Problem] = []
    for place, cell in enumerate(headers):
        if not _is_filled(cell) or (1, place + 1) in marks.cells:
            continue
        try:
            column = _column(place, cleaned(shown_cell(cell)), fields_of(kind))
            if (first := columns.setdefault(column.field.name, column)) is not column:
                fix = f"columns {_letters(first.place)} and {_letters(place)} have this header: remove one"
                raise InputError(shown_cell(cell), "each header once", fix)
        except InputError as error:
            problems.append(problem_at(error, title, 1, f"column {_letters(place)}"))
    missing = [field for field in fields_of(kind) if field.is_required and field.name not in columns]
    problems += [Problem(title, 1, field.header, "", "a column with this header", "add it") for field in missing]
    return list(columns.values()), problems


def _without_headers(title: str, kind: type[Record], filled: Sequence[tuple[int, Sequence[Cell]]]) -> Problem:
    """The one problem of a sheet whose first row has no known header; says in which row the headers seem to be."""
    known = {field.header.casefold() for field in fields_of(kind)}
    texts = {number: [cleaned(shown_cell(cell)) for cell in cells if _is_filled(cell)] for number, cells in filled}
    for number, row in texts.items():
        if len(known & {text.casefold() for text in row}) > 1:
            return Problem(title, number, "", ", ".join(row), "headers in row 1", "delete the rows above them")
    wanted = ", ".join(field.header for field in fields_of(kind))
    given = ", ".join(texts[filled[0][0]])
    return Problem(title, 1, "", given, "the headers of this sheet", f"write them in row 1: {wanted}")


def _column(place: int, header: str, fields: Sequence[FieldDescription]) -> Column:
    by_header = {field.header.casefold(): field for field in fields}
    if found := by_header.get(header.casefold()):
        return Column(place, found)
    match = _HEADER_WITH_UNIT.fullmatch(header)
    if match and (found := by_header.get(match[1].casefold())) and found.kind in _UNITS:
        unit = match[2].casefold()
        if unit not in _UNITS[found.kind]:
            allowed = ", ".join(_UNITS[found.kind])
            raise InputError(header, f"a header with one of these units: {allowed}", f"write {found.header} (unit)")
        return Column(place, found, unit)
    known = [field.header for field in fields]
    raise InputError(header, "a header of this sheet", did_you_mean(header, known, f"known are {', '.join(known)}"))


def _cells_without_header(
    title: str, headers: Sequence[Cell], filled: Sequence[tuple[int, Sequence[Cell]]], marks: Marks
) -> Iterator[Problem]:
    for place in range(len(headers)):
        if _is_filled(headers[place]) or (1, place + 1) in marks.cells:
            continue
        for number, cells in filled:
            if _is_filled(cells[place]) and (number, place + 1) not in marks.cells:
                fix = f"row 1 of column {_letters(place)} is blank: write a header there or clear the column"
                yield Problem(
                    title, number, f"column {_letters(place)}", shown_cell(cells[place]), "a header above it", fix
                )
                break


def _values(
    title: str, number: int, cells: Sequence[Cell], columns: Sequence[Column], marks: Marks
) -> tuple[dict[str, Any], list[Problem]]:
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for column in columns:
        if (number, column.place + 1) in marks.cells:
            continue
        try:
            values[column.field.name] = read_value(column.field, cells[column.place], column.unit)
        except InputError as error:
            problems.append(problem_at(error, title, number, column.field.header))
    return values, problems


def _letters(place: int) -> str:
    first, second = divmod(place, 26)
    return f"{chr(ord('A') + first - 1) if first else ''}{chr(ord('A') + second)}"
