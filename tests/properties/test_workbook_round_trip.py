"""What is written, as a workbook and as CSV files, reads back the same; an edited export changes only the edit.

And whatever bytes come in, either records come out or a list of problems does.
"""

import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, time
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from onthree.programme.fields import LISTS, FieldDescription, Kind, fields_of
from onthree.programme.presence import Presence
from onthree.programme.programme import TABLES, Programme, programme_of
from onthree.programme.records import (
    Athlete,
    Event,
    Gear,
    Incident,
    JerseyNumber,
    KnownGap,
    Measured,
    MedicalOrder,
    MutualAid,
    Organisation,
    PlanMark,
    PreAgreement,
    Record,
    Recording,
    Run,
    RunPhase,
    RunRole,
    Team,
    Told,
    Venue,
)
from onthree.programme.rehearsals import STRETCHES
from onthree.techniques.state import ARRIVALS
from onthree.units import KG_PER_LB, read_length, read_mass
from onthree.workbook.changes import preview
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_csv_files, read_workbook
from onthree.workbook.sheets_csv import write_csv_files
from onthree.workbook.values import as_typed, cleaned
from onthree.workbook.write import write_workbook
from tests.unit.workbook.typed_sheets import archive_of, members_of

TODAY = date(2026, 11, 25)
TECHNIQUES = ("centring", "device_out_on_cot")
QUANTITIES = ("start_lag_s", "peak_total_deg")
RULES = ("hands", "weight-limit")
DRAWN = ("POINT (-40 38)", "LINESTRING (-40 38, -40 31, -62 31)")
SETTLED = (
    "code",
    "number",
    "technique",
    "rule",
    "until",
    "signed_on",
    "shoulder_breadth",
    "padded_shoulder_breadth",
    "valid_until",
    "settled_on",
    "start",
    "end",
    "fits_items",
    "quantity",
    "order",
    "start_s",
    "end_s",
    "moment_s",
    "lasted_s",
    "neutral_from_s",
    "neutral_to_s",
    "nod_from_s",
    "nod_to_s",
    "turn_from_s",
    "turn_to_s",
    "value",
    "low",
    "high",
    "answer",
    "drawn",
    "latitude_deg",
    "longitude_deg",
    "bearing_deg",
)

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
words = st.lists(texts.map(lambda text: cleaned(text.translate({44: None, 59: None}))).filter(bool), unique=True)
minutes = st.integers(0, 180)


FEET = ("6 ft 3 in", "6'3\"", "75 in", "1.9 m", "1905 mm", "6\u2032 3\u2033", "3 ft", "15 in")


def mass_of(field: FieldDescription) -> st.SearchStrategy[Any]:
    """Masses within the bounds of the field, as one would type them."""
    lowest, highest = read_mass(field.lowest).kg, read_mass(field.highest).kg
    pounds = st.integers(int(lowest / KG_PER_LB) + 1, int(highest / KG_PER_LB)).map(lambda mass: f"{mass} lb")
    return (pounds | st.decimals(lowest, highest, places=2).map(lambda mass: f"{mass} kg")).map(read_mass)


def length_of(field: FieldDescription) -> st.SearchStrategy[Any]:
    """Lengths within the bounds of the field, as one would type them."""
    lowest, highest = read_length(field.lowest).m, read_length(field.highest).m
    typed = [text for text in FEET if lowest <= read_length(text).m <= highest]
    metric = st.decimals(100 * lowest, 100 * highest, places=1).map(lambda length: f"{length} cm")
    return (metric | st.sampled_from(typed) if typed else metric).map(read_length)


