"""Every sheet takes its own examples and refuses what cannot be right, with place, given, expected and what to do."""

import io
from collections.abc import Iterable
from datetime import date

import pytest
from openpyxl import load_workbook

from onthree.programme.fields import LISTS, FieldDescription, Kind
from onthree.programme.records import SHEETS
from tests.unit.workbook.example_sheets import (
    EVERY_FIELD,
    example,
    fields,
    problems_of_both,
    problems_of_workbook,
    read_both,
)
from tests.unit.workbook.typed_sheets import saved, workbook_of

EVERY_SHEET = pytest.mark.parametrize("title", SHEETS)
FORMULA = "a typed value, not a formula expected: copy the cell and paste its value"


def each(*kinds: Kind, required: bool = False) -> pytest.MarkDecorator:
    """A test for every field of these kinds, of every sheet."""
    chosen = [(title, field) for title, field in EVERY_FIELD if field.kind in kinds or (required and field.is_required)]
    return pytest.mark.parametrize(("title", "field"), chosen, ids=[f"{title}-{field.name}" for title, field in chosen])


def one_problem(title: str, field: FieldDescription, cell: object) -> str:
    """The only problem of a row of examples with this cell."""
    (problem,) = problems_of_both(example(title, **{field.name: cell}))
    assert problem.startswith(f"{title}, row 2, {field.header}: ")
    return problem


def letter(title: str, field: FieldDescription) -> str:
    """The column of a field on its sheet."""
    place = fields(title).index(field)
    return f"{'A' if place > 25 else ''}{chr(ord('A') + place % 26)}"


@EVERY_SHEET
def test_examples_are_right(title: str) -> None:
    (record,) = read_both(example(title))
    assert isinstance(record, SHEETS[title])


@EVERY_SHEET
def test_a_row_of_required_cells_is_enough(title: str) -> None:
    blank = {field.name: None for field in fields(title) if not field.is_required}
    (record,) = read_both(example(title, **blank))
    assert all(not getattr(record, name) for name in blank)


@each(required=True)
def test_a_required_cell_left_blank(title: str, field: FieldDescription) -> None:
    problem = one_problem(title, field, None)
    assert "nothing given, " in problem
    assert problem.endswith(f" such as {field.example} expected: fill it in")


@each(required=True)
def test_a_required_column_left_out(title: str, field: FieldDescription) -> None:
    headers, row = example(title)[title]
    place = fields(title).index(field)
    cut = [[*cells[:place], *cells[place + 1 :]] for cells in (headers, row)]

    wanted = f"{title}, row 1, {field.header}: nothing given, a column with this header expected: add it"
    assert problems_of_both({title: cut}) == [wanted]


@EVERY_SHEET
def test_an_unknown_header(title: str) -> None:
    headers, row = example(title)[title]
    (problem,) = problems_of_both({title: [[*headers, "Shoe colour"], [*row, "blue"]]})
    assert "'Shoe colour' given, a header of this sheet expected: known are Code, " in problem


@EVERY_SHEET
def test_a_misspelt_header(title: str) -> None:
    headers, row = example(title)[title]
    misspelt = f"{headers[1]}x"
    told = problems_of_both({title: [[headers[0], misspelt, *headers[2:]], row]})
    assert f"{title}, row 1, column B: {misspelt!r} given, a header of this sheet expected: did you mean" in told[0]


@EVERY_SHEET
def test_a_header_twice(title: str) -> None:
    headers, row = example(title)[title]
    (problem,) = problems_of_both({title: [[*headers, headers[1]], [*row, row[1]]]})
    assert f"{headers[1]!r} given, each header once expected: columns B and " in problem


@EVERY_SHEET
def test_a_cell_without_a_header(title: str) -> None:
    headers, row = example(title)[title]
    (problem,) = problems_of_both({title: [[*headers, None], [*row, "lost"]]})
    assert "'lost' given, a header above it expected" in problem or "as many cells as row 1 has" in problem


