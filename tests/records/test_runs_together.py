"""When a crew last rehearsed with us is known wherever its agency is loaded, from the day recorded and from runs."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from onthree.actions.due import due_on
from onthree.programme.programme import Programme, Scope
from onthree.programme.records import Agency, Record, Run, Shift
from onthree.programme.together import rehearsed_on
from onthree.readiness.due import DueKind
from onthree.store.load import load_programme
from onthree.store.records import save_records
from tests.invented import DAY, clean_records

pytestmark = pytest.mark.django_db
SCOPES = (Scope("event", "E-1"), Scope("venue", "V-1"), Scope("all"))
A_WEEK = timedelta(days=7)


@pytest.fixture(autouse=True)
def saved() -> None:
    """The clean game, its agency never recorded as rehearsed with, and two shifts."""
    records = [replace(each, rehearsed_on=None) if isinstance(each, Agency) else each for each in clean_records()]
    shifts = [Shift(code=code, agency="AG-1", name=code) for code in ("SH-1", "SH-2")]
    save_records([*records, *shifts], by="test")


def runs() -> Iterator[Record]:
    yield Run(code="RUN-1", day=DAY - 3 * A_WEEK, agency="AG-1")
    yield Run(code="RUN-2", day=DAY - 2 * A_WEEK, shift="SH-1")
    yield Run(code="RUN-3", day=DAY - A_WEEK, agency="AG-1", set_aside="stopped")
    yield Run(code="RUN-4", day=DAY - A_WEEK, agency="AG-1", is_hold=True)
    yield Run(code="RUN-5", day=DAY - A_WEEK)
    yield Run(code="RUN-6", day=DAY + A_WEEK, agency="AG-1", shift="SH-2")


def days(programme: Programme) -> dict[str, date | None]:
    crews = (programme.agencies["AG-1"], programme.shifts["SH-1"], programme.shifts["SH-2"])
    return {crew.code: rehearsed_on(programme, crew) for crew in crews}


def test_every_scope_says_the_same() -> None:
    save_records(runs(), by="test")

    for scope in SCOPES:
        assert days(load_programme(DAY, scope)) == {
            "AG-1": DAY - 2 * A_WEEK,
            "SH-1": DAY - 2 * A_WEEK,
            "SH-2": None,
        }, scope


def test_the_later_of_the_day_recorded_and_the_last_run_counts() -> None:
    save_records(runs(), by="test")
    agency = load_programme(DAY).agencies["AG-1"]
    for recorded, counts in ((DAY - A_WEEK, DAY - A_WEEK), (DAY - 9 * A_WEEK, DAY - 2 * A_WEEK)):
        save_records([replace(agency, rehearsed_on=recorded)], by="test")

        assert days(load_programme(DAY, SCOPES[0]))["AG-1"] == counts


def test_a_run_set_aside_since_still_counted_then() -> None:
    save_records(runs(), by="test")
    then = timezone.now()
    run = load_programme(DAY).runs["RUN-2"]
    save_records([replace(run, set_aside="the wrong day")], by="test")

    assert days(load_programme(DAY, SCOPES[0], recorded_at=then))["SH-1"] == DAY - 2 * A_WEEK
    assert days(load_programme(DAY, SCOPES[0]))["SH-1"] is None


def test_more_runs_ask_no_more_of_the_store() -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as questions:
            load_programme(DAY, SCOPES[0])
        return len(questions)

    before = asked()
    save_records([Run(code=f"RUN-{n}", day=DAY - n * A_WEEK, agency="AG-1") for n in range(60)], by="test")

    assert asked() == before
    assert len(load_programme(DAY, SCOPES[0]).run_days) == 1


def test_what_is_due_counts_runs_too() -> None:
    def due() -> set[str]:
        found = (each for each in due_on(DAY) if each.kind is DueKind.REHEARSAL)
        return {one.code for each in found for one in (*each.dated, *each.never_recorded)}

    assert {"AG-1", "SH-1", "SH-2"} <= due()
    save_records(runs(), by="test")

    assert not {"AG-1", "SH-1"} & due()
    assert "SH-2" in due()