def value_of(field: FieldDescription, known: dict[str, list[str]]) -> st.SearchStrategy[Any]:
    """Any value that the field allows, None or nothing among them where it may be blank."""
    named = known.get(field.refers_to, [])
    lists: dict[Kind, Callable[[], st.SearchStrategy[Any]]] = {
        Kind.TEXT: lambda: texts.filter(bool) if field.is_required else texts,
        Kind.INTEGER: lambda: st.integers(int(field.lowest), int(field.highest)),
        Kind.NUMBER: lambda: st.integers(*_millionths(field)).map(lambda number: number / 1_000_000),
        Kind.MASS: lambda: mass_of(field),
        Kind.LENGTH: lambda: length_of(field),
        Kind.DATE: lambda: st.dates(date(2000, 1, 1), date(2099, 12, 31)),
        Kind.CLOCK: lambda: st.builds(time, st.integers(0, 23), st.integers(0, 59)),
        Kind.CHOICE: lambda: st.sampled_from(field.choices),
        Kind.CHOICES: lambda: unique(list(field.choices)).map(tuple),
        Kind.WORDS: lambda: words.map(tuple),
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
    may_be_none = not field.is_required and field.kind not in (Kind.TEXT, *LISTS)
    return st.none() | value if may_be_none else value


def _millionths(field: FieldDescription) -> tuple[int, int]:
    return int(float(field.lowest) * 1_000_000), int(float(field.highest) * 1_000_000)


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
    settled_ones = (settled(record, place) for place, record in enumerate(records))
    return programme_of(only_once([record for record in settled_ones if record]), TODAY)


def settled(record: Record, place: int) -> Record | None:
    """The record with what rows must not share, must not contradict, or must know, put right."""
    match record:
        case Venue(latitude_deg=latitude, longitude_deg=longitude, bearing_deg=bearing):
            is_on_map = None not in (latitude, longitude, bearing)
            off_map = {"latitude_deg": None, "longitude_deg": None, "bearing_deg": None}
            return record if is_on_map else replace(record, **off_map)
        case PlanMark():
            return replace(record, drawn=DRAWN[place % 2])
        case Athlete(number=number, shoulder_breadth=bare, padded_shoulder_breadth=padded):
            padded = bare if bare and padded and padded.m < bare.m else padded
            return replace(record, number=None if number is None else place, padded_shoulder_breadth=padded)
        case JerseyNumber():
            return replace(record, number=99 - place)
        case PreAgreement(answer=answer, settled_on=settled_on, valid_until=valid_until):
            valid_until = max(valid_until, settled_on or valid_until) if valid_until else None
            words = ARRIVALS if answer == "required" else TECHNIQUES
            return replace(record, technique=words[place % 2], valid_until=valid_until)
        case Told():
            return replace(record, rule=RULES[place % 2])
        case KnownGap():
            return replace(record, rule=RULES[place % 2], until=max(record.signed_on, record.until))
        case MedicalOrder(signed_on=signed_on, until=date() as until):
            return replace(record, until=max(signed_on, until))
        case Event(start=time() as start, end=time() as end):
            return replace(record, end=max(start, end))
        case MutualAid():
            return None if record.agency == record.replacement else record
        case Gear():
            return replace(record, fits_items=(record.code,) if record.fits_items else ())
        case Run():
            return replace(record, lasted_s=None)
        case RunRole() | Incident():
            return replace(record, technique=TECHNIQUES[place % 2] if record.technique else "")
        case RunPhase():
            return replace(record, technique=TECHNIQUES[place % 2], order=place, start_s=place, end_s=place + 0.5)
        case Recording(neutral_from_s=from_s):
            ends_s = {
                f"{kind}_{end}_s": place + after for kind in STRETCHES for end, after in (("from", 0), ("to", 0.5))
            }
            return replace(record, **(dict.fromkeys(ends_s) if from_s is None else ends_s))
        case Measured(low=low, value=value, high=high):
            low, high = (None if low is None else min(low, value)), (None if high is None else max(high, value))
            return replace(record, quantity=QUANTITIES[place % 2], low=low, high=high)
    return record


def only_once(records: list[Record]) -> list[Record]:
    """The records, of jersey numbers one for an athlete at an event; what was measured, of the run of its recording."""
    seen = {(one.event, one.athlete): one for one in records if isinstance(one, JerseyNumber)}
    run_of = {(type(one), one.code): one.run for one in records if isinstance(one, RunPhase | Recording)}
    return [
        of_its_run(one, run_of) if isinstance(one, Measured) else one
        for one in records
        if not isinstance(one, JerseyNumber) or seen[one.event, one.athlete] is one
    ]


def of_its_run(one: Measured, run_of: Mapping[tuple[type[Record], str], str]) -> Measured:
    """The number, without a phase or recording of another run."""
    phase = one.phase if one.phase and run_of[RunPhase, one.phase] == one.run else None
    recording = one.recording if one.recording and run_of[Recording, one.recording] == one.run else None
    return replace(one, phase=phase, recording=recording)


def from_workbook(content: bytes, current: Programme | None = None) -> tuple[Record, ...]:
    return read_workbook(content, "season.xlsx", known_techniques=TECHNIQUES, known_rules=RULES, current=current)


def from_csv(files: dict[str, bytes], current: Programme | None = None) -> tuple[Record, ...]:
    return read_csv_files(files, "season", known_techniques=TECHNIQUES, known_rules=RULES, current=current)


def there_and_back(records: Iterable[Record], current: Programme | None = None) -> Iterator[tuple[Record, ...]]:
    """The records written and read, in every way."""
    given = tuple(records)
    yield from_workbook(write_workbook(given), current)
    yield from_csv(write_csv_files(given), current)


@given(programmes())
@settings(max_examples=40, deadline=None)
def test_what_is_written_reads_back_the_same(programme: Programme) -> None:
    records = tuple(programme.records())

    for back in there_and_back(records):
        assert back == records


@given(programmes())
@settings(max_examples=20, deadline=None)
def test_importing_an_export_changes_nothing(programme: Programme) -> None:
    for back in there_and_back(programme.records(), programme):
        changes = preview(programme, back)
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
        field for field in fields_of(type(old)) if field.name not in SETTLED and field.kind is not Kind.REFERENCE
    ]
    assume(typed_freely)  # a number worn at an event has nothing that can be edited on its own
    field = data.draw(st.sampled_from(typed_freely))
    new = replace(old, **{field.name: data.draw(value_of(field, known))})
    records[place] = new

    was, is_now = getattr(old, field.name), getattr(new, field.name)
    for back in there_and_back(records, programme):
        changes = preview(programme, back)
        assert changes.added == changes.kept == ()
        assert [(one.field.name, one.old, one.new) for change in changes.changed for one in change.fields] == (
            [] if was == is_now else [(field.name, as_typed(field, was), as_typed(field, is_now))]
        )


