"""Files that are no workbook, or that try to do harm: one clear problem each, and little time and memory spent."""

import io
import random
import struct
import zipfile

import pytest

from onthree.workbook import spreadsheet
from onthree.workbook.marks import MOST_CELLS, Marks, place_of, reference_of, refuse_swelling
from onthree.workbook.problems import InputError
from onthree.workbook.spreadsheet import read_tables
from tests.unit.workbook.typed_sheets import TEAMS, archive_of, members_of, problems_of, workbook_of

SAVE_AGAIN = "open it in a spreadsheet program and save it again as .xlsx or .ods"
WANTED = "a workbook saved as .xlsx or .ods expected"
DAMAGED = f"the file: a damaged file, or one of another kind given, {WANTED}: {SAVE_AGAIN}"
PLAIN = workbook_of({"Teams": TEAMS})
SHEET = "xl/worksheets/sheet1.xml"


def with_sheet(xml: str) -> bytes:
    """A workbook whose sheet Teams is this XML."""
    namespace = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return archive_of({**members_of(PLAIN), SHEET: f'<worksheet xmlns="{namespace}">{xml}</worksheet>'.encode()})


def ods_with(table: str) -> bytes:
    """An OpenDocument workbook whose sheet Teams holds these rows."""
    content = (
        '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
        'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>'
        f'<table:table table:name="Teams">{table}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    return archive_of(
        {
            "mimetype": b"application/vnd.oasis.opendocument.spreadsheet",
            "META-INF/manifest.xml": b'<manifest xmlns="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>',
            "content.xml": content.encode(),
        }
    )


def ods_cell(text: str, attributes: str = "") -> str:
    return f'<table:table-cell office:value-type="string" {attributes}><text:p>{text}</text:p></table:table-cell>'


def test_ten_megabytes_of_junk() -> None:
    junk = random.Random(1).randbytes(10_000_000)

    assert problems_of(junk) == [
        "the file: 10,000,000 bytes given, at most 5,000,000 bytes expected: "
        "send only the programme's sheets, without pictures"
    ]


@pytest.mark.parametrize("content", [b"", b"PK", b"Code;Name\n", random.Random(2).randbytes(4_000), PLAIN[:-30]])
def test_junk_and_broken_downloads(content: bytes) -> None:
    assert problems_of(content) == [DAMAGED]


def test_an_xls_or_encrypted_file() -> None:
    # Both are compound files; the signature is from MS-CFB 2.2, from memory.
    content = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(5_000)

    assert problems_of(content) == [
        f"the file: an .xls workbook or one with a password given, {WANTED}: {SAVE_AGAIN}, without a password"
    ]


def test_an_encrypted_ods() -> None:
    manifest = b"<manifest:encryption-data/>"
    content = archive_of({"META-INF/manifest.xml": manifest, "content.xml": b"\x8f\x02secret"})

    assert problems_of(content) == [
        f"the file: a workbook with a password given, {WANTED}: {SAVE_AGAIN}, without a password"
    ]


def test_another_kind_of_archive() -> None:
    assert problems_of(archive_of({"letter.txt": b"hello"})) == [
        f"the file: another kind of file given, {WANTED}: {SAVE_AGAIN}"
    ]


