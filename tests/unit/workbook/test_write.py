"""The written workbook: what a person sees and can do in it, and that no text becomes a formula."""

import io
from datetime import date, time

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter

from onthree.programme.fields import Kind, fields_of
from onthree.programme.presence import Presence
from onthree.programme.records import SHEETS, Athlete, Event, Gear, Organisation, Team, Venue
from onthree.units import read_length, read_mass
from onthree.workbook.write import INVENTED, write_template, write_workbook
from tests.unit.workbook.typed_sheets import members_of, read

TEAM = Team(code="T-1", name="Herons")


def opened(content: bytes) -> Workbook:
    return load_workbook(io.BytesIO(content))


def shown(workbook: Workbook, title: str, header: str) -> object:
    """The value in row 2 under a header."""
    headers = [cell.value for cell in workbook[title][1]]
    return workbook[title].cell(2, headers.index(header) + 1).value


def test_the_template_has_every_sheet_and_header_and_no_data() -> None:
    workbook = opened(write_template())

    assert workbook.sheetnames == ["Guide", *SHEETS]
    for title, kind in SHEETS.items():
        (headers,) = workbook[title].iter_rows(values_only=True)
        assert list(headers) == [field.header for field in fields_of(kind)]
    assert read(write_template()) == ()


def test_required_headers_are_marked_by_style_and_every_header_explains_itself() -> None:
    sheet = opened(write_template())["Athletes"]
    for cell, field in zip(sheet[1], fields_of(Athlete), strict=True):
        assert cell.font.bold == field.is_required
        assert (cell.border.bottom.style == "thick") == field.is_required
        assert field.help in cell.comment.text
        assert f"Example: {field.example}" in cell.comment.text
        assert ("Must be filled in." in cell.comment.text) == field.is_required
    assert sheet.freeze_panes == "B2"


def test_values_stand_as_typed() -> None:
    event = Event(
        code="E-1",
        name="Practice",
        kind="practice",
        day=date(2026, 11, 28),
        start=time(19, 30),
        venue="V-1",
        teams=("T-1",),
        responders=(Presence("R-1"), Presence("R-5", 8)),
    )
    scoop = Gear(code="G-1", kind="scoop", name="wide scoop", helmets=("round screws", "flat"), in_service=False)
    athlete = Athlete(code="007", team="T-1", number=7, mass=read_mass("290 lb"), stature=read_length("6'3\""))
    workbook = opened(write_workbook([athlete, event, scoop]))

    (row,) = workbook["Athletes"].iter_rows(min_row=2, values_only=True)
    assert row[:7] == ("007", "T-1", 7, None, "290 lb", "6'3\"", None)
    assert set(row[7:]) == {None}
    day, start = workbook["Events"]["D2"], workbook["Events"]["E2"]
    assert (day.is_date, day.value.date(), day.number_format) == (True, date(2026, 11, 28), "yyyy-mm-dd")
    assert (start.value, start.number_format) == (time(19, 30), "hh:mm")
    assert shown(workbook, "Events", "Responders") == "R-1, R-5@8min"
    assert shown(workbook, "Gear", "Tried on helmets") == "round screws, flat"
    assert shown(workbook, "Gear", "In service") == "no"


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@SUM(A1)", "#REF!", '=HYPERLINK("x")', "2026-11-28", "52"])
def test_no_text_becomes_anything_else(name: str) -> None:
    content = write_workbook([Team(code="T-1", name=name)])
    cell = opened(content)["Teams"]["B2"]

    assert (cell.value, cell.data_type, cell.number_format) == (name, "s", "@")
    assert cell.quotePrefix == (name[0] in "=+-@")
    assert not any(b"<f>" in member for member in members_of(content).values())
    assert read(content) == (Team(code="T-1", name=name),)


def test_characters_that_no_workbook_can_hold_are_left_out() -> None:
    assert read(write_workbook([Team(code="T-1", name="He\x00ro\x1bns\ufffe")])) == (TEAM,)


def test_columns_offer_their_choices() -> None:
    """The codes on offer reach to the last row that is read: a list that stops before it would refuse a right code."""
    workbook = opened(write_template())
    offered = {
        title: {
            str(rule.sqref).split(":")[0]: rule.formula1 for rule in workbook[title].data_validations.dataValidation
        }
        for title in SHEETS
    }

    assert offered["Athletes"]["B2"] == "Teams!$A$2:$A$50000"
    assert offered["Athletes"]["H2"] == '"screws,quick release,no face mask"'
    assert "Hospitals!$A$2:$A$50000" in offered["Venues"].values()
    assert list(offered["Organisation"].values()) == ['"yes,no"']
    assert offered["Teams"] == {}


def test_every_choice_reference_and_yes_or_no_is_on_offer() -> None:
    """A list too long for a cell's own drop-down is not on offer; the guide has it."""
    workbook = opened(write_template())
    single = (Kind.CHOICE, Kind.REFERENCE, Kind.YES_NO)
    for title, kind in SHEETS.items():
        rules = {str(rule.sqref).split(":")[0] for rule in workbook[title].data_validations.dataValidation}
        wanted = [field for field in fields_of(kind) if field.kind in single and len(",".join(field.choices)) < 250]
        columns = [list(fields_of(kind)).index(field) + 1 for field in wanted]
        assert rules == {f"{get_column_letter(column)}2" for column in columns}, title


def test_the_guide_describes_every_column() -> None:
    guide = list(opened(write_template())["Guide"].iter_rows(values_only=True))
    rows = [(row[0], row[1]) for row in guide]

    assert [(title, field.header) for title, kind in SHEETS.items() for field in fields_of(kind)] == [
        row for row in rows if row[0] in SHEETS
    ]
    assert ("Athletes", "Body mass", "mass", None, "from 25 kg to 260 kg", "With unit.", "290 lb") in guide
    assert any("Local protocol, medical direction and the maker's manual come first" in str(row[0]) for row in guide)


def test_invented_data_are_marked_first_and_on_every_page() -> None:
    invented = opened(write_workbook([Organisation(code="ORG", name="Conference", is_invented=True)]))
    real = opened(write_workbook([Organisation(code="ORG", name="Conference", is_invented=False)]))

    assert invented["Guide"]["A1"].value == INVENTED
    assert {sheet.oddHeader.center.text for sheet in invented.worksheets} == {INVENTED}
    assert INVENTED not in [cell.value for cell in real["Guide"]["A"]]
    assert {sheet.oddHeader.center.text for sheet in real.worksheets} == {None}


def test_records_keep_their_order() -> None:
    records = (Venue(code="V-2", name="b"), Venue(code="V-1", name="a"), TEAM)

    assert read(write_workbook(records)) == records