@EVERY_SHEET
def test_rows_above_the_headers(title: str) -> None:
    headers, row = example(title)[title]
    above = ["Season 2026", *[None] * (len(headers) - 1)]
    (problem,) = problems_of_both({title: [above, headers, row]})
    assert problem.startswith(f"{title}, row 2: ")
    assert problem.endswith("headers in row 1 expected: delete the rows above them")


@EVERY_SHEET
def test_the_same_code_twice(title: str) -> None:
    headers, row = example(title)[title]
    told = problems_of_both({title: [headers, row, row]})
    of_the_code = [problem for problem in told if problem.startswith(f"{title}, row 3, Code: ")]
    assert len(of_the_code) == 1
    assert "row 2 has" in of_the_code[0]


@EVERY_SHEET
def test_merged_headers(title: str) -> None:
    workbook = load_workbook(io.BytesIO(workbook_of(example(title))))
    workbook[title].merge_cells("A1:B1")
    told = problems_of_workbook(saved(workbook))
    assert told[0] == (
        f"{title}, row 1, column A: 'A1:B1' given, cells that are not merged expected: "
        "unmerge the cells and fill each one in"
    )


@EVERY_SHEET
def test_hidden_rows_and_columns_are_read_like_any_other(title: str) -> None:
    workbook = load_workbook(io.BytesIO(workbook_of(example(title, code="a b"))))
    workbook[title].row_dimensions[2].hidden = True
    workbook[title].column_dimensions["A"].hidden = True
    (problem,) = problems_of_workbook(saved(workbook))
    assert problem.startswith(f"{title}, row 2, Code: 'a b' given, ")


@pytest.mark.parametrize(("title", "field"), EVERY_FIELD, ids=[f"{title}-{field.name}" for title, field in EVERY_FIELD])
def test_formulas_and_error_values(title: str, field: FieldDescription) -> None:
    here = f"{title}, row 2, column {letter(title, field)}"
    (formula,) = problems_of_workbook(workbook_of(example(title, **{field.name: "=A1"})))
    (error,) = problems_of_workbook(workbook_of(example(title, **{field.name: "#REF!"})))

    assert formula.startswith(f"{here}: '=A1' given, {FORMULA}")
    assert error == f"{here}: '#REF!' given, a value, not an error expected: type the value"


@each(Kind.CODE, Kind.REFERENCE)
def test_codes_that_are_none(title: str, field: FieldDescription) -> None:
    for code in ("a b", "a,b", "a@b", "x" * 41):
        assert "leave out blanks , ; and @, at most 40 characters" in one_problem(title, field, code)


@each(Kind.REFERENCE, Kind.REFERENCES, Kind.PRESENCES)
def test_a_reference_that_leads_nowhere(title: str, field: FieldDescription) -> None:
    first = field.example.partition(",")[0].partition("@")[0]
    problem = one_problem(title, field, f"{first}x")
    sheet = next(name for name, kind in SHEETS.items() if kind.__name__ == field.refers_to)
    assert problem.endswith(f"'{first}x' given, a code of the sheet {sheet} expected: did you mean {first!r}?")


@each(Kind.REFERENCES, Kind.PRESENCES, Kind.CHOICES, Kind.WORDS)
def test_one_twice_in_a_list(title: str, field: FieldDescription) -> None:
    """Among them one responder twice at one event, also where the minutes differ."""
    first = field.example.partition(",")[0].partition("@")[0]
    assert "each only once expected" in one_problem(title, field, f"{first}, {first}")
    if field.kind is Kind.PRESENCES:
        assert "each only once expected" in one_problem(title, field, f"{first}; {first}@8min")


@each(Kind.PRESENCES)
def test_minutes_away_that_cannot_be_read(title: str, field: FieldDescription) -> None:
    first = field.example.partition(",")[0].partition("@")[0]
    for presence in (f"{first}@8", f"{first}@999min", f"{first} 8 min"):
        assert f"{presence!r} given" in one_problem(title, field, presence)


@each(Kind.CHOICE, Kind.CHOICES)
def test_a_choice_that_is_none(title: str, field: FieldDescription) -> None:
    problem = one_problem(title, field, "something else entirely")
    assert problem.endswith(f"one of: {', '.join(field.choices)} expected: choose one of these")
    assert f"did you mean {field.choices[0]!r}?" in one_problem(title, field, f"{field.choices[0]}x")


