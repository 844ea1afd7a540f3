"""What is written reads back the same; reading it again changes nothing; an edited export changes only the edit.

And whatever bytes come in, either records come out or a list of problems does.
"""

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import date, time
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.presence import Presence
from onthree.programme.programme import TABLES, Programme, programme_of
from onthree.programme.records import Athlete, Organisation, PreAgreement, Record
from onthree.units import read_length, read_mass
from onthree.workbook.changes import preview
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_workbook
from onthree.workbook.values import as_typed, cleaned
from onthree.workbook.write import write_workbook
from tests.unit.workbook.typed_sheets import archive_of, members_of

TODAY = date(2026, 11, 25)
TECHNIQUES = ("centring", "device_out_on_cot")

texts = st.text(max_size=30).map(cleaned) | st.sampled_from(
    [
        "=1+1",
        "+1",
        "-1",
        "@x",
        "#N/A",
        "52",
        "1e5",
        "TRUE",
        "2026-11-28",
        "19:00",
        "_x0041_",
        "a & b < c",
        "'",
        '"',
        "0012",
    ]
)
codes = st.from_regex(r"[A-Za-z0-9=+\-#'._/é]{1,8}", fullmatch=True)
pounds = st.integers(112, 500).map(lambda mass: read_mass(f"{mass} lb"))
light = st.decimals("0.1", "30", places=2).map(lambda mass: read_mass(f"{mass} kg"))
lengths = st.sampled_from(["6 ft 3 in", "6'3\"", "75 in", "190 cm", "1.9 m", "1905 mm", "6\u2032 3\u2033"]).map(
    read_length
)
minutes = st.integers(0, 180)


def mass_of(field: FieldDescription) -> st.SearchStrategy[Any]:
    """Masses within the bounds of the field, as one would type them."""
    return light if read_mass(field.highest).kg <= 80 else pounds


def value_of(field: FieldDescription, known: dict[str, list[str]]) -> st.SearchStrategy[Any]:
    """Any value that the field allows, None or nothing among them where it may be blank."""
    named = known.get(field.refers_to, [])
    lists: dict[Kind, Callable[[], st.SearchStrategy[Any]]] = {
        Kind.TEXT: lambda: texts.filter(bool) if field.is_required else texts,
        Kind.INTEGER: lambda: st.integers(int(field.lowest), int(field.highest)),
        Kind.MASS: lambda: mass_of(field),
        Kind.LENGTH: lambda: lengths,
        Kind.DATE: lambda: st.dates(date(2000, 1, 1), date(2099, 12, 31)),
        Kind.CLOCK: lambda: st.builds(time, st.integers(0, 23), st.integers(0, 59)),
        Kind.CHOICE: lambda: st.sampled_from(field.choices),
        Kind.CHOICES: lambda: unique(list(field.choices)).map(tuple),
        Kind.YES_NO: st.booleans,
        Kind.REFERENCE: lambda: st.sampled_from(named),
        Kind.REFERENCES: lambda: unique(named, least=field.is_required).map(tuple),
        Kind.PRESENCES: lambda: unique(named).flatmap(
            lambda there: st.tuples(*(st.builds(Presence, st.just(code), minutes) for code in there))
        ),
    }
    if field.kind is Kind.REFERENCE and not named:
        return st.none()
    value = lists[field.kind]()
    may_be_none = not field.is_required and field.kind not in (Kind.TEXT, Kind.CHOICES, Kind.REFERENCES, Kind.PRESENCES)
    return st.none() | value if may_be_none else value


def unique(named: list[str], least: bool = False) -> st.SearchStrategy[list[str]]:
    """Some of these words, each once."""
    if not named:
        return st.just([])
    return st.lists(st.sampled_from(named), unique=True, min_size=int(least), max_size=5)


@st.composite
def programmes(draw: st.DrawFn) -> Programme:
    """A programme of a few records of every kind, closed under references."""
    known: dict[str, list[str]] = {}
    records: list[Record] = []
    for kind in (Organisation, *TABLES):
        size = 1 if kind is Organisation else draw(st.integers(0, 3))
        here = draw(st.lists(codes, unique=True, min_size=size, max_size=size))
        required = [field.refers_to for field in fields_of(kind) if field.is_required and field.refers_to]
        if not all(known[name] for name in required):
            here = []
        for code in here:
            fields = [field for field in fields_of(kind) if field.name != "code"]
            values = {field.name: draw(value_of(field, known)) for field in fields}
            records.append(kind(code=code, **values))
        known[kind.__name__] = here
    return programme_of([settled(record, place) for place, record in enumerate(records)], TODAY)


