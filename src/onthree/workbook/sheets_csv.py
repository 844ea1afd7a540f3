"""CSV files (RFC 4180) to plain tables of cells and back, a file for each sheet; what is written reads back the same.

A spreadsheet program may run a text that begins like a formula. It is written with an apostrophe before it, which
reading takes away again; a text that begins with apostrophes before such a sign gets one more, so none is ever lost.
"""

import csv
import io
import re
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Iterator, Mapping, Sequence

from onthree.programme.fields import fields_of
from onthree.programme.records import SHEETS, Record
from onthree.workbook.marks import MOST_COLUMNS, MOST_ROWS, UNEVEN, Marks
from onthree.workbook.problems import CSV, InputError
from onthree.workbook.spreadsheet import SheetTable
from onthree.workbook.values import as_typed, cleaned

MOST_CSV_BYTES = 20_000_000
"""Of all files together; they are not packed, so this is more than a workbook may have."""

_TO_GUARD = re.compile("'*[=+\\-@\uff1d\uff0b\uff0d\uff20]")  # the last four: full width
_GUARDED = re.compile("'" + _TO_GUARD.pattern)
_SEPARATORS = (",", ";")
_QUOTED = re.compile('"[^"]*"?')
_UTF8 = "text in UTF-8"
_SAVE_AGAIN = "save the sheet again as CSV in UTF-8, separated by commas or semicolons"


def refuse_too_much(files: Mapping[str, bytes]) -> None:
    """Raises InputError when the files together are larger than any programme."""
    size = sum(map(len, files.values()))
    if size > MOST_CSV_BYTES:
        raise InputError(f"{size:,} bytes", f"at most {MOST_CSV_BYTES:,} bytes", "send only the programme's own sheets")


def read_csv(title: str, content: bytes) -> SheetTable:
    """The cells of one file, all text, every row as long as the first; rows of another length are marked.

    Row 1 decides between comma and semicolon. Raises InputError for a file that cannot be read.
    """
    text = _decoded(content)
    rows: list[list[str]] = []
    marks = Marks()
    for number, cells in enumerate(_split(text, _separator(text)), start=1):
        if number == 1 and text.strip() and not any(map(cleaned, cells)):
            raise InputError("a blank row 1", "headers in row 1", "delete the rows above them")
        width = len(rows[0]) if rows else len(cells)
        if number > MOST_ROWS or width > MOST_COLUMNS:
            expected = f"at most {MOST_ROWS:,} rows and {MOST_COLUMNS} columns"
            raise InputError("more rows or columns", expected, "send only the programme's own sheets")
        extra = any(cleaned(cell) for cell in cells[width:])
        if extra or (len(cells) < width and any(map(cleaned, cells))):
            marks.add((number, 1), (number, width), f"{len(cells)} cell{'s' * (len(cells) > 1)}", UNEVEN)
        rows.append([_without_guard(cell) for cell in cells[:width]] + [""] * (width - len(cells)))
    if rows:
        marks.fill((len(rows), max(len(rows[0]), 1)))
    return SheetTable(title, rows, marks)


def write_csv_files(records: Iterable[Record]) -> dict[str, bytes]:
    """A CSV file for every sheet, file name to content: UTF-8 with its mark, commas, values as typed."""
    given = tuple(records)
    return {
        f"{title}{CSV}": _written(kind, [record for record in given if type(record) is kind])
        for title, kind in SHEETS.items()
    }


def _written(kind: type[Record], records: Sequence[Record]) -> bytes:
    fields = fields_of(kind)
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(field.header for field in fields)
    for record in records:
        cells = (cleaned(as_typed(field, getattr(record, field.name))) for field in fields)
        writer.writerow(f"'{cell}" if _TO_GUARD.match(cell) else cell for cell in cells)
    return BOM_UTF8 + text.getvalue().encode()


def _without_guard(cell: str) -> str:
    plain = cell.lstrip()
    return plain[1:] if _GUARDED.match(plain) else cell


def _decoded(content: bytes) -> str:
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        raise InputError("text in UTF-16", _UTF8, _SAVE_AGAIN)
    if b"\0" in content:
        raise InputError("a NUL character, as in files that are no text", _UTF8, _SAVE_AGAIN)
    try:
        return content.removeprefix(BOM_UTF8).decode()
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(f"line {line} with a character of another encoding", _UTF8, _SAVE_AGAIN) from None


def _separator(text: str) -> str:
    """The separator that row 1 shows; a comma where it has one cell only. Raises InputError."""
    first = _QUOTED.sub("", (text.lstrip().splitlines() or [""])[0])
    found = [separator for separator in _SEPARATORS if separator in first]
    if len(found) > 1:
        raise InputError("commas and semicolons in row 1", "one of the two as the separator", _SAVE_AGAIN)
    if not found and "\t" in first:
        raise InputError("tabs in row 1", "commas or semicolons as the separator", _SAVE_AGAIN)
    return found[0] if found else ","


def _split(text: str, separator: str) -> Iterator[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 1
    while True:
        try:
            cells = next(reader, None)
        except csv.Error:
            fix = "close every quote, and write a quote inside a quoted text twice"
            raise InputError(f"row {number} with a quote that does not fit", "quotes in pairs", fix) from None
        if cells is None:
            return
        yield cells
        number += 1