@given(programmes(), st.randoms(use_true_random=False))
@settings(max_examples=20, deadline=None)
def test_rows_and_sheets_may_stand_in_any_order(programme: Programme, chance: random.Random) -> None:
    records = list(programme.records())
    shuffled = chance.sample(records, len(records))

    for back in there_and_back(shuffled):
        assert preview(programme, back).is_empty


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
        records = from_workbook(damaged)
    except WorkbookError as error:
        assert error.problems
    else:
        assert all(isinstance(record, Record) for record in records)


@given(st.binary(max_size=300), st.booleans())
def test_any_bytes_are_problems(junk: bytes, is_zip_like: bool) -> None:
    try:
        from_workbook(b"PK\x03\x04" + junk if is_zip_like else junk)
    except WorkbookError as error:
        assert len(error.problems) == 1
    else:
        raise AssertionError("junk was taken for a workbook")


SOUND_CSV = write_csv_files([Organisation(code="ORG", name="Invented conference"), Team(code="T", name='a, "b"')])


@given(st.sampled_from(["Organisation.csv", "Teams.csv", "Gear.csv"]), st.data())
@settings(max_examples=150, deadline=None)
def test_a_damaged_csv_file_is_records_or_problems(name: str, data: st.DataObject) -> None:
    sound = SOUND_CSV[name]
    cut = data.draw(st.integers(0, len(sound)))
    end = cut + data.draw(st.integers(0, 40))
    damage = data.draw(st.sampled_from([b'"', b"\0", b"\xff", b";", b",", b"\r", b"\n", b"'", b"=", b"\t"]))
    try:
        records = from_csv({**SOUND_CSV, name: sound[:cut] + damage + sound[end:]})
    except WorkbookError as error:
        assert error.problems
    else:
        assert all(isinstance(record, Record) for record in records)
