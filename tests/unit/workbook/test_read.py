"""A workbook is read whole or not at all: every problem with its place, what was given, expected, and what to do."""

from datetime import date, datetime

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.formula import ArrayFormula

from onthree.programme.fields import fields_of
from onthree.programme.programme import programme_of
from onthree.programme.records import SHEETS, Athlete, Event, Organisation, PreAgreement, Record, Team
from onthree.units import read_length, read_mass
from onthree.workbook.problems import WorkbookError
from tests.unit.workbook.typed_sheets import TEAMS, athletes, problems_of, read, saved, workbook_of

TODAY = date(2026, 11, 25)
STORED = programme_of(
    [
        Organisation(code="ORG", name="Invented conference"),
        Team(code="T-1", name="Herons", sport="football"),
        Athlete(code="T1-52", team="T-1", number=52, mass=read_mass("290 lb"), stature=read_length("190 cm")),
    ],
    TODAY,
)


def test_rows_become_records() -> None:
    content = athletes(("T1-52", "T-1", 52, "290 lb"), ("T1-53", "T-1", None, None))

    assert read(content) == (
        Team(code="T-1", name="Herons"),
        Athlete(code="T1-52", team="T-1", number=52, mass=read_mass("290 lb")),
        Athlete(code="T1-53", team="T-1"),
    )


def test_titles_and_headers_are_found_in_any_order_and_spelling() -> None:
    sheets = {
        "athletes ": [("body  MASS", " team", "CODE"), ("290 lb", "T-1", "T1-52")],
        "GUIDE": [("anything", "=1+1")],
        "Teams": [("Name", "Code"), ("Herons", "T-1")],
    }

    assert read(workbook_of(sheets)) == (
        Team(code="T-1", name="Herons"),
        Athlete(code="T1-52", team="T-1", mass=read_mass("290 lb")),
    )


def test_text_numbers_and_number_codes() -> None:
    assert read(athletes((52, "T-1", "52", "290 lb"))) == (
        Team(code="T-1", name="Herons"),
        Athlete(code="52", team="T-1", number=52, mass=read_mass("290 lb")),
    )


def test_a_header_may_state_the_unit() -> None:
    content = athletes(("a", "T-1", 1, 290), ("b", "T-1", 2, "131.5 kg"), header="Body mass ( LB )")

    assert [athlete.mass for athlete in read(content)[1:] if isinstance(athlete, Athlete)] == [
        read_mass("290 lb"),
        read_mass("131.5 kg"),
    ]


def test_blank_rows_keep_the_row_numbers() -> None:
    content = athletes(("a", "T-1", 1, "290 lb"), (), (None, " ", "\u200b", None), ("b", "T-1", 2, "290"))

    assert problems_of(content) == [
        "Athletes, row 5, Body mass: '290' given, a mass such as 131.5 kg or 290 lb expected: "
        "write the unit after the number (kg, lb, lbs); it is never guessed"
    ]


def test_all_problems_at_once_in_reading_order() -> None:
    sheets = {
        "Events": [
            ("Code", "Name", "Kind", "Date", "Venue", "Teams"),
            ("E-1", "Herons v Otters", "game", "2026-02-30", "V-1", "T-1, T-2"),
        ],
        "Athletes": [
            ("Code", "Team", "Number", "Body mass"),
            ("T1-52", "T-1", 52, "900 lb"),
            ("T1-53", "T-l", 52, 290),
        ],
        "Teams": TEAMS,
        "Venues": [("Code", "Name"), ("V-1", "Field")],
    }

    assert problems_of(workbook_of(sheets)) == [
        "Athletes, row 2, Body mass: '900 lb' given, a mass from 25 kg to 260 kg expected: "
        "check the number and the unit",
        "Athletes, row 3, Body mass: '290' given, a mass such as 131.5 kg or 290 lb expected: "
        "write the unit after the number (kg, lb, lbs); it is never guessed",
        "Athletes, row 3, Team: 'T-l' given, a code of the sheet Teams expected: did you mean 'T-1'?",
        "Events, row 2, Date: '2026-02-30' given, a date such as 2026-11-28 expected: the calendar has no such day",
        "Events, row 2, Teams: 'T-2' given, a code of the sheet Teams expected: did you mean 'T-1'?",
    ]


