"""A workbook's bytes to the records of a programme: everything in it is right, or nothing is taken."""

from collections.abc import Collection, Iterable, Mapping
from pathlib import PurePath

from onthree.programme.programme import Programme
from onthree.programme.records import SHEETS, Record
from onthree.workbook.checks import check_rows
from onthree.workbook.contradictions import contradictions
from onthree.workbook.marks import refuse_swelling
from onthree.workbook.problems import TITLES, InputError, Problem, WorkbookError, did_you_mean, nearest, problem_at
from onthree.workbook.rows import Row, read_rows
from onthree.workbook.run_checks import check_runs
from onthree.workbook.sheets_csv import read_csv, refuse_too_much
from onthree.workbook.spreadsheet import SheetTable, read_tables
from onthree.workbook.values import cleaned

GUIDE = "Guide"

_TITLES = {title.casefold(): title for title in (*SHEETS, GUIDE)}


def read_workbook(
    content: bytes,
    name: str,
    *,
    known_techniques: Collection[str],
    known_rules: Collection[str] | None = None,
    current: Programme | None = None,
) -> tuple[Record, ...]:
    """The records of an .xlsx or .ods workbook, sheet by sheet and row by row.

    ``name`` is the file's name in messages. ``current`` is what is stored already: the workbook may refer to it, and a
    column that the workbook does not have keeps its stored values. Identifiers of rules are not judged where
    ``known_rules`` is None, nor roles in runs where ``known_techniques`` is no mapping to the techniques. Raises
    WorkbookError with every problem found.
    """
    try:
        tables = read_tables(content)
        records, problems = _read(tables, (), known_techniques, known_rules, current)
    except InputError as error:
        records, problems = (), [problem_at(error)]
    if problems:
        raise WorkbookError(name, problems)
    return records


def read_csv_files(
    files: Mapping[str, bytes],
    name: str,
    *,
    known_techniques: Collection[str],
    known_rules: Collection[str] | None = None,
    current: Programme | None = None,
) -> tuple[Record, ...]:
    """The same from CSV files, file name (``Athletes.csv``) to content, each named after its sheet."""
    try:
        tables, unreadable = _csv_tables(files)
        records, problems = _read(tables, unreadable, known_techniques, known_rules, current)
    except InputError as error:
        records, problems = (), [problem_at(error)]
    if problems:
        raise WorkbookError(name, [problem.in_csv_file() for problem in problems])
    return records


def _csv_tables(files: Mapping[str, bytes]) -> tuple[list[SheetTable], list[Problem]]:
    """The tables of the files that can be read, and what is wrong with the others; the guide is left out."""
    refuse_too_much(files)
    tables: list[SheetTable] = []
    unreadable: list[Problem] = []
    for file, content in files.items():
        stem = PurePath(file).stem
        title = _TITLES.get(cleaned(stem).casefold(), stem)
        try:
            tables += [] if title == GUIDE else [read_csv(stem, content)]
        except InputError as error:
            unreadable.append(problem_at(error, title))
    refuse_swelling([table.marks for table in tables])
    return tables, unreadable


def _read(
    tables: Iterable[SheetTable],
    unreadable: Collection[Problem],
    known_techniques: Collection[str],
    known_rules: Collection[str] | None,
    current: Programme | None,
) -> tuple[tuple[Record, ...], list[Problem]]:
    """The records of these tables, none where there is any problem; and every problem, the unreadable files' too."""
    sheets, problems, unsure = _sheets(tables)
    problems += unreadable
    unsure |= {SHEETS[problem.sheet].__name__ for problem in unreadable if problem.sheet in SHEETS}
    rows: list[Row] = []
    for title, table in sheets.items():
        kind = SHEETS[title]
        sheet_rows, sheet_problems = read_rows(title, kind, table, current.table(kind) if current else {})
        rows += sheet_rows
        problems += sheet_problems
        if any(not row.code for row in sheet_rows) or (sheet_problems and not sheet_rows):
            unsure.add(kind.__name__)
    problems += check_rows(rows, unsure, known_techniques, known_rules, current)
    problems += contradictions(rows, current)
    problems += check_runs(rows, known_techniques, current)
    return () if problems else tuple(row.kind(**row.values) for row in rows), problems


def _sheets(tables: Iterable[SheetTable]) -> tuple[dict[str, SheetTable], list[Problem], set[str]]:
    """The programme's sheets in their order, problems with titles, and kinds that an unknown sheet may have held."""
    found: dict[str, SheetTable] = {}
    problems: list[Problem] = []
    unsure: set[str] = set()
    for table in tables:
        title = _TITLES.get(cleaned(table.title).casefold())
        if title is None:
            fix = did_you_mean(table.title, _TITLES.values(), f"known are {', '.join(_TITLES.values())}")
            problems.append(Problem("", None, TITLES, table.title, "a sheet of the programme", fix))
            unsure |= {SHEETS[near].__name__ for near in [nearest(table.title, SHEETS)] if near}
        elif title in found:
            problems.append(Problem(title, None, "", table.title, "one sheet of this title", "remove one of the two"))
        else:
            found[title] = table
    return {title: found[title] for title in SHEETS if title in found}, problems, unsure
