"""One cell to one value: what is taken, and the whole message for what is not."""

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from onthree.programme.fields import FieldDescription, fields_of
from onthree.programme.presence import Presence
from onthree.programme.records import Agency, Athlete, Event, Gear, Record, Responder
from onthree.units import read_length, read_mass
from onthree.workbook.problems import InputError
from onthree.workbook.values import as_typed, blank, cleaned, read_value, shown_cell


def field(kind: type[Record], name: str) -> FieldDescription:
    return next(described for described in fields_of(kind) if described.name == name)


CODE = field(Athlete, "code")
NUMBER = field(Athlete, "number")
MASS = field(Athlete, "mass")
STATURE = field(Athlete, "stature")
PLAYS = field(Athlete, "plays")
FACE_MASK = field(Athlete, "face_mask")
SKILLS = field(Responder, "skills")
FIT = field(Responder, "fit_to_lift")
DAY = field(Event, "day")
START = field(Event, "start")
TEAMS = field(Event, "teams")
PRESENT = field(Event, "responders")
INSPECTED = field(Gear, "inspected_on")
EDITION = field(Agency, "protocol_edition")


@pytest.mark.parametrize(
    ("described", "cell", "value"),
    [
        (CODE, "T1-52", "T1-52"),
        (CODE, " T1-52\u00a0\u200b", "T1-52"),
        (CODE, 52.0, "52"),
        (NUMBER, 52.0, 52),
        (NUMBER, "52", 52),
        (NUMBER, "007", 7),
        (MASS, "290 lb", read_mass("290 lb")),
        (MASS, "  131.5\u00a0kg ", read_mass("131.5 kg")),
        (STATURE, "6\u20193\u201d", read_length("6\u20193\u201d")),
        (STATURE, "1.9 m", read_length("1.9 m")),
        (PLAYS, "offensive\n  line", "offensive line"),
        (PLAYS, "cafe\u0301", "café"),
        (PLAYS, "=2+2", "=2+2"),
        (FACE_MASK, "Quick Release", "quick release"),
        (SKILLS, "Log roll; in-line hold,", ("log roll", "in-line hold")),
        (FIT, "Yes", True),
        (FIT, "FALSE", False),
        (FIT, True, True),
        (DAY, "2026-11-28", date(2026, 11, 28)),
        (DAY, date(2026, 11, 28), date(2026, 11, 28)),
        (DAY, datetime(2026, 11, 28), date(2026, 11, 28)),  # noqa: DTZ001  cells have no zone
        (START, "19:00", time(19)),
        (START, "9:05", time(9, 5)),
        (START, time(19, 30), time(19, 30)),
        (START, timedelta(hours=19, minutes=30), time(19, 30)),
        (TEAMS, 52.0, ("52",)),
        (TEAMS, "T-1;T-2", ("T-1", "T-2")),
        (PRESENT, "R-1, R-5@8min", (Presence("R-1"), Presence("R-5", 8))),
    ],
)
def test_takes(described: FieldDescription, cell: Any, value: object) -> None:
    assert read_value(described, cell) == value


def test_a_bare_number_takes_the_unit_of_the_header() -> None:
    assert read_value(MASS, 290.0, "lb") == read_mass("290 lb")
    assert read_value(MASS, "131.5", "kg") == read_mass("131.5 kg")
    assert read_value(MASS, "290 lb", "kg") == read_mass("290 lb"), "a unit in the cell is taken before the header's"
    assert read_value(STATURE, 6.25, "ft") == read_length("6.25 ft")


def test_blank_is_unknown_never_zero() -> None:
    assert read_value(MASS, "") is None
    assert read_value(FIT, " \u200b ") is None
    assert read_value(PLAYS, "") == ""
    assert read_value(SKILLS, "") == ()
    assert [blank(MASS), blank(PLAYS), blank(SKILLS)] == [None, "", ()]


DATE_FIX = "write year-month-day or use a date cell; the order is never guessed"
ISO = "a date such as 2026-11-28 expected"
CLOCK = "a time of day such as 19:00 expected: write hours and minutes of the 24-hour clock"
UNIT_FIX = "write the unit after the number (kg, lb, lbs); it is never guessed"
MASS_WANTED = "a mass such as 131.5 kg or 290 lb expected"
AS_TEXT = "format the cell as text and type it again"


