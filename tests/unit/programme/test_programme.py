"""A programme from loose records: closed under references, events in order, rosters in order."""

from datetime import date, time
from typing import Any

import pytest

from onthree.programme.presence import Presence
from onthree.programme.programme import (
    TABLES,
    MissingReference,
    Programme,
    missing_references,
    programme_of,
    references_of,
)
from onthree.programme.records import (
    Agency,
    Athlete,
    Event,
    Gear,
    Organisation,
    PreAgreement,
    Record,
    Team,
    Vehicle,
    Venue,
)

TODAY = date(2026, 11, 25)
ORGANISATION = Organisation(code="ORG", name="Invented conference", is_invented=True)


def programme(*records: Record) -> Programme:
    return programme_of((ORGANISATION, *records), TODAY)


def event(code: str, day: date = TODAY, start: time | None = None, **more: Any) -> Event:
    """A practice at venue V-1 of team T-1."""
    return Event(**{
        "code": code, "name": code, "kind": "practice", "day": day, "start": start, "venue": "V-1", "teams": ("T-1",),
        **more,
    })  # fmt: skip


def player(code: str, team: str, number: int | None) -> Athlete:
    return Athlete(code=code, team=team, number=number)


def test_records_go_to_the_table_of_their_kind() -> None:
    venue, team = Venue(code="V-1", name="field"), Team(code="T-1", name="Herons")
    known = programme(venue, team)

    assert known.venues == {"V-1": venue}
    assert known.table(Team) == {"T-1": team}
    assert known.table(Organisation) == {"ORG": ORGANISATION}
    assert list(known.records()) == [ORGANISATION, venue, team]


@pytest.mark.parametrize("organisations", [(), (ORGANISATION, Organisation(code="ORG-2", name="Another"))])
def test_exactly_one_organisation_is_expected(organisations: tuple[Organisation, ...]) -> None:
    with pytest.raises(ValueError, match=f"^{len(organisations)} organisations given, one expected$"):
        programme_of(organisations, TODAY)


def test_coming_events_are_today_or_later_soonest_first() -> None:
    known = programme(
        event("E-6", date(2026, 11, 28)),
        event("E-5", TODAY, time(19, 0)),
        event("E-4", TODAY, time(9, 30)),
        event("E-3", TODAY, time(9, 30)),
        event("E-2", TODAY),
        event("E-1", date(2026, 11, 24), time(23, 0)),
    )

    assert [coming.code for coming in known.coming_events()] == ["E-2", "E-3", "E-4", "E-5", "E-6"]


def test_a_roster_is_ordered_by_the_teams_of_the_event_then_by_number() -> None:
    known = programme(
        player("A-9", "T-1", 9), player("A-X", "T-1", None), player("A-0", "T-1", 0),
        player("B-1", "T-2", 1), player("C-1", "T-3", 1),
    )  # fmt: skip
    roster = known.roster(event("E-1", teams=("T-2", "T-1")))

    assert [athlete.code for athlete in roster] == ["B-1", "A-0", "A-9", "A-X"]


def test_references_are_found_in_every_kind_of_field() -> None:
    one = event("E-1", teams=("T-1", "T-2"), responders=(Presence("R-1", 8),), gear=(Presence("G-1"),))

    assert list(references_of(one)) == [
        ("venue", "Venue", "V-1"),
        ("teams", "Team", "T-1"),
        ("teams", "Team", "T-2"),
        ("responders", "Responder", "R-1"),
        ("gear", "Gear", "G-1"),
    ]


def test_a_blank_reference_is_no_reference() -> None:
    assert list(references_of(Gear(code="G-1", kind="scoop", name="scoop"))) == []


def test_a_closed_programme_misses_nothing() -> None:
    known = programme(Venue(code="V-1", name="field"), Team(code="T-1", name="Herons"), event("E-1"))

    assert missing_references(known) == ()


def test_every_reference_to_nobody_is_told() -> None:
    gear = Gear(code="G-1", kind="scoop", name="scoop", place="V-9")
    vehicle = Vehicle(code="AMB-1", agency="AG-9", name="ambulance")
    agreement = PreAgreement(code="AGR-1", agency="AG-8", technique="device_out_on_cot", answer="agreed")
    missing = missing_references(
        programme(gear, vehicle, agreement, player("A-1", "T-9", 1), Agency(code="AG-1", name="a"))
    )

    assert missing == (
        MissingReference(player("A-1", "T-9", 1), "team", "Team", "T-9"),
        MissingReference(gear, "place", "Venue", "V-9"),
        MissingReference(vehicle, "agency", "Agency", "AG-9"),
        MissingReference(agreement, "agency", "Agency", "AG-8"),
    )


def test_a_code_of_another_kind_does_not_close_a_reference() -> None:
    missing = missing_references(programme(Venue(code="T-1", name="field"), event("E-1", venue="T-1")))

    assert [(each.field, each.code) for each in missing] == [("teams", "T-1")]


def test_a_table_of_the_programme_for_every_kind() -> None:
    known = programme()

    assert all(known.table(kind) == {} for kind in TABLES)