def test_the_error_counts_and_names_the_file() -> None:
    with pytest.raises(WorkbookError) as refused:
        read(athletes(("a", "T-1", 1, "290")))

    assert str(refused.value).splitlines()[0] == "season.xlsx: 1 problem, nothing was imported"
    assert str(refused.value).splitlines()[1] == str(refused.value.problems[0])


def test_the_same_code_twice() -> None:
    content = athletes(("T1-52", "T-1", 52, "290 lb"), ("T1-53", "T-1", 53, "290 lb"), ("T1-52", "T-1", 54, "290 lb"))

    assert problems_of(content) == [
        "Athletes, row 4, Code: 'T1-52' given, a code of its own expected: "
        "row 2 has the same code: give one of them another"
    ]


def test_the_same_number_twice_in_a_team() -> None:
    content = athletes(("a", "T-1", 52, None), ("b", "T-1", 52, None))

    assert problems_of(content) == [
        "Athletes, row 3, Number: '52' given, a number of their own expected: "
        "row 2 has the same number in team T-1: correct one of them"
    ]
    assert problems_of(athletes(("a", "T-1", 52, None)), STORED) == [
        "Athletes, row 2, Number: '52' given, a number of their own expected: "
        "athlete T1-52, already stored, has the same number in team T-1: correct one of them"
    ]
    assert read(athletes(("a", "T-1", 7, None), ("T1-52", "T-1", 8, None), ("b", "T-1", 52, None)), STORED), (
        "the stored athlete wears another number in this workbook"
    )


def test_two_teams_may_wear_the_same_number() -> None:
    rows = [("Code", "Team", "Number"), ("a", "T-1", 52), ("b", "T-2", 52)]

    assert len(read(workbook_of({"Teams": [*TEAMS, ("T-2", "Otters")], "Athletes": rows}))) == 4


@pytest.mark.parametrize(
    ("cell", "shown"), [("=290", "=290"), ("=SUM(A1:A2)", "=SUM(A1:A2)"), ('="290 lb"', '="290 lb"')]
)
def test_formula_cells(cell: str, shown: str) -> None:
    assert problems_of(athletes(("T1-52", "T-1", 52, cell))) == [
        f"Athletes, row 2, column D: {shown!r} given, a typed value, not a formula expected: "
        "copy the cell and paste its value; a formula's stored result can be out of date"
    ]


def test_array_formulas_are_told_once_and_no_cell_of_theirs_is_taken() -> None:
    workbook = Workbook()
    sheet = workbook.worksheets[0]
    sheet.title = "Teams"
    for row in [*TEAMS, ("T-2", "Otters"), ("T-3", "Newts")]:
        sheet.append(row)
    sheet["B2"] = ArrayFormula("B2:B4", "=A2:A4")

    assert problems_of(saved(workbook)) == [
        "Teams, row 2, column B: '=A2:A4' given, a typed value, not a formula expected: "
        "copy the cell and paste its value; a formula's stored result can be out of date"
    ]


@pytest.mark.parametrize("error", ["#REF!", "#DIV/0!", "#N/A"])
def test_error_values(error: str) -> None:
    assert problems_of(athletes(("T1-52", "T-1", 52, error))) == [
        f"Athletes, row 2, column D: {error!r} given, a value, not an error expected: type the value"
    ]


def test_merged_cells() -> None:
    workbook = Workbook()
    sheet = workbook.worksheets[0]
    sheet.title = "Teams"
    for row in [("Code", "Name", None), ("T-1", "Herons")]:
        sheet.append(row)
    sheet.merge_cells("B1:C1")

    assert problems_of(saved(workbook)) == [
        "Teams, row 1, column B: 'B1:C1' given, cells that are not merged expected: "
        "unmerge the cells and fill each one in",
        "Teams, row 1, Name: nothing given, a column with this header expected: add it",
    ]


