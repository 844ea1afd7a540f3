"""Records to a workbook: a sheet for each kind, values as typed, and a guide; what is written reads back the same."""

import io
import re
from collections.abc import Iterable, Sequence
from datetime import date, time

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.styles.fonts import DEFAULT_FONT
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from onthree.programme.fields import LISTS, FieldDescription, Kind, fields_of
from onthree.programme.records import SHEETS, Organisation, Record
from onthree.workbook.marks import MOST_ROWS
from onthree.workbook.read import GUIDE
from onthree.workbook.values import as_typed, cleaned, range_shown

INVENTED = "All data in this workbook are invented, for training only."

_GUIDE_LINES = (
    "One row for each record. Only the data sheets are read; this guide is not.",
    "Headers in bold with a thick line below must be filled in. Leave a cell blank when something is not known.",
    "Write quantities with their unit (290 lb, 131.5 kg, 6 ft 3 in), or state the unit in the header: Body mass (lb).",
    "Write dates as year-month-day and times on the 24-hour clock. Type values: formulas are refused.",
    "Weight limits come from the label on the item in hand. Local protocol, medical direction and the maker's manual "
    "come first.",
)
_GUIDE_HEADERS = ("Sheet", "Column", "What to write", "Must be filled", "Allowed", "Help", "Example")
_GUIDE_WIDTHS = (14, 26, 20, 15, 48, 72, 30)

_LOOKS_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")  # reads as another character (ISO/IEC 29500-1, 22.9.2.19)
_LONGEST_LIST = 255  # characters of an inline list in a data validation
_NARROWEST, _WIDEST = 10, 44
_AS_TEXT, _AS_WHOLE, _AS_NUMBER, _AS_DATE, _AS_CLOCK = "@", "0", "General", "yyyy-mm-dd", "hh:mm"
_FORMATS = {Kind.INTEGER: _AS_WHOLE, Kind.NUMBER: _AS_NUMBER, Kind.DATE: _AS_DATE, Kind.CLOCK: _AS_CLOCK}

_HEADER_FILL = PatternFill("solid", fgColor="E7E6E6")
_REQUIRED_BORDER = Border(bottom=Side("thick"))
_PLAIN = Font(name=DEFAULT_FONT.name, size=DEFAULT_FONT.sz)
_BOLD = Font(name=DEFAULT_FONT.name, size=DEFAULT_FONT.sz, bold=True)
_LEFT = Alignment(horizontal="left")
_LINE_POINTS = 15
_WRAPPED = Alignment(wrap_text=True, vertical="top")
_SHEET_OF = {kind.__name__: title for title, kind in SHEETS.items()}


def write_template() -> bytes:
    """The blank workbook (.xlsx): every sheet with its headers, and the guide with examples."""
    return write_workbook(())


def write_workbook(records: Iterable[Record]) -> bytes:
    """A workbook (.xlsx) of these records: values as typed, dates and times as real ones, text never as a formula."""
    given = tuple(records)
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    banner = INVENTED if any(isinstance(one, Organisation) and one.is_invented for one in given) else ""
    _write_guide(workbook.create_sheet(GUIDE), banner)
    for title, kind in SHEETS.items():
        of_kind = [record for record in given if type(record) is kind]
        _write_sheet(workbook.create_sheet(title), fields_of(kind), of_kind)
    for sheet in workbook.worksheets:
        _fit_to_page(sheet, banner)
    content = io.BytesIO()
    workbook.save(content)
    return content.getvalue()


def _write_sheet(sheet: Worksheet, fields: Sequence[FieldDescription], records: Sequence[Record]) -> None:
    for column, field in enumerate(fields, start=1):
        _write_header(sheet, column, field)
    for row, record in enumerate(records, start=2):
        for column, field in enumerate(fields, start=1):
            _write_value(sheet, row, column, field, getattr(record, field.name))
    for column, field in enumerate(fields, start=1):
        _dress_column(sheet, column, field, records)
    sheet.freeze_panes = "B2"


def _write_header(sheet: Worksheet, column: int, field: FieldDescription) -> None:
    cell = _write_text(sheet, 1, column, field.header)
    cell.font = _BOLD if field.is_required else _PLAIN
    cell.fill = _HEADER_FILL
    if field.is_required:
        cell.border = _REQUIRED_BORDER
    note = "\n".join(
        filter(None, [_must(field), field.help, _allowed(field), field.example and f"Example: {field.example}"])
    )
    cell.comment = Comment(note, "onthree", height=160, width=280)


