"""CSV files (RFC 4180): what another program may write is read, what cannot be read is told in one message."""

import pytest

from onthree.programme.records import SHEETS, Athlete, Organisation, Record, Team
from onthree.units import read_length, read_mass
from onthree.workbook.marks import MOST_ROWS
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_csv_files
from onthree.workbook.sheets_csv import MOST_CSV_BYTES, write_csv_files
from tests.unit.workbook.typed_sheets import TECHNIQUES

TEAM = Team(code="T-1", name="Herons")
SAVE_AGAIN = "save the sheet again as CSV in UTF-8, separated by commas or semicolons"


def read(**files: bytes | str) -> tuple[Record, ...]:
    """The records of files, sheet title to content."""
    contents = {f"{title}.csv": text.encode() if isinstance(text, str) else text for title, text in files.items()}
    return read_csv_files(contents, "season", known_techniques=TECHNIQUES)


def problems_of(**files: bytes | str) -> list[str]:
    """Every problem of files that must be refused."""
    with pytest.raises(WorkbookError) as refused:
        read(**files)
    return [str(problem) for problem in refused.value.problems]


@pytest.mark.parametrize(
    "text",
    [
        "Code,Name\nT-1,Herons\n",
        "Code,Name\r\nT-1,Herons",
        "Code;Name\nT-1;Herons\n",
        "Code,Name\rT-1,Herons\r",
        "\ufeffCode,Name\nT-1,Herons\n",
        '\ufeff"Code","Name"\n"T-1","Herons"\n',
        '"Code";"Name"\n"T-1";"Herons"\n',
        "Code,Name,,\n\n,,,\nT-1,Herons,,\n\n",
        "Code,Name\nT-1,Herons,,,\n",
        "name, CODE\n Herons ,T-1\n",
    ],
)
def test_ways_to_write_one_file(text: str) -> None:
    assert read(Teams=text) == (TEAM,)
    assert read(teams=text) == (TEAM,)


def test_quoted_separators_line_breaks_and_quotes() -> None:
    text = 'Code,Name,Sport\n"T-1","Herons, the\nsecond; team","say ""ice"""\nT-2,6\'3",football\n'

    assert read(Teams=text) == (
        Team(code="T-1", name="Herons, the second; team", sport='say "ice"'),
        Team(code="T-2", name="6'3\"", sport="football"),
    )


def test_rows_are_counted_as_a_spreadsheet_shows_them() -> None:
    text = 'Code,Name\n\nT-1,"Herons\nand more"\nT 2,Otters\n'

    assert problems_of(Teams=text)[0].startswith("Teams.csv, row 4, Code: 'T 2' given")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "'=1+1", "''-1", "'q'", "'", "\uff1d1", "=1,2;3", '="a"'])
def test_texts_that_a_spreadsheet_could_run_are_guarded_and_come_back(text: str) -> None:
    """That spreadsheets run a cell that begins with one of ``= + - @``: common practice, no source."""
    records = (Team(code="-T", name=text, sport=text), Athlete(code="=a", team="-T", plays=text))
    files = write_csv_files(records)

    assert read_csv_files(files, "season", known_techniques=()) == records
    for name in ("Teams.csv", "Athletes.csv"):
        for line in files[name].decode("utf-8-sig").splitlines():
            assert not any(
                cell[:1] in tuple("=+-@\uff1d") for cell in line.replace('"', "").split(",") if cell != "2;3"
            )


def test_a_text_that_looks_like_a_formula_is_text_and_no_number() -> None:
    assert read(Teams="Code,Name\nT-1,=1+1\n") == (Team(code="T-1", name="=1+1"),)
    assert "'=18 lb' given, a mass such as" in problems_of(Teams="Code,Name,Equipment worn\nT-1,a,=18 lb\n")[0]


def test_every_sheet_is_written_with_its_headers() -> None:
    files = write_csv_files([])

    assert list(files) == [f"{title}.csv" for title in SHEETS]
    assert files["Teams.csv"] == b"\xef\xbb\xbfCode,Name,Sport,Equipment worn\r\n"
    assert read_csv_files(files, "season", known_techniques=()) == ()


