"""A workbook's bytes to the records of a programme: everything in it is right, or nothing is taken."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from onthree.programme.fields import fields_of
from onthree.programme.programme import Programme
from onthree.programme.records import SHEETS, Record
from onthree.workbook.checks import check_rows
from onthree.workbook.problems import InputError, Problem, WorkbookError, did_you_mean, nearest, problem_at
from onthree.workbook.rows import Row, read_rows
from onthree.workbook.spreadsheet import SheetTable, read_tables
from onthree.workbook.values import blank, cleaned

GUIDE = "Guide"

_TITLES = {title.casefold(): title for title in (*SHEETS, GUIDE)}


def read_workbook(
    content: bytes, name: str, *, known_techniques: Collection[str], current: Programme | None = None
) -> tuple[Record, ...]:
    """The records of an .xlsx or .ods workbook, sheet by sheet and row by row.

    ``name`` is the file's name in messages. ``current`` is what is stored already: the workbook may refer to it, and a
    column that the workbook does not have keeps its stored values. Raises WorkbookError with every problem found.
    """
    try:
        tables = read_tables(content)
    except InputError as error:
        raise WorkbookError(name, [problem_at(error)]) from None
    sheets, problems, unsure = _sheets(tables)
    rows: list[Row] = []
    for title, table in sheets.items():
        kind = SHEETS[title]
        sheet_rows, sheet_problems = read_rows(title, kind, table)
        rows += sheet_rows
        problems += sheet_problems
        if any(not row.code for row in sheet_rows) or (sheet_problems and not sheet_rows):
            unsure.add(kind.__name__)
    problems += check_rows(rows, unsure, known_techniques, current)
    if problems:
        raise WorkbookError(name, problems)
    return tuple(_records(rows, current))


def _sheets(tables: Iterable[SheetTable]) -> tuple[dict[str, SheetTable], list[Problem], set[str]]:
    """The programme's sheets in their order, problems with titles, and kinds that an unknown sheet may have held."""
    found: dict[str, SheetTable] = {}
    problems: list[Problem] = []
    unsure: set[str] = set()
    for table in tables:
        title = _TITLES.get(cleaned(table.title).casefold())
        if title is None:
            fix = did_you_mean(table.title, _TITLES.values(), f"known are {', '.join(_TITLES.values())}")
            problems.append(Problem("", None, "sheet titles", table.title, "a sheet of the programme", fix))
            unsure |= {SHEETS[near].__name__ for near in [nearest(table.title, SHEETS)] if near}
        elif title in found:
            problems.append(Problem(title, None, "", table.title, "one sheet of this title", "remove one of the two"))
        else:
            found[title] = table
    return {title: found[title] for title in SHEETS if title in found}, problems, unsure


def _records(rows: Sequence[Row], current: Programme | None) -> Iterator[Record]:
    for row in rows:
        stored = current.table(row.kind).get(row.code) if current else None
        values: dict[str, Any] = {
            field.name: row.values.get(field.name, blank(field) if stored is None else getattr(stored, field.name))
            for field in fields_of(row.kind)
        }
        yield row.kind(**values)
