"""What the spreadsheet reader does not tell: formulas, error values, merged cells, and how far a sheet reaches.

Reads the sheets' XML as a stream (expat) and refuses what could swell when it is read: a document type with entities,
cells far outside any table, more cells than a programme has, and long texts in many cells.
"""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any
from xml.parsers import expat

from onthree.workbook.problems import InputError

FORMULA = "a typed value, not a formula"
ERROR = "a value, not an error"
MERGED = "cells that are not merged"
UNEVEN = "as many cells as row 1 has"
FIXES = {
    FORMULA: "copy the cell and paste its value; a formula's stored result can be out of date",
    ERROR: "type the value",
    MERGED: "unmerge the cells and fill each one in",
    UNEVEN: "put quotes around a text that holds a separator, and a separator before each blank cell",
}

MOST_ROWS = 50_000
MOST_COLUMNS = 100
MOST_CELLS = 2_000_000
MOST_CHARACTERS = 300_000_000

Place = tuple[int, int]
"""Row and column of a cell, both counted from 1."""

_REFERENCE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7})")


@dataclass(frozen=True)
class Mark:
    """Why cells cannot be taken; it is told once, at the first of them."""

    first: Place
    given: str
    expected: str


@dataclass
class Marks:
    """The cells of one sheet that cannot be taken, how far the sheet reaches, and how much text it holds."""

    cells: dict[Place, Mark] = field(default_factory=dict)
    rows: int = 0
    columns: int = 0
    filled: int = 0
    characters: int = 0

    def add(self, first: Place, last: Place, given: str, expected: str) -> None:
        """Mark every cell from the first to the last place, within the rows and columns a sheet may have."""
        rows = range(first[0], min(last[0], MOST_ROWS) + 1)
        columns = range(first[1], min(last[1], MOST_COLUMNS) + 1)
        if len(self.cells) + len(rows) * len(columns) > MOST_CELLS:
            raise too_many_cells()
        mark = Mark(first, given, expected)
        for row in rows:
            for column in columns:
                self.cells.setdefault((row, column), mark)

    def fill(self, last: Place, cells: int = 1, characters: int = 0) -> None:
        """Count filled cells that reach to a place. Raises InputError for a place outside any table."""
        if not (0 < last[0] <= MOST_ROWS and 0 < last[1] <= MOST_COLUMNS):
            expected = f"at most {MOST_ROWS:,} rows and {MOST_COLUMNS} columns"
            raise InputError(f"something in cell {reference_of(last)}", expected, "clear that cell")
        self.rows, self.columns = max(self.rows, last[0]), max(self.columns, last[1])
        self.filled += cells
        self.characters += characters


def refuse_swelling(sheets: Collection[Marks], longest_shared: int = 0) -> None:
    """Raises InputError when the sheets together would swell; any cell may repeat the longest shared text."""
    if sum(sheet.rows * sheet.columns for sheet in sheets) > MOST_CELLS:
        raise too_many_cells()
    characters = sum(max(sheet.characters, sheet.filled * longest_shared) for sheet in sheets)
    if characters > MOST_CHARACTERS:
        expected = f"at most {MOST_CHARACTERS:,}"
        raise InputError(f"room for {characters:,} characters of text", expected, "shorten the longest texts")


def too_many_cells() -> InputError:
    """The error of a workbook with more cells than any programme has."""
    return InputError("more cells", f"at most {MOST_CELLS:,}", "send only the programme's own sheets")


def place_of(reference: str) -> Place:
    """Row and column of a cell reference such as ``C12``. Raises InputError."""
    match = _REFERENCE.fullmatch(reference)
    if not match:
        raise InputError(reference, "a cell reference such as C12", "the file is damaged: save it again")
    column = 0
    for letter in match[1]:
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(match[2]), column


def reference_of(place: Place) -> str:
    """A cell reference such as ``C12``."""
    letters, column = "", place[1]
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{place[0]}"


def read_xml(content: bytes, handler: "XmlHandler") -> None:
    """Feed XML to a handler; names come without prefix. Raises InputError when damaged or with a document type."""
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse_document_type
    parser.StartElementHandler = lambda name, attributes: handler.start(name.rpartition(":")[2], attributes)
    parser.EndElementHandler = lambda name: handler.end(name.rpartition(":")[2])
    parser.CharacterDataHandler = handler.text
    try:
        parser.Parse(content, True)
    except InputError:
        raise
    except (expat.ExpatError, ValueError, LookupError) as error:
        raise InputError(f"broken XML ({error})", "an undamaged workbook", "open it and save it again") from None


def _refuse_document_type(*_: Any) -> None:
    raise InputError("XML with a document type", "a plain workbook", "open it and save it again")


class XmlHandler:
    """Takes the elements of an XML document one by one."""

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        """An element begins."""

    def end(self, name: str) -> None:
        """An element ends."""

    def text(self, text: str) -> None:
        """Text inside an element."""


