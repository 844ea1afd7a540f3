"""How much is loaded: one event, a venue, or all; always closed under references, in a fixed number of queries."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from onthree.programme.presence import Presence
from onthree.programme.programme import Scope, missing_references
from onthree.programme.records import (
    Agency,
    CheckOff,
    Event,
    Gate,
    JerseyNumber,
    KnownGap,
    MedicalOrder,
    MutualAid,
    Place,
    PreAgreement,
    Qualification,
    Record,
    Responder,
    Shift,
    Team,
    TimeOutAnswer,
    Told,
    Upkeep,
    Vehicle,
    Venue,
    VisitorAnswer,
)
from onthree.store.load import load_programme
from onthree.store.records import save_records
from tests.invented import DAY, athlete, clean_records, gear

SIGNED = {
    "rule": "hands",
    "subject": "prone",
    "signed_by": "administration",
    "signer": "director",
    "reason": "short of people",
    "signed_on": DAY,
    "until": DAY,
}

ORDERS = [each.code for each in clean_records() if isinstance(each, MedicalOrder)]
"""Orders of medical direction hold at every event and venue."""

pytestmark = pytest.mark.django_db


@pytest.fixture
def two_venues() -> tuple[Record, ...]:
    """The clean game at V-1, an earlier one there, and a game at V-2 with everything of its own; scoop kept at V-3."""
    event = next(each for each in clean_records() if isinstance(each, Event))
    records = [replace(each, place="V-3") if each.code == "SCOOP" else each for each in clean_records()]
    records += [
        Venue(code="V-2", name="Other field", hospital="H-1"),
        Place(code="P-2", venue="V-2", kind="bench", name="bench"),
        Gate(code="GATE-2", venue="V-2", name="gate"),
        Qualification(code="Q-2", responder="R-20", name="licence"),
        CheckOff(code="C-2", responder="R-20", skill="log roll", done_on=DAY),
        Agency(code="AG-3", name="next county ambulance"),
        Agency(code="AG-4", name="far county ambulance"),
        Shift(code="SH-2", agency="AG-2", name="A shift"),
        MutualAid(code="MA-2", agency="AG-2", replacement="AG-3"),
        MutualAid(code="MA-3", agency="AG-4", replacement="AG-1"),
        Vehicle(code="AMB-3", agency="AG-4", name="ambulance that may leave"),
        Upkeep(code="U-20", gear="BOARD-2", day=DAY, done="used"),
        JerseyNumber(code="J-1", event="E-1", athlete="T1-12", number=21),
        JerseyNumber(code="J-2", event="E-2", athlete="T2-1", number=11),
        JerseyNumber(code="J-3", event="E-2", athlete="T1-12", number=12),
        Told(code="TOLD-1", event="E-1", rule="hands", who="lead", day=DAY, answer="confirmed"),
        Told(code="TOLD-2", event="E-2", rule="hands", who="lead", day=DAY, answer="confirmed"),
        TimeOutAnswer(code="TO-1", event="E-1", item="aed", who="crew lead", day=DAY, answer="confirmed"),
        TimeOutAnswer(code="TO-2", event="E-2", item="aed", who="crew lead", day=DAY, answer="not agreed"),
        VisitorAnswer(code="VA-1", event="E-1", day=DAY),
        VisitorAnswer(code="VA-2", event="E-2", largest="72: 310 lb", day=DAY),
        KnownGap(code="GAP-0", **SIGNED),
        KnownGap(code="GAP-1", event="E-1", **SIGNED),
        KnownGap(code="GAP-2", event="E-2", **SIGNED),
        Venue(code="V-3", name="Store room"),
        Team(code="T-2", name="Otters"),
        athlete("T2-1", 1, "200 lb", team="T-2"),
        Responder(code="R-20", name="responder 20", kind="physician"),
        Agency(code="AG-2", name="city ambulance"),
        gear("BOARD-2", "long board", "other board"),
        Vehicle(code="AMB-2", agency="AG-2", name="city ambulance 2"),
        PreAgreement(code="AGR-2", agency="AG-2", technique="device_out_on_cot", answer="refused"),
        replace(event, code="E-0", day=DAY - timedelta(days=1), responders=(Presence("R-20"),), gear=(), vehicles=()),
        replace(
            event,
            code="E-2",
            venue="V-2",
            teams=("T-2",),
            responders=(Presence("R-20", 8),),
            gear=(Presence("BOARD-2"),),
            vehicles=(Presence("AMB-2", 8),),
            may_leave=("AMB-3",),
        ),
    ]
    save_records(records, by="test")
    return tuple(records)


def test_an_event_comes_with_all_it_refers_to_and_nothing_else(two_venues: tuple[Record, ...]) -> None:
    save_records([replace(two_venues[-1], day=DAY + timedelta(days=7))], by="test")  # type: ignore[call-arg]
    loaded = load_programme(DAY, Scope("event", "E-2"))
    codes = {each.code for each in loaded.records()}

    assert codes == {
        *("ORG", "H-1", "V-2", "GATE-2", "P-2", "T-2", "T2-1", "R-20", "Q-2", "C-2", "AG-2", "AG-3", "AG-4", "MA-2"),
        *(
            "MA-3",
            "SH-2",
            "BOARD-2",
            "U-20",
            "AMB-2",
            "AMB-3",
            "AGR-2",
            "E-2",
            "J-2",
            "TOLD-2",
            "TO-2",
            "VA-2",
            "GAP-2",
            "GAP-0",
        ),
        *ORDERS,
        *("AG-1", "AGR-1"),  # comes in place of AG-4, whose vehicle may leave
    }
    assert missing_references(loaded) == ()


def test_the_other_events_of_the_day_come_too_but_not_their_rosters(two_venues: tuple[Record, ...]) -> None:
    loaded = load_programme(DAY, Scope("event", "E-2"))

    assert set(loaded.events) == {"E-1", "E-2"}
    assert {"R-1", "SCOOP", "AMB-1", "T-1"} <= {each.code for each in loaded.records()}
    assert set(loaded.athletes) == {"T2-1"}
    assert set(loaded.told) == {"TOLD-2"}
    assert missing_references(loaded) == ()


def test_gear_comes_with_the_venue_where_it_is_kept(two_venues: tuple[Record, ...]) -> None:
    assert set(load_programme(DAY, Scope("event", "E-0")).venues) == {"V-1"}
    assert set(load_programme(DAY, Scope("event", "E-1")).venues) == {"V-1", "V-2", "V-3"}


def test_an_event_is_loaded_whatever_its_day(two_venues: tuple[Record, ...]) -> None:
    assert set(load_programme(DAY + timedelta(days=400), Scope("event", "E-0")).events) == {"E-0"}


def test_a_venue_comes_with_its_events_from_the_day_on(two_venues: tuple[Record, ...]) -> None:
    today, yesterday = (load_programme(DAY - timedelta(days=ago), Scope("venue", "V-1")) for ago in (0, 1))

    assert set(today.events) == {"E-1"}
    assert set(yesterday.events) == {"E-0", "E-1"}
    assert "R-20" not in today.responders
    assert "R-20" in yesterday.responders
    assert "AG-2" not in yesterday.agencies
    assert missing_references(today) == missing_references(yesterday) == ()


def test_a_venue_without_coming_events_is_loaded_alone(two_venues: tuple[Record, ...]) -> None:
    loaded = load_programme(DAY + timedelta(days=1), Scope("venue", "V-1"))

    assert {each.code for each in loaded.records()} == {"ORG", "H-1", "V-1", "P-AED", "GATE-1", "GAP-0", *ORDERS}


def test_all_is_everything_saved(two_venues: tuple[Record, ...]) -> None:
    loaded = load_programme(DAY)

    assert set(loaded.records()) == set(two_venues)
    assert missing_references(loaded) == ()


@pytest.mark.parametrize(
    ("scope", "message"),
    [
        (Scope("event", "e2"), "no event has the code 'e2': did you mean E-2"),
        (Scope("event", "final"), "no event has the code 'final': known are E-1, E-0, E-2"),
        (Scope("venue", "V-9"), "no venue has the code 'V-9': did you mean V-"),
    ],
)
def test_an_unknown_code_is_refused_with_the_nearest_known(
    scope: Scope, message: str, two_venues: tuple[Record, ...]
) -> None:
    with pytest.raises(LookupError, match=message):
        load_programme(DAY, scope)


def test_nothing_can_be_loaded_from_an_empty_store() -> None:
    with pytest.raises(LookupError, match="the store is empty: import a workbook first"):
        load_programme(DAY)


@pytest.mark.parametrize(
    ("scope", "queries"), [(Scope(), 38), (Scope("venue", "V-1"), 34), (Scope("event", "E-1"), 34)]
)
def test_the_number_of_queries_does_not_grow(
    scope: Scope, queries: int, django_assert_num_queries: Callable[..., Any]
) -> None:
    save_records(clean_records(), by="test")
    with django_assert_num_queries(queries):
        load_programme(DAY, scope)
    event = next(each for each in clean_records() if isinstance(each, Event))
    people = [Responder(code=f"S-{n}", name="x", kind="physician") for n in range(300)]
    there = tuple(Presence(each.code) for each in people)
    save_records(
        [
            *people,
            *(Team(code=f"U-{n}", name="x") for n in range(50)),
            *(athlete(f"A-{n}", n % 100, "200 lb", team=f"U-{n % 50}") for n in range(1000)),
            *(Venue(code=f"W-{n}", name="x") for n in range(50)),
            *(gear(f"H-{n}", "scoop", "x", place=f"W-{n % 50}") for n in range(100)),
            *(
                replace(event, code=code, responders=there, gear=tuple(Presence(f"H-{n}") for n in range(100)))
                for code in ("E-1", "E-2", "E-3")
            ),
        ],
        by="test",
    )
    with django_assert_num_queries(queries):
        loaded = load_programme(DAY, scope)

    assert len(loaded.responders) >= 300
    assert missing_references(loaded) == ()