def test_unknown_headers_and_titles() -> None:
    sheets = {
        "Team": TEAMS,
        "Athletes": [("Code", "Team", "Body mas", "Weight (stone)"), ("a", "T-1", "290 lb", 14)],
        "Budget": [("Item",)],
    }

    assert problems_of(workbook_of(sheets)) == [
        "sheet titles: 'Team' given, a sheet of the programme expected: did you mean 'Teams'?",
        f"sheet titles: 'Budget' given, a sheet of the programme expected: known are {', '.join(SHEETS)}, Guide",
        "Athletes, row 1, column C: 'Body mas' given, a header of this sheet expected: did you mean 'Body mass'?",
        "Athletes, row 1, column D: 'Weight (stone)' given, a header of this sheet expected: "
        f"known are {', '.join(field.header for field in fields_of(Athlete))}",
    ], "and nothing about T-1, which the misspelt sheet may hold"


def test_a_header_with_an_unknown_unit() -> None:
    assert problems_of(athletes(("a", "T-1", 1, 20), header="Body mass (st)")) == [
        "Athletes, row 1, column D: 'Body mass (st)' given, a header with one of these units: kg, lb, lbs expected: "
        "write Body mass (unit)"
    ]


def test_headers_missing_twice_or_blank() -> None:
    sheets = {"Teams": [("Name", "name", None, "Sport"), ("Herons", "Herons", "lost", "football")]}

    assert problems_of(workbook_of(sheets)) == [
        "Teams, row 1, column B: 'name' given, each header once expected: columns A and B have this header: remove one",
        "Teams, row 1, Code: nothing given, a column with this header expected: add it",
        "Teams, row 2, column C: 'lost' given, a header above it expected: "
        "row 1 of column C is blank: write a header there or clear the column",
    ]


def test_rows_above_the_headers() -> None:
    assert problems_of(workbook_of({"Teams": [("Our teams 2026",), (), *TEAMS]})) == [
        "Teams, row 3: 'Code, Name' given, headers in row 1 expected: delete the rows above them"
    ]
    assert problems_of(workbook_of({"Teams": [("Herons", 52), ("Otters", 53)]})) == [
        "Teams, row 1: 'Herons, 52' given, the headers of this sheet expected: "
        "write them in row 1: Code, Name, Sport, Equipment worn"
    ]


def test_one_sheet_with_two_spellings() -> None:
    assert problems_of(workbook_of({"Teams": TEAMS, "teams ": TEAMS})) == [
        "Teams: 'teams ' given, one sheet of this title expected: remove one of the two"
    ]


def test_blank_sheets_say_nothing() -> None:
    assert read(workbook_of({"Teams": [], "Athletes": [("Code", "Team")]})) == ()


def test_a_required_cell_left_blank() -> None:
    assert problems_of(athletes((None, "T-1", 1, None))) == [
        "Athletes, row 2, Code: nothing given, a code such as T1-52 expected: fill it in"
    ]


def test_a_code_that_cannot_be_read_is_not_held_against_those_who_refer_to_it() -> None:
    sheets = {"Teams": [("Code", "Name"), ("T 1", "Herons")], "Athletes": [("Code", "Team"), ("a", "T-1")]}

    assert problems_of(workbook_of(sheets)) == [
        "Teams, row 2, Code: 'T 1' given, a code such as T-1 expected: "
        "leave out blanks , ; and @, at most 40 characters"
    ]


def test_references_may_lead_to_what_is_stored() -> None:
    content = workbook_of({"Athletes": [("Code", "Team"), ("a", "T-1")]})

    assert read(content, STORED) == (Athlete(code="a", team="T-1"),)
    assert problems_of(content) == [
        "Athletes, row 2, Team: 'T-1' given, a code of the sheet Teams expected: add a row to the sheet Teams"
    ]


