"""Who was told and which gaps were signed: shown beside a finding, counted only in time, and no option changes."""

from dataclasses import replace
from datetime import date, time, timedelta
from typing import Any

import pytest

from onthree.actions.event_answer import WhatIf, answer_for
from onthree.programme.programme import Programme, Scope, programme_of
from onthree.programme.records import KnownGap, Record, Told
from onthree.readiness.answers import answer_lines
from onthree.readiness.finding import Finding, Level
from onthree.readiness.rules import findings
from onthree.techniques.library import bundled_library
from onthree.transfers.options import OptionsEngine, engine_for
from onthree.units import read_length, read_mass
from tests.invented import DAY, clean_programme

NARROW = {"GATE_1": {"width": read_length("60 cm")}}
HEAVY = {"T1_52": {"mass": read_mass("340 lb")}}


def told(**changes: Any) -> Told:
    row = Told(
        code="TOLD-1",
        event="E-1",
        rule="weight-limit",
        subject="SCOOP",
        who="ambulance crew lead",
        day=DAY,
        at=time(18, 35),
        answer="confirmed",
    )
    return replace(row, **changes)


def gap(**changes: Any) -> KnownGap:
    row = KnownGap(
        code="GAP-1",
        rule="gate-narrow",
        subject="GATE-1",
        signed_by="administration",
        signer="director of athletics",
        reason="wider gate ordered",
        signed_on=date(2026, 11, 20),
        until=date(2027, 1, 31),
    )
    return replace(row, **changes)


def programme_with(*rows: Record, **changes: Any) -> Programme:
    return programme_of([*clean_programme(**changes).records(), *rows], DAY, Scope())


def engine_with(*rows: Record, **changes: Any) -> OptionsEngine:
    programme = programme_with(*rows, **changes)
    return engine_for(programme, programme.events["E-1"], bundled_library())


def found_with(*rows: Record, **changes: Any) -> Finding:
    (only,) = findings(engine_with(*rows, **changes))
    return only


def test_nobody_told_is_open() -> None:
    assert found_with(**HEAVY).is_open


def test_told_and_confirmed_stays_in_the_list_and_is_not_open() -> None:
    found = found_with(told(), **HEAVY)

    assert found.level is Level.TELL
    assert not found.is_open
    assert answer_lines(found) == ("told: ambulance crew lead, 27 November 18:35: confirmed",)


@pytest.mark.parametrize("answer", ["will do", "cannot", "no answer yet"])
def test_any_other_answer_is_open(answer: str) -> None:
    assert found_with(told(answer=answer), **HEAVY).is_open


def test_the_latest_answer_counts_and_stands_last() -> None:
    rows = (
        told(code="A", at=time(19, 0), answer="cannot"),
        told(code="B", at=time(18, 0)),
        told(code="C", day=DAY - timedelta(days=1), at=None, note="by telephone"),
    )
    found = found_with(*rows, **HEAVY)

    assert [row.code for row in found.told] == ["C", "B", "A"]
    assert answer_lines(found)[0] == "told: ambulance crew lead, 26 November: confirmed (by telephone)"
    assert found.is_open


def test_one_who_confirmed_does_not_speak_for_another_who_did_not() -> None:
    crew, visitors = told(), told(code="TOLD-2", who="visiting athletic trainer", answer="no answer yet")

    assert found_with(crew, visitors, **HEAVY).is_open
    assert not found_with(crew, visitors, told(code="TOLD-3", who=visitors.who, at=time(18, 50)), **HEAVY).is_open


def test_a_blank_subject_is_about_every_finding_of_the_rule() -> None:
    assert found_with(told(subject=""), **HEAVY).told


@pytest.mark.parametrize(
    "changes",
    [{"rule": "gate-narrow"}, {"subject": "BOARD"}, {"day": DAY + timedelta(days=1)}],
    ids=["another rule", "another subject", "after the event"],
)
def test_what_is_about_something_else_is_not_shown(changes: dict[str, Any]) -> None:
    assert found_with(told(**changes), **HEAVY).told == ()