class ElementList(XmlHandler):
    """Collects the attributes, by name without prefix, of every element with one name."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.found: list[dict[str, str]] = []

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == self.name:
            self.found.append({key.rpartition(":")[2]: value for key, value in attributes.items()})


class LongestText(XmlHandler):
    """Finds the length of the longest shared text (``si``)."""

    def __init__(self) -> None:
        self.length = self.longest = 0

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "si":
            self.length = 0

    def text(self, text: str) -> None:
        self.length += len(text)
        self.longest = max(self.longest, self.length)


class XlsxSheet(XmlHandler):
    """Marks of one worksheet (ISO/IEC 29500-1, 18.3.1: elements row, c, f, v, is, mergeCell)."""

    def __init__(self, marks: Marks) -> None:
        self.marks = marks
        self.row = self.column = 0
        self.is_error = False
        self.array = ""
        self.parts: list[str] | None = None

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "c":
            self._start_cell(attributes)
        elif name == "row":
            self.row, self.column = int(attributes.get("r", self.row + 1)), 0
        elif name in ("v", "is"):
            self.marks.fill((self.row, self.column))
            self.parts = [] if self.is_error else None
        elif name == "f":
            self.parts = []
            self.array = attributes.get("ref", "") if attributes.get("t") in ("array", "dataTable") else ""
        elif name == "mergeCell":
            first, _, last = attributes.get("ref", "").partition(":")
            self.marks.add(place_of(first), place_of(last or first), f"{first}:{last}", MERGED)

    def _start_cell(self, attributes: Mapping[str, str]) -> None:
        if "r" in attributes:
            self.row, self.column = place_of(attributes["r"])
        else:
            self.column += 1
        self.is_error = attributes.get("t") == "e"

    def text(self, text: str) -> None:
        if self.parts is not None:
            self.parts.append(text)

    def end(self, name: str) -> None:
        if self.parts is None or name not in ("f", "v", "is"):
            return
        given, self.parts = "".join(self.parts), None
        here = (self.row, self.column)
        if name == "f":
            first, _, last = self.array.partition(":")
            area = (place_of(first), place_of(last or first)) if first else (here, here)
            self.marks.add(*area, f"={given}", FORMULA)
        else:
            self.marks.add(here, here, given, ERROR)


class OdsSheets(XmlHandler):
    """Marks of every table of an OpenDocument spreadsheet (OpenDocument 1.3 part 3, 9.1: table-row, table-cell)."""

    def __init__(self, marks: Mapping[str, Marks]) -> None:
        self.wanted = marks
        self.marks = Marks()
        self.is_in_table = self.is_in_note = False
        self.row = self.column = 0
        self.rows = self.columns = 1
        self.cell: Mapping[str, str] = {}
        self.parts: list[str] = []

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "table":
            self._start_table(attributes.get("table:name", ""))
        elif name == "table-row":
            self.row, self.column = self.row + self.rows, 0
            self.rows, self.columns = _count(attributes, "table:number-rows-repeated"), 1
        elif name in ("table-cell", "covered-table-cell"):
            self.column += self.columns
            self.columns = _count(attributes, "table:number-columns-repeated")
            self.cell, self.parts = attributes, []
        elif name == "annotation":
            self.is_in_note = True

    def _start_table(self, title: str) -> None:
        if self.is_in_table:
            raise InputError("a table inside a table", "a plain workbook", "open it and save it again")
        self.is_in_table, self.marks = True, self.wanted.get(title, Marks())
        self.row, self.rows = 0, 1

    def text(self, text: str) -> None:
        if self.is_in_table and not self.is_in_note:
            self.parts.append(text)

    def end(self, name: str) -> None:
        if name == "table":
            self.is_in_table = False
        elif name == "annotation":
            self.is_in_note = False
        elif name in ("table-cell", "covered-table-cell"):
            self._end_cell("".join(self.parts))

    def _end_cell(self, shown: str) -> None:
        cell, here = self.cell, (self.row, self.column)
        formula = cell.get("table:formula")
        if formula is not None:
            self.marks.add(here, self._reach("table:number-matrix"), formula.partition(":")[2] or formula, FORMULA)
        if cell.get("calcext:value-type") == "error":
            self.marks.add(here, self._reach(""), shown, ERROR)
        last = self._reach("table:number")
        if any(_count(cell, f"table:number-{way}-spanned") > 1 for way in ("rows", "columns")):
            self.marks.add(here, last, f"{reference_of(here)}:{reference_of(last)}", MERGED)
        if "office:value-type" in cell or shown:
            reach = (self.row + self.rows - 1, self.column + self.columns - 1)
            self.marks.fill(reach, self.rows * self.columns, self.rows * self.columns * len(shown))

    def _reach(self, spanned: str) -> Place:
        rows = max(self.rows, _count(self.cell, f"{spanned}-rows-spanned"))
        columns = max(self.columns, _count(self.cell, f"{spanned}-columns-spanned"))
        return self.row + rows - 1, self.column + columns - 1


def _count(attributes: Mapping[str, str], name: str) -> int:
    count = int(attributes.get(name, 1))
    if count < 1:
        raise ValueError(f"{name} is {count}")
    return count