@each(Kind.YES_NO)
def test_neither_yes_nor_no(title: str, field: FieldDescription) -> None:
    for answer in ("x", "1", "maybe"):
        assert "yes or no expected: write yes or no" in one_problem(title, field, answer)


@each(Kind.MASS)
def test_masses(title: str, field: FieldDescription) -> None:
    assert "write the unit after the number (kg, lb, lbs); it is never guessed" in one_problem(title, field, "25")
    assert "write one number and one of these units: kg, lb, lbs" in one_problem(title, field, "25 st")
    assert "write one number and one of these units: kg, lb, lbs" in one_problem(title, field, "25 stone")
    assert "write a number above zero" in one_problem(title, field, "-1 kg")
    assert "write a decimal point and no thousands mark" in one_problem(title, field, "1,200 lb")
    assert f"from {field.lowest} to {field.highest} expected" in one_problem(title, field, "99999 kg")


@each(Kind.MASS, Kind.LENGTH)
def test_a_unit_in_the_header(title: str, field: FieldDescription) -> None:
    units = "kg, lb, lbs" if field.kind is Kind.MASS else "m, cm, mm, in, ft"
    sheets = example(title)
    headers, row = (list(cells) for cells in sheets[title])
    headers[fields(title).index(field)] = f"{field.header} (st)"
    told = problems_of_both({title: [headers, row]})
    assert f"a header with one of these units: {units} expected: write {field.header} (unit)" in told[0]


@each(Kind.LENGTH)
def test_lengths(title: str, field: FieldDescription) -> None:
    for length in ("190", "6-3", "2 yards", "1,90 m"):
        assert f"{length!r} given, a length such as" in one_problem(title, field, length)
    assert f"from {field.lowest} to {field.highest} expected" in one_problem(title, field, "9999 m")


@each(Kind.INTEGER)
def test_whole_numbers(title: str, field: FieldDescription) -> None:
    for number in ("5.5", "five", "-1", "1e2"):
        assert "write digits only" in one_problem(title, field, number)
    assert "expected: check the" in one_problem(title, field, "999999")


@each(Kind.NUMBER)
def test_numbers(title: str, field: FieldDescription) -> None:
    for number in ("1,5", "5 s", "1e2", "five", "nan"):
        assert "write digits and a decimal point" in one_problem(title, field, number)
    assert f"from {field.lowest} to {field.highest} expected" in one_problem(title, field, "999999")


@each(Kind.DATE)
def test_dates(title: str, field: FieldDescription) -> None:
    assert "the order is never guessed" in one_problem(title, field, "03/04/2026")
    assert "the calendar has no such day" in one_problem(title, field, "2026-02-30")
    assert "from 2000-01-01 to 2099-12-31" in one_problem(title, field, "1900-01-01")


@each(Kind.CLOCK)
def test_times_of_day(title: str, field: FieldDescription) -> None:
    for clock in ("7 pm", "25:00", "19.30", "noon"):
        assert "write hours and minutes of the 24-hour clock" in one_problem(title, field, clock)


@each(Kind.TEXT, Kind.WORDS)
def test_texts_that_a_spreadsheet_changed_or_nobody_reads(title: str, field: FieldDescription) -> None:
    (problem,) = problems_of_workbook(workbook_of(example(title, **{field.name: date(2026, 3, 1)})))
    assert "the spreadsheet made it a date or time; format the cell as text" in problem
    assert "at most 1000 characters" in one_problem(title, field, "x" * 1001)


def test_all_sheets_at_once_or_some() -> None:
    """A workbook may leave sheets out; every sheet together is as good."""
    together = {title: rows for each_title in SHEETS for title, rows in example(each_title).items()}
    assert len(read_both(together)) == len(SHEETS)


def test_every_kind_is_tried() -> None:
    tried: Iterable[Kind] = {field.kind for _, field in EVERY_FIELD}
    assert set(tried) == set(Kind)
    assert set(LISTS) < set(tried)
