"""The invented conference: seven teams, four venues and six weeks of a winter that never was, as a typed workbook.

Its sheets are bundled as text, each cell as a person would type it, and are read like anybody's workbook.
"""

import csv
import tomllib
from datetime import date
from importlib.resources import files
from io import BytesIO

from openpyxl import Workbook

from onthree.programme.records import SHEETS, Record
from onthree.techniques.library import bundled_library
from onthree.workbook.read import read_workbook
from onthree.workbook.write import write_workbook

DEMO_TODAY = date(2026, 11, 25)
"""The Wednesday before the first game: the demo is always judged on this day, so that its answers never drift."""
CLASHING, WAITING = "E-13", "E-5"
"""Codes of a game whose agreements leave no option, and of a practice where everybody is held until help comes."""

_FOLDER = files("onthree") / "demo"
_WORKBOOK = "invented-conference.xlsx"


def read_conference() -> dict[str, list[dict[str, str]]]:
    """The bundled rows: sheet title to rows, each a column header to the text in its cell."""
    texts = {sheet: (_FOLDER / "conference" / f"{sheet}.csv").read_text(encoding="utf-8") for sheet in SHEETS}
    return {sheet: list(csv.DictReader(text.splitlines())) for sheet, text in texts.items()}


def conference_records() -> tuple[Record, ...]:
    """The records of the invented conference, read from its sheets as from anybody's workbook."""
    return read_workbook(_typed_workbook(), _WORKBOOK, known_techniques=bundled_library().by_id, current=None)


def write_conference_workbook() -> bytes:
    """The invented conference as a workbook (.xlsx) with its guide; its cells hold what was typed."""
    return write_workbook(conference_records())


def planted_findings() -> frozenset[tuple[str, str, str]]:
    """What the rules must find in the invented conference and nothing else, as (event, rule, subject)."""
    planted = tomllib.loads((_FOLDER / "planted.toml").read_text(encoding="utf-8"))["finding"]
    return frozenset((finding["event"], finding["rule"], finding["subject"]) for finding in planted)


def _typed_workbook() -> bytes:
    """The bundled rows as a plain workbook in which every filled cell is text."""
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for title, rows in read_conference().items():
        sheet = workbook.create_sheet(title)
        for row in [list(rows[0]), *(list(row.values()) for row in rows)]:
            sheet.append([text or None for text in row])
    content = BytesIO()
    workbook.save(content)
    return content.getvalue()
