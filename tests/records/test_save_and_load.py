"""What is saved comes back exactly; saving it again writes nothing; what nobody has is refused as a whole."""

from dataclasses import replace
from datetime import date, time
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.models import ProtectedError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from onthree.programme.fields import LISTS, FieldDescription, Kind, fields_of
from onthree.programme.presence import LONGEST_MIN, Presence
from onthree.programme.programme import missing_references
from onthree.programme.records import (
    RECORD_TYPES,
    Athlete,
    Event,
    JerseyNumber,
    Measured,
    Organisation,
    PreAgreement,
    Record,
    Responder,
    Shift,
    Team,
    Venue,
)
from onthree.store.load import has_organisation, load_programme
from onthree.store.records import SaveReport, save_records
from onthree.store.rows import TABLE_OF
from onthree.units import Mass, read_length, read_mass
from tests.invented import DAY, athlete, clean_records, rehearsal_records

pytestmark = pytest.mark.django_db

CODES = {kind.__name__: [f"{kind.__name__}-{n}" for n in range(2)] for kind in RECORD_TYPES}
REFERRED_TO = {field.refers_to for kind in RECORD_TYPES for field in fields_of(kind)}
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=20)
MASSES = st.sampled_from(["290 lb", "131.5 kg", "290 lbs", "18.000001 lb", "0 kg", "18 LB"]).map(read_mass)
LENGTHS = st.sampled_from(["6 ft 3 in", "6'3\"", "6\u20323\u2033", "190.5 cm", "1.9 m", "75 in"]).map(read_length)


def values(field: FieldDescription) -> st.SearchStrategy[Any]:
    """Anything a field may hold, unknown included where it may be unknown."""
    one = {
        Kind.TEXT: TEXTS,
        Kind.INTEGER: st.integers(int(field.lowest or 0), int(field.highest or 0))
        if field.kind is Kind.INTEGER
        else None,
        Kind.NUMBER: st.floats(float(field.lowest or 0), float(field.highest or 0), allow_nan=False)
        if field.kind is Kind.NUMBER
        else None,
        Kind.MASS: MASSES,
        Kind.LENGTH: LENGTHS,
        Kind.DATE: st.dates(),
        Kind.CLOCK: st.times(),
        Kind.CHOICE: st.sampled_from(field.choices or ("",)),
        Kind.CHOICES: st.lists(st.sampled_from(field.choices or ("",)), unique=True).map(tuple),
        Kind.WORDS: st.lists(TEXTS.filter(bool), unique=True).map(tuple),
        Kind.YES_NO: st.booleans(),
        Kind.REFERENCE: st.sampled_from(CODES.get(field.refers_to, [""])),
        Kind.REFERENCES: st.lists(st.sampled_from(CODES.get(field.refers_to, [""])), unique=True).map(tuple),
        Kind.PRESENCES: presences(field.refers_to),
    }[field.kind]
    assert one is not None
    return one if field.is_required or field.kind in (Kind.TEXT, *LISTS) else st.none() | one


def presences(refers_to: str) -> st.SearchStrategy[tuple[Presence, ...]]:
    """Some of the records of a kind, each once, in any order, from any minute."""
    codes = st.lists(st.sampled_from(CODES.get(refers_to, [""])), unique=True)
    minutes = st.lists(st.integers(0, LONGEST_MIN), min_size=2, max_size=2)
    return st.tuples(codes, minutes).map(lambda drawn: tuple(map(Presence, drawn[0], drawn[1])))


@st.composite
def programmes(draw: st.DrawFn) -> tuple[Record, ...]:
    """One organisation and two records of every other kind, every described field drawn."""
    found: list[Record] = []
    for kind in RECORD_TYPES:
        for code in CODES[kind.__name__][: 1 if kind is Organisation else 2]:
            fields = [field for field in fields_of(kind) if field.kind is not Kind.CODE]
            found.append(kind(code=code, **{field.name: draw(values(field)) for field in fields}))
    return tuple(found)


@given(programmes(), programmes())
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_programme_comes_back_exactly_and_so_does_any_change_of_it(
    first: tuple[Record, ...], second: tuple[Record, ...]
) -> None:
    with transaction.atomic():
        for records in (first, second):
            save_records(records, by="test")
            loaded = load_programme(DAY)

            assert set(loaded.records()) == set(records)
            assert missing_references(loaded) == ()
            assert save_records(records, by="test") == SaveReport(0, 0, len(records))
        transaction.set_rollback(True)


def test_saving_counts_what_is_new_what_differs_and_what_is_the_same() -> None:
    records = clean_records()
    changed = tuple(replace(each, mass=None) if each.code == "T1-52" else each for each in records)

    assert save_records(records, by="test") == SaveReport(len(records), 0, 0)
    assert save_records(changed, by="test") == SaveReport(0, 1, len(records) - 1)
    assert save_records([*changed, athlete("T1-99", 99, None)], by="test") == SaveReport(1, 0, len(records))
    assert load_programme(DAY).athletes["T1-52"].mass is None


def test_nothing_is_deleted() -> None:
    save_records(clean_records(), by="test")
    save_records([each for each in clean_records() if not isinstance(each, Athlete)], by="test")

    assert set(load_programme(DAY).athletes) == {"T1-12", "T1-52"}