def test_what_was_told_at_another_event_is_not_shown() -> None:
    other = replace(clean_programme().events["E-1"], code="E-2", day=DAY - timedelta(days=7))

    assert found_with(other, told(event="E-2", day=other.day), **HEAVY).told == ()


def test_telling_does_not_mend() -> None:
    assert found_with(told(rule="gate-narrow", subject="GATE-1"), **NARROW).is_open


def test_a_signed_gap_stays_seen_at_the_end_of_the_list_with_the_level_it_would_have() -> None:
    *others, last = findings(engine_with(gap(), GATE_1={"width": read_length("60 cm"), "key_holder": ""}))

    assert [found.rule for found in others] == ["gate-key"]
    assert (last.level, last.level_unsigned, last.is_open) == (Level.SIGNED, Level.FIX, False)
    assert answer_lines(last) == (
        "known gap, signed by administration (director of athletics) until 31 January 2027: wider gate ordered; "
        "without it: fix before",
    )


def test_a_gap_holds_from_the_day_it_was_signed_to_its_last_day() -> None:
    assert found_with(gap(signed_on=DAY, until=DAY), **NARROW).gap
    assert found_with(gap(signed_on=DAY + timedelta(days=1)), **NARROW).gap is None


def test_a_gap_that_ended_is_said_and_the_finding_counts_again() -> None:
    found = found_with(gap(until=date(2026, 11, 26)), **NARROW)

    assert (found.level, found.is_open) == (Level.FIX, True)
    assert answer_lines(found) == ("known gap signed by administration until 26 November 2026, ended",)


def test_of_several_gaps_the_one_that_holds_longest_counts() -> None:
    found = found_with(gap(until=date(2026, 11, 1)), gap(code="GAP-2"), gap(code="GAP-3", until=DAY), **NARROW)

    assert found.gap is not None
    assert found.gap.code == "GAP-2"
    assert found.ended_gap is None


@pytest.mark.parametrize(
    "changes", [{"rule": "gate-key"}, {"subject": "GATE-2"}, {"event": "E-2"}], ids=["rule", "subject", "event"]
)
def test_a_gap_of_another_rule_subject_or_event_does_not_hold(changes: dict[str, Any]) -> None:
    other = replace(clean_programme().events["E-1"], code="E-2", day=DAY + timedelta(days=7))

    assert found_with(other, gap(**changes), **NARROW).gap is None


def test_a_gap_of_this_event_holds() -> None:
    assert found_with(gap(event="E-1"), **NARROW).gap


@pytest.mark.parametrize(
    ("rows", "changes", "something_to_tell"),
    [
        ((), HEAVY, True),
        ((told(),), HEAVY, False),
        ((told(rule="gate-narrow", subject="GATE-1"),), NARROW, True),
        ((gap(),), NARROW, False),
        ((gap(until=date(2026, 11, 26)),), NARROW, True),
        ((told(),), HEAVY | {"E_1": {"vehicles": ()}}, True),
    ],
    ids=["not told", "told", "told, not mended", "signed", "ended", "told, but no option"],
)
def test_what_is_told_or_signed_is_nothing_more_to_tell(
    rows: tuple[Record, ...], changes: dict[str, Any], something_to_tell: bool
) -> None:
    programme = programme_with(*rows, **changes)
    answer = answer_for(programme, programme.events["E-1"], WhatIf())

    assert answer.has_something_to_tell is something_to_tell


def test_a_gap_never_changes_an_option() -> None:
    signed = gap(rule="weight-limit", subject="SCOOP")
    engines = engine_with(**HEAVY), engine_with(signed, **HEAVY)
    athletes = [engine.programme.athletes["T1-52"] for engine in engines]
    plain, with_gap = (engine.answer(who, "supine") for engine, who in zip(engines, athletes, strict=True))

    assert plain == with_gap
    assert found_with(signed, **HEAVY).level is Level.SIGNED
