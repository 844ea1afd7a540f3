"""What is wrong with a workbook: every problem with its place, what was given, what was expected and what to do."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, replace

from onthree.programme.records import SHEETS

TITLES = "sheet titles"
CSV = ".csv"

_LONGEST_SHOWN = 60
_SHEET_ORDER = {title: place for place, title in enumerate(SHEETS)}


class InputError(ValueError):
    """One thing that cannot be taken, before its place in the workbook is known."""

    def __init__(self, given: str, expected: str, fix: str) -> None:
        super().__init__(f"{_quoted(given)} given, {expected} expected: {fix}")
        self.given, self.expected, self.fix = given, expected, fix


@dataclass(frozen=True)
class Problem:
    """One problem. ``sheet`` is empty for the file as a whole, ``row`` is None for a whole sheet or column."""

    sheet: str
    row: int | None
    column: str
    given: str
    expected: str
    fix: str

    def __str__(self) -> str:
        given = _quoted(self.given) if self.sheet or self.column else self.given
        return f"{self.place}: {given} given, {self.expected} expected: {self.fix}"

    def in_csv_file(self) -> "Problem":
        """The same problem where each sheet is a file of its own: ``Athletes.csv, row 5, Body mass``."""
        column = "file names" if self.column == TITLES and not self.sheet else self.column
        return replace(self, sheet=self.sheet and f"{self.sheet}{CSV}", column=column)

    @property
    def place(self) -> str:
        """Where it is, as words: ``Athletes, row 5, Body mass``."""
        row = "" if self.row is None else f"row {self.row}"
        return ", ".join(part for part in (self.sheet, row, self.column) if part) or "the file"


class WorkbookError(ValueError):
    """A workbook that cannot be used; carries every problem found, in the order of sheets and rows."""

    def __init__(self, name: str, problems: Iterable[Problem]) -> None:
        self.name = name
        self.problems = tuple(sorted(problems, key=_reading_order))
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        super().__init__("\n".join([f"{name}: {count}, nothing was imported", *map(str, self.problems)]))


def problem_at(error: InputError, sheet: str = "", row: int | None = None, column: str = "") -> Problem:
    """An input error with its place."""
    return Problem(sheet, row, column, error.given, error.expected, error.fix)


def nearest(given: str, known: Iterable[str]) -> str:
    """The known word that looks most like the one given, or an empty string when none does."""
    by_spelling = {word.casefold(): word for word in known}
    found = difflib.get_close_matches(given.casefold(), by_spelling, n=1)
    return by_spelling[found[0]] if found else ""


def did_you_mean(given: str, known: Iterable[str], otherwise: str) -> str:
    """What to do about an unknown word: take the nearest known one, else what ``otherwise`` says."""
    found = nearest(given, known)
    return f"did you mean {found!r}?" if found else otherwise


def _reading_order(problem: Problem) -> tuple[int, int]:
    return _SHEET_ORDER.get(problem.sheet.removesuffix(CSV), -1), problem.row or 0


def _quoted(given: str) -> str:
    if not given:
        return "nothing"
    return repr(given if len(given) <= _LONGEST_SHOWN else f"{given[: _LONGEST_SHOWN - 1]}…")
