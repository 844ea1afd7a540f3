"""Two people import at once: neither loses what the other saved."""

import os
import subprocess
import sys
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import openpyxl

from onthree.demo.conference import conference_records
from onthree.programme.records import Athlete, Record
from onthree.units import read_mass
from onthree.workbook.write import write_workbook

FIRST = """
import subprocess, sys, time
from datetime import date
from pathlib import Path
from onthree.actions import workbooks
from onthree.actions.opening import open_programme_store

read, waiting = workbooks.read_workbook, []

def read_while_another_imports(*given, **named):
    records = read(*given, **named)
    waiting.append(subprocess.Popen([sys.argv[3], "import", sys.argv[2]]))
    time.sleep(4)  # the other one reaches the store, and has to wait there
    return records

workbooks.read_workbook = read_while_another_imports
open_programme_store()
workbooks.import_workbook(Path(sys.argv[1]), date(2026, 11, 25), is_preview=False, by="first")
sys.exit(waiting[0].wait())
"""


def changed(records: tuple[Record, ...], **fields: object) -> tuple[Record, ...]:
    return tuple(replace(one, **fields) if isinstance(one, Athlete) and one.code == "T1-52" else one for one in records)  # type: ignore[arg-type]


def without_column(workbook: bytes, sheet: str, header: str) -> bytes:
    opened = openpyxl.load_workbook(BytesIO(workbook))
    headers = [cell.value for cell in opened[sheet][1]]
    opened[sheet].delete_cols(headers.index(header) + 1)
    opened[sheet].data_validations.dataValidation.clear()
    written = BytesIO()
    opened.save(written)
    return written.getvalue()


def test_an_edit_saved_between_reading_and_saving_is_kept(tmp_path: Path) -> None:
    onthree = str(Path(sys.executable).with_name("onthree"))
    kept = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")}
    environment = {**kept, "ONTHREE_FOLDER": str(tmp_path / "store")}
    records = conference_records()
    files = {
        "start.xlsx": write_workbook(records),
        "lighter.xlsx": without_column(write_workbook(changed(records, mass=read_mass("331 lb"))), "Athletes", "Plays"),
        "moved.xlsx": write_workbook(changed(records, plays="tackle", mass=read_mass("331 lb"))),
        "out.xlsx": b"",
    }
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)

    def run(*words: str) -> None:
        subprocess.run(words, cwd=tmp_path, env=environment, check=True, timeout=60, capture_output=True)

    run(onthree, "import", "start.xlsx")
    run(sys.executable, "-c", FIRST, "lighter.xlsx", "moved.xlsx", onthree)
    run(onthree, "export", "out.xlsx")

    sheet = openpyxl.load_workbook(tmp_path / "out.xlsx")["Athletes"]
    headers = [cell.value for cell in sheet[1]]
    row = next(row for row in sheet.iter_rows(min_row=2, values_only=True) if row[0] == "T1-52")
    assert row[headers.index("Body mass")] == "331 lb"
    assert row[headers.index("Plays")] == "tackle"