def _write_value(sheet: Worksheet, row: int, column: int, field: FieldDescription, value: object) -> None:
    if field.kind in _FORMATS and isinstance(value, int | float | date | time):
        cell = sheet.cell(row, column, value)
        cell.number_format = _FORMATS[field.kind]
        cell.alignment = _LEFT
    elif text := as_typed(field, value):
        _write_text(sheet, row, column, text)


def _write_text(sheet: Worksheet, row: int, column: int, text: str) -> Cell:
    cell = sheet.cell(row, column)
    assert isinstance(cell, Cell)  # never a merged one: nothing is merged here
    cell.value = _LOOKS_ESCAPED.sub("_x005F_", cleaned(text))
    cell.data_type = "s"  # whatever the text looks like, it is no formula
    cell.number_format = _AS_TEXT
    cell.quotePrefix = text.startswith(("=", "+", "-", "@"))  # editing the cell keeps it text
    return cell


def _dress_column(sheet: Worksheet, column: int, field: FieldDescription, records: Sequence[Record]) -> None:
    letter = get_column_letter(column)
    shown = [as_typed(field, getattr(record, field.name)) for record in records]
    longest = max(map(len, [field.header, field.example, *shown]))
    sheet.column_dimensions[letter].width = min(max(longest + 3, _NARROWEST), _WIDEST)
    sheet.column_dimensions[letter].number_format = _FORMATS.get(field.kind, _AS_TEXT)
    if choices := _choices(field):
        offered = DataValidation("list", formula1=choices, allow_blank=True, showErrorMessage=True)
        offered.errorTitle, offered.error = field.header, _allowed(field)[:_LONGEST_LIST]
        offered.add(f"{letter}2:{letter}{MOST_ROWS}")
        sheet.add_data_validation(offered)


def _choices(field: FieldDescription) -> str:
    """The formula of a drop-down list, empty where a cell holds several values or anything."""
    if field.kind is Kind.REFERENCE:
        return f"{_SHEET_OF[field.refers_to]}!$A$2:$A${MOST_ROWS}"
    words = ("yes", "no") if field.kind is Kind.YES_NO else field.choices if field.kind is Kind.CHOICE else ()
    listed = ",".join(words)
    return f'"{listed}"' if 0 < len(listed) < _LONGEST_LIST - 1 else ""


def _fit_to_page(sheet: Worksheet, banner: str) -> None:
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    header = sheet.oddHeader
    if banner and header is not None:  # a header without text is false
        header.center.text = banner


def _must(field: FieldDescription) -> str:
    return "Must be filled in." if field.is_required else ""


def _allowed(field: FieldDescription) -> str:
    """What a cell may hold, as words."""
    if field.choices:
        return f"{'any of' if field.kind in LISTS else 'one of'}: {', '.join(field.choices)}"
    if field.refers_to:
        return f"codes of the sheet {_SHEET_OF[field.refers_to]}"
    return "yes or no" if field.kind is Kind.YES_NO else range_shown(field)


def _write_guide(sheet: Worksheet, banner: str) -> None:
    lines = [line for line in (banner, *_GUIDE_LINES) if line]
    for row, line in enumerate(lines, start=1):
        _write_text(sheet, row, 1, line).font = _BOLD if line == banner else _PLAIN
    table = [_GUIDE_HEADERS, *(_guide_row(title, field) for title, kind in SHEETS.items() for field in fields_of(kind))]
    for row, texts in enumerate(table, start=len(lines) + 2):
        for column, text in enumerate(texts, start=1):
            cell = _write_text(sheet, row, column, text)
            cell.alignment = _WRAPPED
            cell.font = _BOLD if texts is _GUIDE_HEADERS else _PLAIN
        longest = max(-(-len(text) // width) for text, width in zip(texts, _GUIDE_WIDTHS, strict=True))
        sheet.row_dimensions[row].height = _LINE_POINTS * longest
    for column, width in enumerate(_GUIDE_WIDTHS, start=1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = f"A{len(lines) + 3}"


def _guide_row(title: str, field: FieldDescription) -> tuple[str, ...]:
    must = "yes" if field.is_required else ""
    return title, field.header, field.kind, must, _allowed(field), field.help, field.example
