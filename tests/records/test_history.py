"""History is written for real changes only, and answers how a record stood at a time."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from onthree.programme.presence import Presence
from onthree.programme.programme import Scope, missing_references
from onthree.programme.records import Event, Record
from onthree.store import models
from onthree.store.load import load_programme
from onthree.store.records import save_records
from onthree.store.rows import EVENT_LISTS, TABLE_OF
from tests.invented import DAY, athlete, clean_records

pytestmark = pytest.mark.django_db

HISTORIES = [table.history for table in (*TABLE_OF.values(), *(a_list.table for a_list in EVENT_LISTS))]  # type: ignore[attr-defined]


class Clock:
    """The clock of the store, set by hand."""

    def __init__(self) -> None:
        self.now = datetime(2026, 9, 1, 12, tzinfo=UTC)

    def go_on(self) -> datetime:
        """A minute later."""
        self.now += timedelta(minutes=1)
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[Clock]:
    """A clock that stands still until told."""
    clock = Clock()
    monkeypatch.setattr(timezone, "now", lambda: clock.now)
    yield clock


def history_length() -> int:
    """Rows of history in all tables."""
    return sum(history.count() for history in HISTORIES)


def game() -> Event:
    """The clean game."""
    return next(each for each in clean_records() if isinstance(each, Event))


def test_saving_the_same_again_writes_no_history() -> None:
    save_records(clean_records(), by="first")
    before = history_length()
    save_records(clean_records(), by="second")

    assert history_length() == before


def test_each_change_is_one_row_that_says_who_and_what() -> None:
    save_records(clean_records(), by="roster of August")
    before = history_length()
    save_records([athlete("T1-52", 52, "310 lb")], by="weighing of September")
    written = models.Athlete.history.filter(code="T1-52").order_by("history_id")

    assert history_length() == before + 1
    assert [(row.history_type, str(row.mass), row.history_change_reason) for row in written] == [
        ("+", "300 lb", "roster of August"),
        ("~", "310 lb", "weighing of September"),
    ]


def test_only_the_entries_of_a_list_that_changed_are_written() -> None:
    save_records(clean_records(), by="first")
    before = history_length()
    some = tuple(each for each in game().responders if each.code != "R-10")
    save_records([replace(game(), responders=(Presence("R-1", 8), *some[1:]))], by="late change")
    written = models.EventResponder.history.filter(history_change_reason="late change")

    assert history_length() == before + 2
    assert sorted(written.values_list("history_type", "who__code", "from_min")) == [("-", "R-10", 0), ("~", "R-1", 8)]


@pytest.mark.parametrize("scope", [Scope(), Scope("venue", "V-1"), Scope("event", "E-1")])
def test_a_past_plan_is_judged_by_the_records_of_its_day(scope: Scope, clock: Clock) -> None:
    stages: list[tuple[Record, ...]] = [clean_records()]
    for code, change in (
        ("T1-52", {"mass": None}),
        ("E-1", {"responders": game().responders[3:], "vehicles": (Presence("AMB-1", 12),)}),
        ("ORG", {"medical_direction": "someone else"}),
        ("E-1", {"responders": (*game().responders, Presence("R-11"))}),
        ("SCOOP", {"place": "V-1"}),
    ):
        stages.append(tuple(replace(each, **change) if each.code == code else each for each in stages[-1]))
    by_code = {each.code: each for each in stages[0]}
    stages[4] += (replace(by_code["T1-52"], code="T1-99", number=98), replace(by_code["R-1"], code="R-11"))
    stages[5] += stages[4][-2:]
    times = []
    for stage in stages:
        times.append(clock.go_on())
        save_records(stage, by="test")

    for at, stage in zip(times, stages, strict=True):
        for later in (timedelta(), timedelta(seconds=59)):
            loaded = load_programme(DAY, scope, recorded_at=at + later)

            assert set(loaded.records()) == set(stage) - out_of(scope, stage)
            assert missing_references(loaded) == ()
    assert set(load_programme(DAY, scope).records()) == set(stages[-1]) - out_of(scope, stages[-1])


def out_of(scope: Scope, stage: tuple[Record, ...]) -> set[Record]:
    """Records of a stage that no event refers to."""
    event = next(each for each in stage if isinstance(each, Event))
    there = {presence.code for presence in event.responders}
    return {
        each
        for each in stage
        if scope.kind != "all" and getattr(each, "responder", each.code)[:2] == "R-"
        if getattr(each, "responder", each.code) not in there
    }


def test_the_last_written_counts_where_the_clock_was_set_back(clock: Clock) -> None:
    save_records(clean_records(), by="first")
    for mass in ("310 lb", "320 lb"):
        clock.now -= timedelta(minutes=1)
        save_records([athlete("T1-52", 52, mass)], by="later, by an earlier clock")

    assert str(load_programme(DAY, recorded_at=datetime(2026, 9, 2, tzinfo=UTC)).athletes["T1-52"].mass) == "320 lb"


def test_two_savings_within_one_tick_of_the_clock(clock: Clock) -> None:
    save_records(clean_records(), by="first")
    save_records([athlete("T1-52", 52, "310 lb")], by="same moment")

    assert str(load_programme(DAY, recorded_at=clock.now).athletes["T1-52"].mass) == "310 lb"


def test_before_anything_was_recorded_the_store_was_empty(clock: Clock) -> None:
    save_records(clean_records(), by="test")

    with pytest.raises(LookupError, match=r"the store is empty at 2026-08-31T12:00:00\+00:00"):
        load_programme(DAY, recorded_at=clock.now - timedelta(days=1))


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="a time with a zone expected"):
        load_programme(DAY, recorded_at=datetime(2026, 9, 1))  # noqa: DTZ001