def test_a_zip_bomb() -> None:
    bomb = archive_of({**members_of(PLAIN), "xl/media/blank.bin": bytes(900_000_000 // 10)})

    (problem,) = problems_of(bomb)

    assert problem.startswith("the file: 90,0")
    assert "bytes when unpacked given, at most" in problem


def test_a_bomb_just_below_the_size_limit_is_refused_by_its_ratio() -> None:
    bomb = archive_of({**members_of(PLAIN), "xl/media/blank.bin": bytes(50_000_000)})

    assert len(bomb) * spreadsheet.MOST_TIMES_LARGER < spreadsheet.MOST_UNPACKED_BYTES
    assert "bytes when unpacked given, at most" in problems_of(bomb)[0]


def test_a_directory_that_lies_about_sizes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The directory says 1,000 bytes where 50 million are packed: reading stops there and the check sum tells."""
    honest = archive_of({**members_of(PLAIN), SHEET: bytes(50_000_000)})
    lying = honest.replace(struct.pack("<I", 50_000_000), struct.pack("<I", 1_000))
    most_read = 0
    read = zipfile.ZipExtFile.read

    def measured(self: zipfile.ZipExtFile, n: int | None = -1) -> bytes:
        nonlocal most_read
        content = read(self, n)
        most_read = max(most_read, len(content))
        return content

    monkeypatch.setattr(zipfile.ZipExtFile, "read", measured)

    assert lying != honest
    assert problems_of(lying) == [DAMAGED]
    assert most_read <= 100_000


def test_a_file_named_twice_inside() -> None:
    content = io.BytesIO(PLAIN)
    with zipfile.ZipFile(content, "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr(SHEET, members_of(PLAIN)[SHEET])

    (problem,) = problems_of(content.getvalue())

    assert "files inside given, at most 1,000, each once expected" in problem


def test_too_many_files_inside() -> None:
    many = archive_of({f"{number}.xml": b"" for number in range(1_001)})

    assert problems_of(many) == [f"the file: 1,001 files inside given, at most 1,000, each once expected: {SAVE_AGAIN}"]


def test_an_unusual_compression() -> None:
    content = archive_of(members_of(PLAIN), zipfile.ZIP_LZMA)

    assert problems_of(content) == [f"the file: an unusual kind of compression given, {WANTED}: {SAVE_AGAIN}"]


def test_entities_that_swell() -> None:
    laughs = '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]><worksheet>&b;</worksheet>'
    content = archive_of({**members_of(PLAIN), SHEET: laughs.encode()})

    assert problems_of(content) == [
        "the file: XML with a document type given, a plain workbook expected: open it and save it again"
    ]


def test_a_cell_far_outside() -> None:
    content = with_sheet('<sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>')

    assert problems_of(content) == [
        "the file: something in cell XFD1048576 given, at most 50,000 rows and 100 columns expected: clear that cell"
    ]


def test_ods_cells_repeated_without_end() -> None:
    cell = ods_cell("x", 'table:number-columns-repeated="16384"')
    content = ods_with(f'<table:table-row table:number-rows-repeated="1048576">{cell}</table:table-row>')

    assert problems_of(content) == [
        "the file: something in cell XFD1048576 given, at most 50,000 rows and 100 columns expected: clear that cell"
    ]


def test_more_cells_than_any_programme() -> None:
    """Each sheet stays below the limit of rows and columns; together they do not."""
    sheet = Marks(rows=50_000, columns=25)

    refuse_swelling([sheet])
    with pytest.raises(InputError, match="more cells"):
        refuse_swelling([sheet, sheet])


def test_one_long_text_repeated_in_many_cells() -> None:
    with pytest.raises(InputError, match="300,000,001 characters"):
        refuse_swelling([Marks(rows=1, columns=1, filled=1)], longest_shared=300_000_001)
    text = ods_cell("x" * 1_000, 'table:number-columns-repeated="100"')
    content = ods_with(f'<table:table-row table:number-rows-repeated="5000">{text}</table:table-row>')

    assert problems_of(content) == [
        "the file: room for 500,000,000 characters of text given, at most 300,000,000 expected: "
        "shorten the longest texts"
    ]


def test_merged_areas_without_end() -> None:
    merge = '<mergeCell ref="A1:CV50000"/>'
    content = with_sheet(f"<sheetData/><mergeCells>{merge}</mergeCells>")

    assert problems_of(content) == [
        f"the file: more cells given, at most {MOST_CELLS:,} expected: send only the programme's own sheets"
    ]


def test_a_sheet_without_contents() -> None:
    members = members_of(PLAIN)
    del members[SHEET]

    assert problems_of(archive_of(members)) == [
        f"the file: sheet 'Teams' without its contents given, an undamaged workbook expected: {SAVE_AGAIN}"
    ]


@pytest.mark.parametrize("xml", ["<sheetData><row", '<sheetData><row r="x"/></sheetData>', "<sheetData/></worksheet>"])
def test_broken_xml(xml: str) -> None:
    (problem,) = problems_of(with_sheet(xml))

    assert problem.startswith("the file: broken XML (")
    assert problem.endswith("given, an undamaged workbook expected: open it and save it again")


@pytest.mark.parametrize(
    "cell", ['<c r="a1"><v>1</v></c>', '<c r="A0"><v>1</v></c>', '<c r="ZZZZ1"><v>1</v></c>', '<c r="A"><v>1</v></c>']
)
def test_cells_that_are_nowhere(cell: str) -> None:
    (problem,) = problems_of(with_sheet(f'<sheetData><row r="1">{cell}</row></sheetData>'))

    assert problem.startswith("the file: ")


def test_cells_without_reference_are_counted() -> None:
    cell = '<c t="inlineStr"><is><t>{}</t></is></c>'
    header = f"<row>{cell.format('Code')}{cell.format('Name')}</row>"
    content = with_sheet(f"<sheetData>{header}<row>{cell.format('T-1')}<c><f>1+1</f><v>2</v></c></row></sheetData>")

    assert problems_of(content)[0].startswith("Teams, row 2, column B: '=1+1' given")


def test_ods_repeats_move_the_places_of_cells() -> None:
    formula = ods_cell("x", 'table:formula="of:=[.A1]"')
    rows = (
        f"<table:table-row>{ods_cell('Code')}{ods_cell('Name')}{ods_cell('Sport')}</table:table-row>"
        '<table:table-row table:number-rows-repeated="3"><table:table-cell/></table:table-row>'
        f"<table:table-row>{ods_cell('T-1')}{formula}</table:table-row>"
    )

    assert problems_of(ods_with(rows)) == [
        "Teams, row 5, column B: '=[.A1]' given, a typed value, not a formula expected: "
        "copy the cell and paste its value; a formula's stored result can be out of date"
    ]


def test_only_checked_parts_reach_the_reader() -> None:
    content = archive_of({**members_of(PLAIN), "xl/vbaProject.bin": b"macro", "xl/media/a.png": b"x"})

    (table,) = read_tables(content)

    assert table.title == "Teams"
    assert [list(row) for row in table.rows] == [list(row) for row in TEAMS]


@pytest.mark.parametrize("reference", ["A1", "Z9", "AA10", "CV50000", "XFD1048576"])
def test_references_of_cells_go_both_ways(reference: str) -> None:
    assert reference_of(place_of(reference)) == reference
    assert place_of("$C$12") == (12, 3)


@pytest.mark.parametrize(
    "table",
    [
        '<table:table table:name="inner"/>',
        '<table:table-row table:number-rows-repeated="-1"/>',
        '<table:table-row table:number-rows-repeated="many"/>',
    ],
)
def test_broken_ods_tables(table: str) -> None:
    (problem,) = problems_of(ods_with(table))

    assert problem.startswith("the file: ")


def test_ods_error_values_and_notes() -> None:
    """The text of a note is not the text of its cell."""
    error = (
        '<table:table-cell office:value-type="string" calcext:value-type="error" xmlns:calcext="urn:x">'
        "<office:annotation><text:p>a note</text:p></office:annotation><text:p>#REF!</text:p></table:table-cell>"
    )
    rows = (
        f"<table:table-row>{ods_cell('Code')}{ods_cell('Name')}</table:table-row>"
        f"<table:table-row>{ods_cell('T-1')}{error}</table:table-row>"
    )

    assert problems_of(ods_with(rows)) == [
        "Teams, row 2, column B: '#REF!' given, a value, not an error expected: type the value"
    ]


def test_what_the_reader_refuses_is_a_problem_too() -> None:
    (problem,) = problems_of(with_sheet('<sheetData><row r="1"><c r="A1" t="odd"><v>1</v></c></row></sheetData>'))

    assert problem.startswith("the file: a damaged workbook (")