def test_records_come_back_in_the_order_in_which_they_were_first_saved() -> None:
    people = [Responder(code=f"R-{n}", name="x", kind="physician") for n in (30, 7, 12)]
    save_records([Organisation(code="ORG", name="x"), *people], by="test")
    save_records([replace(people[1], name="y")], by="test")

    assert list(load_programme(DAY).responders) == ["R-30", "R-7", "R-12"]


def test_a_record_may_refer_to_what_the_store_holds() -> None:
    save_records(clean_records(), by="test")

    assert save_records([athlete("T1-99", 99, "200 lb")], by="test") == SaveReport(1, 0, 0)
    assert load_programme(DAY).athletes["T1-99"].team == "T-1"


def test_lists_of_an_event_keep_their_order_and_minutes() -> None:
    records = clean_records()
    event = next(each for each in records if isinstance(each, Event))
    late = replace(event, responders=(Presence("R-3", 8), Presence("R-1"), Presence("R-9", 12)))
    save_records(records, by="test")

    assert save_records([late], by="test") == SaveReport(0, 1, 0)
    assert load_programme(DAY).events["E-1"] == late
    assert save_records([event], by="test") == SaveReport(0, 1, 0)
    assert load_programme(DAY).events["E-1"] == event


def test_unknown_is_kept_apart_from_none_no_and_nought() -> None:
    nought = athlete("A-0", 0, "0 kg", face_mask=None)
    unknown = replace(nought, code="A-X", number=None, mass=None)
    never = Responder(code="R-N", name="x", kind="physician", fit_to_lift=False)
    not_asked = Responder(code="R-U", name="x", kind="physician", fit_to_lift=None)
    midnight = Event(code="E-0", name="x", kind="game", day=DAY, venue="V-1", teams=(), start=time(0, 0))
    store = [Organisation(code="ORG", name="x"), Venue(code="V-1", name="x"), Team(code="T-1", name="x")]
    records = [*store, nought, unknown, never, not_asked, midnight, replace(midnight, code="E-U", start=None)]
    save_records(records, by="test")

    assert set(load_programme(DAY).records()) == set(records)


def test_every_reference_nobody_has_is_named_and_nothing_is_saved() -> None:
    lost = [athlete("A-1", 1, None, team="T-8"), athlete("A-2", 2, None, team="T-9")]

    with pytest.raises(LookupError, match=r"Athlete A-1: team 'T-8' given.*\n.*Athlete A-2: team 'T-9' given"):
        save_records([*clean_records(), *lost], by="test")
    assert not has_organisation()


def test_a_code_given_twice_is_refused_and_nothing_is_saved() -> None:
    double = athlete("T1-52", 1, None)

    with pytest.raises(ValueError, match="Athlete T1-52: given 2 times"):
        save_records([*clean_records(), double], by="test")
    assert not has_organisation()


def test_an_entry_that_stands_twice_in_a_list_is_refused() -> None:
    event = next(each for each in clean_records() if isinstance(each, Event))
    double = replace(event, responders=(Presence("R-1"), Presence("R-1", 8)))

    with pytest.raises(ValueError, match="Event E-1: responders R-1: given 2 times"):
        save_records([*(each for each in clean_records() if each != event), double], by="test")
    assert not has_organisation()


def test_a_mass_that_does_not_read_as_its_value_is_refused() -> None:
    wrong = replace(athlete("A-1", 1, None), mass=Mass(read_mass("290 lb").kg, "290 kg"))

    with pytest.raises(ValueError, match="290 kg"):
        save_records([*clean_records(), wrong], by="test")
    assert not has_organisation()


def test_quantities_are_stored_as_typed() -> None:
    save_records(clean_records(), by="test")
    with connection.cursor() as cursor:
        cursor.execute("SELECT mass, stature FROM store_athlete WHERE code = 'T1-52'")

        assert cursor.fetchall() == [("300 lb", "6 ft 3 in")]


def test_loading_a_stored_day_needs_no_conversion() -> None:
    save_records(clean_records(), by="test")

    assert load_programme(DAY).gear["SCOOP"].inspected_on == date(2026, 11, 13)


@pytest.mark.parametrize("kind", [Organisation, *(kind for kind in RECORD_TYPES if kind.__name__ in REFERRED_TO)])
def test_what_is_referred_to_cannot_be_deleted(kind: type[Record]) -> None:
    number = JerseyNumber(code="J-1", event="E-1", athlete="T1-52", number=57)
    shift = Shift(code="SH-1", agency="AG-1", name="A shift")
    agreed = PreAgreement(code="AGR-9", agency="AG-1", shift="SH-1", technique="scoop", answer="agreed")
    run, *of_run = rehearsal_records()
    held = Measured(code="ME-2", run="RUN-1", phase="PH-1", quantity="path_deg", value=1.0)
    records = [*clean_records(), number, shift, agreed, replace(run, place="P-AED"), *of_run, held]
    save_records(records, by="test")
    row = next(row for row in TABLE_OF[kind]._default_manager.order_by("pk") if row.code != "T1-12")

    with pytest.raises(ProtectedError):
        row.delete()
