"""Rows that contradict themselves, each other, or what is stored and stays."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from onthree.programme.programme import Programme, programme_of
from onthree.programme.records import Athlete, Event, JerseyNumber, Organisation, Record, Team, Venue
from onthree.transfers import goals
from onthree.workbook.read import read_workbook
from tests.unit.workbook.example_sheets import KNOWN, STORED, example, problems_of_both, read_both
from tests.unit.workbook.typed_sheets import problems_of, read, workbook_of

DAY = date(2026, 11, 28)
GAME: tuple[Record, ...] = (
    Organisation(code="ORG", name="Invented conference"),
    Venue(code="V-1", name="Field"),
    Team(code="T-1", name="Herons"),
    Team(code="T-2", name="Otters"),
    Athlete(code="a", team="T-1", number=52),
    Athlete(code="b", team="T-1", number=53),
    Athlete(code="c", team="T-2", number=52),
    Event(code="E-1", name="Game", kind="game", day=DAY, venue="V-1", teams=("T-1", "T-2")),
    Event(code="E-2", name="Return", kind="game", day=DAY, venue="V-1", teams=("T-1", "T-2")),
)


def game(*more: Record) -> Programme:
    """The stored game, with these records."""
    return programme_of([*GAME, *more], DAY)


def worn(*rows: Sequence[Any], athletes: Sequence[Sequence[Any]] = ()) -> bytes:
    """A workbook of jersey numbers, each of these rows being (code, event, athlete, number)."""
    return workbook_of(
        {
            "Athletes": [("Code", "Team", "Number"), *athletes],
            "Jersey numbers": [("Code", "Event", "Athlete", "Number"), *rows],
        }
    )


def test_an_event_that_ends_before_it_starts() -> None:
    assert problems_of_both(example("Events", start="19:00", end="00:30")) == [
        "Events, row 2, End: '00:30' given, nothing before Start, 19:00, expected: "
        "correct one of them; if it ends after midnight, leave End blank"
    ]
    assert read_both(example("Events", start="19:00", end="19:00"))
    assert read_both(example("Events", start=None, end="00:30"))


def test_shoulders_in_pads_are_not_narrower_than_without() -> None:
    assert problems_of_both(example("Athletes", shoulder_breadth="54 cm", padded_shoulder_breadth="21 in")) == [
        "Athletes, row 2, Padded breadth: '21 in' given, at least Shoulder breadth, 54 cm, expected: "
        "measure again, over the pads; pads only widen"
    ]
    assert read_both(example("Athletes", shoulder_breadth="54 cm", padded_shoulder_breadth="540 mm"))


def test_a_column_left_out_is_judged_by_what_is_stored() -> None:
    late = replace(STORED.events["E-1"], start=read_both(example("Events", start="19:00"))[0].start)  # type: ignore[union-attr]
    current = programme_of([*(one for one in STORED.records() if one.code != "E-1"), late], STORED.on)
    headers, row = ([cells[place] for place in (0, 1, 2, 3, 5, 6, 8)] for cells in example("Events")["Events"])
    row[4] = "18:00"

    assert problems_of(workbook_of({"Events": [headers, row]}), current) == [
        "Events, row 2, End: '18:00' given, nothing before Start, 19:00, expected: "
        "correct one of them; if it ends after midnight, leave End blank"
    ]


def test_a_known_gap_that_ended_before_it_was_signed() -> None:
    assert problems_of_both(example("Known gaps", signed_on="2026-11-20", until="2026-11-19")) == [
        "Known gaps, row 2, Until: '2026-11-19' given, nothing before Signed on, 2026-11-20, expected: "
        "correct one of them"
    ]
    assert read_both(example("Known gaps", signed_on="2026-11-20", until="2026-11-20"))


def test_an_agreement_that_ended_before_it_was_settled() -> None:
    assert problems_of_both(example("Agreements", settled_on="2026-07-15", valid_until="2026-06-30")) == [
        "Agreements, row 2, Valid until: '2026-06-30' given, nothing before Settled on, 2026-07-15, expected: "
        "correct one of them"
    ]


def test_how_the_athlete_arrives_is_required_and_nothing_else_is() -> None:
    assert problems_of_both(example("Agreements", answer="required")) == [
        "Agreements, row 2, Answer: 'required' given, agreed, undecided or refused for device_out_on_cot expected: "
        "in Technique write how the athlete must arrive: device in, device out, equipment on, equipment off, "
        "collar on, head secured"
    ]
    assert problems_of_both(example("Agreements", technique="equipment off")) == [
        "Agreements, row 2, Answer: 'agreed' given, required for equipment off expected: "
        "leave the row out while nothing is required, or name the technique that was answered"
    ]
    for words in goals.ARRIVALS:
        assert read_both(example("Agreements", technique=words, answer="required"))


def test_an_agency_in_its_own_place() -> None:
    assert problems_of_both(example("Mutual aid", replacement="AG-1")) == [
        "Mutual aid, row 2, Replaced by: 'AG-1' given, the code of another agency expected: "
        "write which agency comes in its place"
    ]


@pytest.mark.parametrize("title", ["Told", "Known gaps"])
def test_a_rule_that_does_not_exist(title: str) -> None:
    assert problems_of_both(example(title, rule="weight-limits")) == [
        f"{title}, row 2, Rule: 'weight-limits' given, the identifier of a rule expected: did you mean 'weight-limit'?"
    ]
    assert problems_of_both(example(title, rule="luck")) == [
        f"{title}, row 2, Rule: 'luck' given, the identifier of a rule expected: "
        "known are gate-narrow, hands, weight-limit"
    ]


def test_an_item_that_straps_are_said_to_fit_exists() -> None:
    assert problems_of_both(example("Gear", fits_items="G-1, G-33")) == [
        "Gear, row 2, Fits items: 'G-33' given, a code of the sheet Gear expected: did you mean 'G-3'?"
    ]


def test_a_number_that_a_team_mate_wears_there() -> None:
    taken = (
        "Jersey numbers, row 2, Number: '53' given, a number of their own expected: "
        "athlete b of the sheet Athletes, already stored, has the same number in team T-1 at E-1: correct one of them"
    )

    assert problems_of(worn(("J-1", "E-1", "a", 53)), game()) == [taken]
    assert read(worn(("J-1", "E-1", "a", 57)), game())
    assert read(worn(("J-1", "E-1", "a", 52)), game()), "their own number, which the other team wears too"
    assert read(worn(("J-1", "E-1", "a", 53), ("J-2", "E-1", "b", 52)), game()), "both changed: no clash"
    assert problems_of(worn(("J-1", "E-1", "a", 53), ("J-2", "E-2", "b", 57)), game()) == [taken], "at another event"


def test_a_number_that_two_wear_at_one_event_only() -> None:
    told = problems_of(worn(("J-1", "E-1", "a", 57), ("J-2", "E-1", "b", 57)), game())

    assert told == [
        "Jersey numbers, row 3, Number: '57' given, a number of their own expected: "
        "row 2 has the same number in team T-1 at E-1: correct one of them"
    ]
    assert read(worn(("J-1", "E-1", "a", 57), ("J-2", "E-2", "b", 57), ("J-3", "E-1", "c", 57)), game())


def test_a_number_worn_there_against_what_is_stored() -> None:
    stored = game(JerseyNumber(code="J-1", event="E-1", athlete="a", number=57))

    assert problems_of(worn(("J-2", "E-1", "b", 57)), stored) == [
        "Jersey numbers, row 2, Number: '57' given, a number of their own expected: "
        "J-1, already stored, has the same number in team T-1 at E-1: correct one of them"
    ]
    assert problems_of(worn(athletes=[("d", "T-1", 57)]), stored) == [
        "Athletes, row 2, Number: '57' given, a number of their own expected: "
        "J-1 of the sheet Jersey numbers, already stored, has the same number in team T-1 at E-1: correct one of them"
    ]
    assert read(worn(("J-1", "E-1", "a", 58), ("J-2", "E-1", "b", 57)), stored), "the stored one is changed here"


def test_an_athlete_twice_at_one_event() -> None:
    assert problems_of(worn(("J-1", "E-1", "a", 57), ("J-2", "E-1", "a", 58)), game()) == [
        "Jersey numbers, row 3, Athlete: 'a' given, each athlete once at an event expected: "
        "row 2 has a number for this athlete at E-1: keep one of the two"
    ]
    assert read(worn(("J-1", "E-1", "a", 57), ("J-2", "E-2", "a", 58)), game())


def test_a_transfer_without_the_column_of_numbers_is_still_a_clash() -> None:
    content = workbook_of({"Athletes": [("Code", "Team"), ("c", "T-1")]})

    assert problems_of(content, game()) == [
        "Athletes, row 2, Number: '52' given, a number of their own expected: "
        "athlete a, already stored, has the same number in team T-1: correct one of them"
    ]


def test_a_misspelt_column_is_told_alone() -> None:
    """What stood in it is not known, so nothing is held against what is stored instead."""
    content = workbook_of({"Athletes": [("Code", "Team", "Numbre"), ("c", "T-1", 54)]})

    assert problems_of(content, game()) == [
        "Athletes, row 1, column C: 'Numbre' given, a header of this sheet expected: did you mean 'Number'?"
    ]


def test_rules_are_not_judged_where_none_are_given() -> None:
    content = workbook_of(example("Told", rule="luck"))

    assert read_workbook(content, "x.xlsx", known_techniques=KNOWN["known_techniques"], current=STORED)