def test_values_stand_as_typed() -> None:
    athlete = Athlete(code="007", team="T-1", number=7, mass=read_mass("290 lb"), stature=read_length("6'3\""))
    line = write_csv_files([athlete])["Athletes.csv"].decode("utf-8-sig").splitlines()[1]

    assert line.startswith('007,T-1,7,,290 lb,"6\'3""",')


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("Code,Name\nT-1,Hérons\n".encode("latin-1"), "'line 2 with a character of another encoding' given, text in "),
        ("Code,Name\n".encode("utf-16"), "'text in UTF-16' given, text in "),
        ("Code,Name\nT-1,Herons\n".encode("utf-16-le"), "'a NUL character, as in files that are no text' given, text "),
        (b"Code,Name\nT-1,He\0rons\n", "'a NUL character, as in files that are no text' given, text in "),
        (b"PK\x03\x04\0\0", "'a NUL character, as in files that are no text' given, text in "),
        (b"Code,Name;Sport\n", "'commas and semicolons in row 1' given, one of the two as the separator "),
        (b"Code\tName\nT-1\tHerons\n", "'tabs in row 1' given, commas or semicolons as the separator "),
    ],
)
def test_files_that_cannot_be_read(content: bytes, message: str) -> None:
    (problem,) = problems_of(Teams=content)

    assert problem.startswith(f"Teams.csv: {message}")
    assert problem.endswith(f" expected: {SAVE_AGAIN}")


def test_a_file_that_cannot_be_read_is_not_held_against_those_who_refer_to_it() -> None:
    told = problems_of(Teams=b"\xff\xfe", Athletes="Code,Team\na,T-1\nb c,T-1\n")

    assert [problem.partition(":")[0] for problem in told] == ["Teams.csv", "Athletes.csv, row 3, Code"]


@pytest.mark.parametrize("text", ['Code,Name\nT-1,"Herons\nT-2,Otters\n', 'Code,Name\nT-1,"Her"ons\n'])
def test_quotes_that_do_not_fit(text: str) -> None:
    assert problems_of(Teams=text) == [
        "Teams.csv: 'row 2 with a quote that does not fit' given, quotes in pairs expected: "
        "close every quote, and write a quote inside a quoted text twice"
    ]


@pytest.mark.parametrize(
    ("row", "cells"), [("T-1,Herons, the,football", "4 cells"), ("T-1", "1 cell"), ("T-1,Herons", "2 cells")]
)
def test_rows_with_more_or_fewer_cells(row: str, cells: str) -> None:
    """A row that was cut off must not say that what is stored is not known."""
    assert problems_of(Teams=f"Code,Name,Sport\nT-0,Newts,\n{row}\n") == [
        f"Teams.csv, row 3, column A: '{cells}' given, as many cells as row 1 has expected: "
        "put quotes around a text that holds a separator, and a separator before each blank cell"
    ]


def test_the_other_separator_below_row_1() -> None:
    assert problems_of(Teams="Code,Name\nT-1;Herons\n") == [
        "Teams.csv, row 2, column A: '1 cell' given, as many cells as row 1 has expected: "
        "put quotes around a text that holds a separator, and a separator before each blank cell"
    ]


def test_blank_files_and_blank_first_rows() -> None:
    assert read(Teams="", Athletes="\n\n", Gear="\ufeff", Venues="Code,Name\n") == ()
    assert problems_of(Teams="\nCode,Name\nT-1,Herons\n") == [
        "Teams.csv: 'a blank row 1' given, headers in row 1 expected: delete the rows above them"
    ]


def test_file_names() -> None:
    assert problems_of(Team="Code,Name\nT-1,Herons\n", Budget="Item\n") == [
        "file names: 'Team' given, a sheet of the programme expected: did you mean 'Teams'?",
        f"file names: 'Budget' given, a sheet of the programme expected: known are {', '.join(SHEETS)}, Guide",
    ]
    assert problems_of(Teams="Code,Name\n", teams="Code,Name\n") == [
        "Teams.csv: 'teams' given, one sheet of this title expected: remove one of the two"
    ]
    assert read(Guide=b"\xff anything", Teams="Code,Name\nT-1,Herons\n") == (TEAM,)


def test_the_error_counts_and_names_the_folder() -> None:
    with pytest.raises(WorkbookError) as refused:
        read(Teams="Code,Name\nT 1,Herons\n", Venues="Code,Name\nV 1,Field\n")

    assert str(refused.value).splitlines()[0] == "season: 2 problems, nothing was imported"
    assert [problem.sheet for problem in refused.value.problems] == ["Venues.csv", "Teams.csv"]


def test_too_much_of_everything() -> None:
    (rows,) = problems_of(Teams="Code,Name\n" + "\n" * (MOST_ROWS + 1))
    (columns,) = problems_of(Teams="Code," * 200)
    (size,) = problems_of(Teams=b"," * (MOST_CSV_BYTES + 1))

    assert rows.startswith("Teams.csv: 'more rows or columns' given, at most 50,000 rows and 100 columns expected")
    assert columns == rows
    assert size.startswith("the file: 20,000,001 bytes given, at most 20,000,000 bytes expected")


def test_records_keep_their_order_and_kind() -> None:
    records = (Organisation(code="ORG", name="Invented"), Team(code="T-2", name="b"), TEAM)

    assert read_csv_files(write_csv_files(records), "season", known_techniques=()) == records
