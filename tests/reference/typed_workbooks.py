"""What LibreOffice is given to save: records of every kind, sheets typed as plain text, and cells that must be refused.

``python -m tests.reference.typed_workbooks FOLDER`` writes the files that oracles/libreoffice_workbook.sh hands to it.
"""

import sys
from dataclasses import replace
from datetime import date, time
from pathlib import Path

from openpyxl import Workbook
from openpyxl.worksheet.formula import ArrayFormula

from onthree.programme.records import (
    Agency,
    Athlete,
    Event,
    JerseyNumber,
    KnownGap,
    MutualAid,
    Place,
    Record,
    Shift,
    Team,
    Told,
)
from onthree.units import read_length, read_mass
from onthree.workbook.sheets_csv import write_csv_files
from onthree.workbook.write import write_workbook
from tests.invented import clean_records, rehearsal_records
from tests.unit.workbook.typed_sheets import saved

NAMES = (
    "=1+1",
    "+1",
    "-1",
    "@x",
    "#N/A",
    "_x0041_",
    "a & b < c",
    "0012",
    "2026-11-28",
    "café",
    "می\u200cروم",
    "🏈",
    "'q'",
    '"q"',
)
TEAMS = tuple(Team(code=f"N-{place}", name=name) for place, name in enumerate(NAMES))
CSV_TEAMS = tuple(team for team in TEAMS if team.name not in ("0012", "2026-11-28"))
"""What CSV cannot keep from a spreadsheet program is left out: it takes these for a number and a date."""
OTHERS: tuple[Record, ...] = (
    Place(code="P-1", venue="V-1", kind="tunnel", name="north tunnel", condition="wet", note="four steps; narrow"),
    Shift(code="SH-1", agency="AG-1", name="A shift", rehearsed_on=date(2026, 8, 2)),
    Agency(code="AG-2", name="neighbouring ambulance"),
    MutualAid(code="MA-1", agency="AG-1", replacement="AG-2", usual_min=15),
    JerseyNumber(code="J-1", event="E-1", athlete="T1-52", number=57),
    Told(
        code="TOLD-1",
        event="E-1",
        rule="hands",
        who="crew lead",
        day=date(2026, 11, 26),
        at=time(8, 5),
        answer="will do",
    ),
    KnownGap(
        code="GAP-1",
        rule="hands",
        subject="E-1",
        signed_by="administration",
        signer="director",
        reason="two more, from January",
        signed_on=date(2026, 11, 20),
        until=date(2027, 1, 31),
    ),
)
RECORDS: tuple[Record, ...] = (
    *(record for record in clean_records() if not isinstance(record, Team | Athlete | Event)),
    *(replace(record, start=time(9, 5), visitors="known") for record in clean_records() if isinstance(record, Event)),
    *(record for record in clean_records() if isinstance(record, Team | Athlete)),
    *TEAMS,
    *OTHERS,
    *rehearsal_records(),
)

# Typed as Athletes.csv and Events.csv: LibreOffice makes numbers, dates, times and truth values of these by itself.
ATHLETES_TYPED = """\
Code,Team,Number,Plays,Body mass (lb),Stature,Equipment worn,Face mask
T1-12,T-1,12,quarterback,190,75 in,,Screws
T1-52,T-1,52,offensive line,300.5,1.9 m,20 lb,no face mask

7,T-1,,,131.5 kg,,,
"""
ATHLETES_READ = (
    Athlete(
        code="T1-12",
        team="T-1",
        number=12,
        plays="quarterback",
        mass=read_mass("190 lb"),
        stature=read_length("75 in"),
        face_mask="screws",
    ),
    Athlete(
        code="T1-52",
        team="T-1",
        number=52,
        plays="offensive line",
        mass=read_mass("300.5 lb"),
        stature=read_length("1.9 m"),
        equipment_mass=read_mass("20 lb"),
        face_mask="no face mask",
    ),
    Athlete(code="7", team="T-1", mass=read_mass("131.5 kg")),
)
EVENTS_TYPED = """\
Code,Name,Kind,Date,Start,Venue,Teams,Visitors
E-7,Practice,practice,2026-12-01,15:30,V-1,T-1,none
"""
EVENTS_READ = (
    Event(
        code="E-7",
        name="Practice",
        kind="practice",
        day=date(2026, 12, 1),
        start=time(15, 30),
        venue="V-1",
        teams=("T-1",),
        visitors="none",
    ),
)


def faults() -> bytes:
    """Cells that must be refused: formulas with and without stored results, an array formula, errors, merged cells."""
    workbook = Workbook()
    sheet = workbook.worksheets[0]
    sheet.title = "Teams"
    for row in [("Code", "Name", "Sport"), ("A", "one"), ("B", "=CONCATENATE(A2,1)"), ("C", "=1/0")]:
        sheet.append(row)
    sheet["A5"] = "D"
    sheet["B5"] = ArrayFormula("B5:B6", "=A2:A3")
    sheet["A6"] = "E"
    sheet["A7"], sheet["B7"] = "F", "merged"
    sheet.merge_cells("B7:C7")
    sheet["A12"], sheet["B12"] = "G", "=A2"
    return saved(workbook)


def write_inputs(folder: Path) -> None:
    """Write what LibreOffice is to open and save."""
    (folder / "records.xlsx").write_bytes(write_workbook(RECORDS))
    (folder / "faults.xlsx").write_bytes(faults())
    (folder / "Teams.csv").write_bytes(write_csv_files(CSV_TEAMS)["Teams.csv"])
    (folder / "Athletes.csv").write_text(ATHLETES_TYPED, encoding="utf-8")
    (folder / "Events.csv").write_text(EVENTS_TYPED, encoding="utf-8")


if __name__ == "__main__":
    write_inputs(Path(sys.argv[1]))