def test_people_and_gear_of_an_event_must_exist() -> None:
    event = ("E-1", "Practice", "practice", "2026-11-28", "V-1", "T-1", "R-1, R-9@8min")
    sheets = {
        "Venues": [("Code", "Name"), ("V-1", "Field")],
        "Teams": TEAMS,
        "Responders": [("Code", "Name", "Kind"), ("R-1", "head", "physician")],
        "Events": [("Code", "Name", "Kind", "Date", "Venue", "Teams", "Responders"), event],
    }

    assert problems_of(workbook_of(sheets)) == [
        "Events, row 2, Responders: 'R-9' given, a code of the sheet Responders expected: did you mean 'R-1'?"
    ]


def agreement(technique: str) -> bytes:
    row = ("AGR-1", "AG-1", technique, "Agreed")
    return workbook_of(
        {
            "Agencies": [("Code", "Name"), ("AG-1", "county ambulance")],
            "Agreements": [("Code", "Agency", "Technique", "Answer"), row],
        }
    )


def test_agreements_name_a_known_technique() -> None:
    agreed = PreAgreement(code="AGR-1", agency="AG-1", technique="centring", answer="agreed")

    assert read(agreement("centring"))[1] == agreed
    assert problems_of(agreement("centering")) == [
        "Agreements, row 2, Technique: 'centering' given, the identifier of a technique expected: "
        "did you mean 'centring'?"
    ]
    assert problems_of(agreement("levitation")) == [
        "Agreements, row 2, Technique: 'levitation' given, the identifier of a technique expected: "
        "known are centring, collar on, device in, device out, device_out_on_cot, equipment off, equipment on, "
        "head secured"
    ]


def test_one_organisation_and_the_same_one() -> None:
    two = workbook_of({"Organisation": [("Code", "Name"), ("ORG", "One"), ("ORG", "Two")]})
    other = workbook_of({"Organisation": [("Code", "Name"), ("ELSE", "Another")]})

    assert problems_of(two) == [
        "Organisation, row 3, Code: 'ORG' given, one organisation expected: row 2 has one: keep one row"
    ]
    assert problems_of(other, STORED) == [
        "Organisation, row 2, Code: 'ELSE' given, the stored code 'ORG' expected: "
        "keep it, or start a new programme in another folder"
    ]


def test_a_column_that_is_not_there_keeps_what_is_stored() -> None:
    stored = STORED.athletes["T1-52"]
    without_stature = read(athletes(("T1-52", "T-1", 52, "300 lb")), STORED)[1]
    without_mass = read(workbook_of({"Athletes": [("Code", "Team"), ("T1-52", "T-1")]}), STORED)[0]
    blank_mass = read(athletes(("T1-52", "T-1", 52, None)), STORED)[1]

    assert isinstance(without_stature, Athlete) and without_stature.stature == stored.stature
    assert without_mass == stored
    assert isinstance(blank_mass, Athlete) and blank_mass.mass is None, "a blank cell says: not known"


@pytest.mark.parametrize("epoch", [None, CALENDAR_MAC_1904])
def test_date_cells_of_both_date_systems(epoch: datetime | None) -> None:
    workbook = Workbook()
    if epoch:
        workbook.epoch = epoch
    sheet = workbook.worksheets[0]
    sheet.title = "Events"
    sheet.append(("Code", "Name", "Kind", "Date", "Venue", "Teams"))
    sheet.append(("E-1", "Practice", "practice", date(2026, 11, 28), "V-1", "T-1"))
    for title, name in (("Venues", "V-1"), ("Teams", "T-1")):
        other = workbook.create_sheet(title)
        other.append(("Code", "Name"))
        other.append((name, name))
    events: list[Record] = [record for record in read(saved(workbook)) if isinstance(record, Event)]

    assert [event.day for event in events if isinstance(event, Event)] == [date(2026, 11, 28)]


def test_many_unknown_references_are_all_told_and_quickly() -> None:
    rows = [(f"A-{number}", f"T-{number}") for number in range(5_000)]
    problems = problems_of(workbook_of({"Teams": TEAMS, "Athletes": [("Code", "Team"), *rows]}))

    assert len(problems) == 4_999