@pytest.mark.parametrize(
    ("described", "cell", "message"),
    [
        (MASS, 290.0, f"'290' given, {MASS_WANTED}: {UNIT_FIX}"),
        (MASS, "290", f"'290' given, {MASS_WANTED}: {UNIT_FIX}"),
        (MASS, "290 st", f"'290 st' given, {MASS_WANTED}: write one number and one of these units: kg, lb, lbs"),
        (MASS, "1,200 lb", f"'1,200 lb' given, {MASS_WANTED}: write a decimal point and no thousands mark"),
        (MASS, "6-2", f"'6-2' given, {MASS_WANTED}: write one number and one of these units: kg, lb, lbs"),
        (MASS, "900 lb", "'900 lb' given, a mass from 25 kg to 260 kg expected: check the number and the unit"),
        (MASS, "290 kg", "'290 kg' given, a mass from 25 kg to 260 kg expected: check the number and the unit"),
        (STATURE, "75 cm", "'75 cm' given, a length from 1.1 m to 2.4 m expected: check the number and the unit"),
        (NUMBER, 52.5, "'52.5' given, a whole number such as 52 expected: write digits only"),
        (NUMBER, "-1", "'-1' given, a whole number such as 52 expected: write digits only"),
        (NUMBER, True, "'TRUE' given, a whole number such as 52 expected: write digits only"),
        (NUMBER, 100.0, "'100' given, a whole number from 0 to 99 expected: check the whole number"),
        (DAY, "03/04/2026", f"'03/04/2026' given, {ISO}: {DATE_FIX}"),
        (DAY, "28.11.2026", f"'28.11.2026' given, {ISO}: {DATE_FIX}"),
        (DAY, 46354.0, f"'46354' given, {ISO}: {DATE_FIX}"),
        (DAY, "2026-02-30", f"'2026-02-30' given, {ISO}: the calendar has no such day"),
        (DAY, datetime(2026, 11, 28, 19), f"'2026-11-28 19:00:00' given, {ISO}: leave out the time of day"),  # noqa: DTZ001
        (DAY, date(1900, 2, 21), "'1900-02-21' given, a date from 2000-01-01 to 2099-12-31 expected: check the date"),
        (START, "7 pm", f"'7 pm' given, {CLOCK}"),
        (START, "24:00", f"'24:00' given, {CLOCK}"),
        (START, 0.75, f"'0.75' given, {CLOCK}"),
        (START, timedelta(days=1, hours=1), f"'1 day, 1:00:00' given, {CLOCK}"),
        (FIT, 1.0, "'1' given, yes or no expected: write yes or no, or leave it blank if not known"),
        (FIT, "perhaps", "'perhaps' given, yes or no expected: write yes or no, or leave it blank if not known"),
        (
            FACE_MASK,
            "screw",
            "'screw' given, one of: screws, quick release, no face mask expected: did you mean 'screws'?",
        ),
        (FACE_MASK, "glue", "'glue' given, one of: screws, quick release, no face mask expected: choose one of these"),
        (CODE, "", "nothing given, a code such as T1-52 expected: fill it in"),
        (
            CODE,
            "T1 52",
            "'T1 52' given, a code such as T1-52 expected: leave out blanks , ; and @, at most 40 characters",
        ),
        (
            CODE,
            "R-1@8min",
            "'R-1@8min' given, a code such as T1-52 expected: leave out blanks , ; and @, at most 40 characters",
        ),
        (
            CODE,
            1.5,
            f"'1.5' given, a code such as T1-52 expected: the spreadsheet may have changed the number; {AS_TEXT}",
        ),
        (CODE, True, f"'TRUE' given, a code such as T1-52 expected: {AS_TEXT}"),
        (
            CODE,
            date(2026, 1, 2),
            f"'2026-01-02' given, a code such as T1-52 expected: the spreadsheet made it a date or time; {AS_TEXT}",
        ),
        (
            EDITION,
            date(2026, 3, 1),
            f"'2026-03-01' given, a text such as 2026-03 expected: the spreadsheet made it a date or time; {AS_TEXT}",
        ),
        (
            PRESENT,
            "R-1@8",
            "'R-1@8' given, a code such as RT-04 or AMB-2@8min expected: write minutes away as @8min",
        ),
        (PRESENT, "R-1@200min", "'R-1@200min' given, at most 180 min expected: leave out what comes later"),
        (
            PRESENT,
            "R-1, R-1@8min",
            "'R-1, R-1@8min' given, each only once expected: 'R-1' stands there 2 times: keep one",
        ),
        (TEAMS, ", ;", "', ;' given, references such as T-1 expected: fill it in"),
    ],
)
def test_refuses(described: FieldDescription, cell: Any, message: str) -> None:
    with pytest.raises(InputError) as refused:
        read_value(described, cell)

    assert str(refused.value) == message


def test_limits_themselves_are_taken() -> None:
    assert read_value(MASS, "25 kg") == read_mass("25 kg")
    assert read_value(MASS, "260 kg") == read_mass("260 kg")
    assert read_value(NUMBER, "0") == 0
    assert read_value(NUMBER, "99") == 99


def test_long_texts_are_refused_whole() -> None:
    with pytest.raises(InputError, match="at most 1000 characters expected: shorten it from 1001"):
        read_value(PLAYS, "x" * 1001)


@pytest.mark.parametrize(
    ("typed", "clean"),
    [
        ("\ufeff a\u00adb \t c\r\n", "ab c"),
        ("e\u0301", "é"),
        ("\u202eabc\u0000", "abc"),
        ("می\u200cروم", "می\u200cروم"),
        ("🏈", "🏈"),
    ],
)
def test_invisible_characters_go_and_joiners_of_words_stay(typed: str, clean: str) -> None:
    assert cleaned(typed) == clean


def test_values_are_shown_as_typed() -> None:
    shown = [
        as_typed(MASS, read_mass("350  lb")),
        as_typed(FIT, False),
        as_typed(START, time(9, 5)),
        as_typed(DAY, date(2026, 11, 28)),
        as_typed(PRESENT, (Presence("R-1"), Presence("R-5", 8))),
        as_typed(MASS, None),
    ]

    assert shown == ["350 lb", "no", "09:05", "2026-11-28", "R-1, R-5@8min", ""]


def test_cells_are_shown_as_the_spreadsheet_shows_them() -> None:
    assert [shown_cell(cell) for cell in (52.0, 131.5, True, "x", time(19))] == ["52", "131.5", "TRUE", "x", "19:00:00"]


@pytest.mark.parametrize("kind", [Athlete, Agency, Event, Gear, Responder])
def test_every_example_of_the_guide_can_be_typed(kind: type[Record]) -> None:
    for described in fields_of(kind):
        assert described.example, f"{described.header} has no example"
        assert as_typed(described, read_value(described, described.example)) == described.example


def test_the_day_of_an_inspection_may_be_blank() -> None:
    assert read_value(INSPECTED, "") is None