def settled(record: Record, place: int) -> Record:
    """The record with what rows must not share, or must know, put right."""
    if isinstance(record, Athlete) and record.number is not None:
        return replace(record, number=place)
    if isinstance(record, PreAgreement):
        return replace(record, technique=TECHNIQUES[place % 2])
    return record


def read(content: bytes, current: Programme | None = None) -> tuple[Record, ...]:
    return read_workbook(content, "season.xlsx", known_techniques=TECHNIQUES, current=current)


@given(programmes())
@settings(max_examples=40, deadline=None)
def test_what_is_written_reads_back_the_same(programme: Programme) -> None:
    records = tuple(programme.records())

    back = read(write_workbook(records))

    assert back == records


@given(programmes())
@settings(max_examples=20, deadline=None)
def test_importing_an_export_changes_nothing(programme: Programme) -> None:
    changes = preview(programme, read(write_workbook(programme.records()), programme))

    assert changes.is_empty
    assert changes.kept == ()
    assert changes.unchanged == len(list(programme.records()))


@given(programmes(), st.data())
@settings(max_examples=30, deadline=None)
def test_an_edited_export_changes_only_what_was_edited(programme: Programme, data: st.DataObject) -> None:
    records = list(programme.records())
    place = data.draw(st.integers(0, len(records) - 1))
    old = records[place]
    known = {kind.__name__: list(programme.table(kind)) for kind in TABLES}
    typed_freely = [
        field for field in fields_of(type(old)) if field.name not in ("code", "team", "number", "technique", "venue")
    ]
    field = data.draw(st.sampled_from(typed_freely))
    new = replace(old, **{field.name: data.draw(value_of(field, known))})
    records[place] = new

    changes = preview(programme, read(write_workbook(records), programme))

    was, is_now = getattr(old, field.name), getattr(new, field.name)
    assert changes.added == changes.kept == ()
    assert [(one.field.name, one.old, one.new) for change in changes.changed for one in change.fields] == (
        [] if was == is_now else [(field.name, as_typed(field, was), as_typed(field, is_now))]
    )


@given(programmes(), st.randoms(use_true_random=False))
@settings(max_examples=20, deadline=None)
def test_rows_and_sheets_may_stand_in_any_order(programme: Programme, chance: random.Random) -> None:
    records = list(programme.records())
    shuffled = chance.sample(records, len(records))

    changes = preview(programme, read(write_workbook(shuffled)))

    assert changes.is_empty


SOUND = members_of(write_workbook([Organisation(code="ORG", name="Invented conference"), Athlete(code="a", team="T")]))
TOKENS = [b"<", b'"', b"&", b"-1", b"999999999999", b'r="A0"', b't="s"', b't="e"', b"<f>", b"</c>", b"nan", b"1e308"]


@given(st.sampled_from(sorted(name for name in SOUND if "xl/" in name)), st.data())
@settings(max_examples=150, deadline=None)
def test_a_damaged_workbook_is_records_or_problems(name: str, data: st.DataObject) -> None:
    member = SOUND[name]
    cut = data.draw(st.integers(0, len(member)))
    end = cut + data.draw(st.integers(0, 40))
    damaged = archive_of({**SOUND, name: member[:cut] + data.draw(st.sampled_from(TOKENS)) + member[end:]})
    try:
        records = read(damaged)
    except WorkbookError as error:
        assert error.problems
    else:
        assert all(isinstance(record, Record) for record in records)


@given(st.binary(max_size=300), st.booleans())
def test_any_bytes_are_problems(junk: bytes, is_zip_like: bool) -> None:
    try:
        read(b"PK\x03\x04" + junk if is_zip_like else junk)
    except WorkbookError as error:
        assert len(error.problems) == 1
    else:
        raise AssertionError("junk was taken for a workbook")
