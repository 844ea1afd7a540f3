"""The bytes of an .xlsx or .ods workbook to plain tables of cells, without trusting the file.

Every member is unpacked under a limit and packed again without compression; the spreadsheet reader sees only members
that were checked, so a file cannot show one thing to the checks and another to the reader.
"""

import io
import posixpath
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from python_calamine import CalamineError, CalamineWorkbook

from onthree.workbook.marks import (
    ElementList,
    LongestText,
    Marks,
    OdsSheets,
    XlsxSheet,
    read_xml,
    refuse_swelling,
)
from onthree.workbook.problems import InputError
from onthree.workbook.values import Cell

MOST_BYTES = 5_000_000
MOST_UNPACKED_BYTES = 60_000_000
MOST_TIMES_LARGER = 200
MOST_MEMBERS = 1_000

_OLD_FORMAT = bytes.fromhex("d0cf11e0a1b11ae1")  # compound file: .xls, and any workbook with a password
_A_WORKBOOK = "a workbook saved as .xlsx or .ods"
_SAVE_AGAIN = "open it in a spreadsheet program and save it again as .xlsx or .ods"
_XLSX_INDEX = "xl/workbook.xml"
_XLSX_TARGETS = "xl/_rels/workbook.xml.rels"
_XLSX_TEXTS = "xl/sharedStrings.xml"
_XLSX_PARTS = ("[Content_Types].xml", "_rels/.rels", _XLSX_INDEX, _XLSX_TARGETS, "xl/styles.xml", _XLSX_TEXTS)
_ODS_CONTENT = "content.xml"
_ODS_LIST = "META-INF/manifest.xml"
_ODS_PARTS = ("mimetype", _ODS_LIST, _ODS_CONTENT)

Members = Mapping[str, bytes]


@dataclass(frozen=True)
class SheetTable:
    """One sheet: its title, its rows of cells from A1 on, and the cells that cannot be taken."""

    title: str
    rows: Sequence[Sequence[Cell]]
    marks: Marks = field(default_factory=Marks)


def read_tables(content: bytes) -> tuple[SheetTable, ...]:
    """The sheets of a workbook in their order. Raises InputError for a file that cannot be read."""
    members = _unpacked(content)
    if _XLSX_INDEX in members:
        marks, parts = _xlsx_marks(members)
    elif _ODS_CONTENT in members:
        marks, parts = _ods_marks(members)
    else:
        raise InputError("another kind of file", _A_WORKBOOK, _SAVE_AGAIN)
    return _tables(_packed(parts), marks)


def _unpacked(content: bytes) -> Members:
    if len(content) > MOST_BYTES:
        fix = "send only the programme's sheets, without pictures"
        raise InputError(f"{len(content):,} bytes", f"at most {MOST_BYTES:,} bytes", fix)
    if content.startswith(_OLD_FORMAT):
        raise InputError("an .xls workbook or one with a password", _A_WORKBOOK, f"{_SAVE_AGAIN}, without a password")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            _refuse_bomb(archive.infolist(), len(content))
            return {member.filename: archive.read(member) for member in archive.infolist() if not member.is_dir()}
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError("a damaged file, or one of another kind", _A_WORKBOOK, _SAVE_AGAIN) from None


def _refuse_bomb(listed: Sequence[zipfile.ZipInfo], packed_bytes: int) -> None:
    if len(listed) > MOST_MEMBERS or len({member.filename for member in listed}) < len(listed):
        raise InputError(f"{len(listed):,} files inside", f"at most {MOST_MEMBERS:,}, each once", _SAVE_AGAIN)
    # Reading stops at the size that is listed here, so a directory that lies gives a damaged file, never a larger one.
    unpacked_bytes = sum(member.file_size for member in listed)
    most_bytes = min(MOST_UNPACKED_BYTES, MOST_TIMES_LARGER * packed_bytes)
    if unpacked_bytes > most_bytes:
        raise InputError(f"{unpacked_bytes:,} bytes when unpacked", f"at most {most_bytes:,}", _SAVE_AGAIN)
    if any(member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for member in listed):
        raise InputError("an unusual kind of compression", _A_WORKBOOK, _SAVE_AGAIN)


def _xlsx_marks(members: Members) -> tuple[dict[str, Marks], Members]:
    paths = _xlsx_sheet_paths(members)
    marks = {title: Marks() for title in paths}
    shared = LongestText()
    if _XLSX_TEXTS in members:
        read_xml(members[_XLSX_TEXTS], shared)
    for title, path in paths.items():
        read_xml(members[path], XlsxSheet(marks[title]))
    refuse_swelling(marks.values(), shared.longest)
    kept = {*_XLSX_PARTS, *paths.values()}
    return marks, {name: content for name, content in members.items() if name in kept}


def _xlsx_sheet_paths(members: Members) -> dict[str, str]:
    sheets, targets = ElementList("sheet"), ElementList("Relationship")
    read_xml(members[_XLSX_INDEX], sheets)
    read_xml(members.get(_XLSX_TARGETS, b""), targets)
    path_of = {target.get("Id", ""): _path(target.get("Target", "")) for target in targets.found}
    paths = {sheet.get("name", ""): path_of.get(sheet.get("id", ""), "") for sheet in sheets.found}
    for title, path in paths.items():
        if path not in members:
            raise InputError(f"sheet {title!r} without its contents", "an undamaged workbook", _SAVE_AGAIN)
    return paths


def _path(target: str) -> str:
    return posixpath.normpath(target.lstrip("/") if target.startswith("/") else f"xl/{target}")


def _ods_marks(members: Members) -> tuple[dict[str, Marks], Members]:
    if b"encryption-data" in members.get(_ODS_LIST, b""):
        raise InputError("a workbook with a password", _A_WORKBOOK, f"{_SAVE_AGAIN}, without a password")
    tables = ElementList("table")
    read_xml(members[_ODS_CONTENT], tables)
    marks = {table.get("name", ""): Marks() for table in tables.found}
    read_xml(members[_ODS_CONTENT], OdsSheets(marks))
    refuse_swelling(marks.values())
    return marks, {name: content for name, content in members.items() if name in _ODS_PARTS}


def _packed(members: Members) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return packed.getvalue()


def _tables(content: bytes, marks: Mapping[str, Marks]) -> tuple[SheetTable, ...]:
    try:
        with CalamineWorkbook.from_filelike(io.BytesIO(content)) as workbook:
            return tuple(
                SheetTable(title, workbook.get_sheet_by_name(title).to_python(skip_empty_area=False), marks[title])
                for title in workbook.sheet_names
            )
    except (CalamineError, KeyError, OSError) as error:
        raise InputError(f"a damaged workbook ({error})", _A_WORKBOOK, _SAVE_AGAIN) from None
