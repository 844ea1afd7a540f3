"""A run as it is recorded: each tap is kept at once, sent twice it is kept once, and nothing is ever lost."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from onthree.actions import runs
from onthree.programme.programme import Scope, missing_references
from onthree.programme.records import Measured, Run, RunRole
from onthree.rehearsals.ladder import Filmed, rung_of
from onthree.rehearsals.recorded import counting_runs_of_evening
from onthree.store.load import load_programme
from onthree.store.records import save_records
from onthree.store.rows import TABLE_OF
from tests.invented import DAY, ROLL, clean_records, rehearsal_records

pytestmark = pytest.mark.django_db

RUN = next(each for each in rehearsal_records() if isinstance(each, Run))
HOLD = "manual_in_line_stabilization"
MEASURED = Measured(code="", run="", phase="PH-2", quantity="peak_total_deg", value=7.25, low=5.5, high=9.0)


@pytest.fixture
def recorded() -> None:
    """The clean game and one recorded run."""
    save_records([*clean_records(), *rehearsal_records()], by="test")


@pytest.fixture
def started() -> str:
    """The code of a run that has just begun, with a head holder."""
    save_records(clean_records(), by="test")
    role = RunRole(code="L-1", run="", technique=ROLL, role="head", responder="R-1")
    runs.start_run(replace(RUN, code="LIVE", lasted_s=None), [role], by="tablet")
    return "LIVE"


def history(kind: type[Any], code: str) -> list[tuple[str, str]]:
    """What happened to a record, oldest first: sort of change and who."""
    table: Any = TABLE_OF[kind]
    return list(
        table.history.filter(code=code).order_by("history_id").values_list("history_type", "history_change_reason")
    )


def test_a_run_comes_alone_with_all_it_refers_to(recorded: None) -> None:
    loaded = load_programme(DAY, Scope("run", "RUN-1"))

    assert missing_references(loaded) == ()
    assert set(loaded.responders) == {"R-1", "R-2"}
    assert set(loaded.gear) == {"BOARD"}
    assert (set(loaded.events), set(loaded.athletes), set(loaded.teams)) == (set(), set(), set())
    assert {one.code for one in rehearsal_records()} < {one.code for one in loaded.records()}


def test_an_event_comes_without_runs(recorded: None) -> None:
    loaded = load_programme(DAY, Scope("event", "E-1"))

    assert (loaded.runs, loaded.run_phases, loaded.measured) == ({}, {}, {})


def test_a_run_nobody_has_is_refused_with_the_nearest(recorded: None) -> None:
    with pytest.raises(LookupError, match=r"no run has the code 'RUN-l': did you mean RUN-1\?"):
        runs.run_of("RUN-l")


def test_a_run_is_tapped_from_start_to_end(started: str) -> None:
    runs.tap_phase(started, HOLD, 2.0, "P-a", by="tablet")
    runs.tap_phase(started, ROLL, 9.5, "P-b", by="tablet")
    runs.tap_incident(started, "re-grip", 12.25, "I-a", by="tablet", responder="R-2")
    runs.set_effort(started, "L-1", 4, by="tablet")
    runs.set_guess(started, 5.0, "axial rotation", by="tablet")
    there = runs.end_run(started, 40.0, by="tablet")

    assert [(one.technique, one.order, one.start_s, one.end_s) for one in there.phases] == [
        (HOLD, 1, 2.0, 9.5),
        (ROLL, 2, 9.5, 40.0),
    ]
    assert [(one.kind, one.moment_s, one.technique) for one in there.incidents] == [("re-grip", 12.25, ROLL)]
    assert (there.roles[0].effort, there.run.lasted_s, there.run.head_guess_deg) == (4, 40.0, 5.0)


def test_a_tap_sent_twice_is_kept_once(started: str) -> None:
    for _ in range(2):
        runs.start_run(replace(RUN, code="LIVE"), [], by="tablet")
        runs.tap_phase(started, HOLD, 2.0, "P-a", by="tablet")
        runs.tap_incident(started, "stop called", 3.0, "I-a", by="tablet")
        there = runs.end_phase(started, 5.0, by="tablet")

    assert (len(there.phases), len(there.incidents), there.phases[0].end_s) == (1, 1, 5.0)
    assert runs.end_phase(started, 6.0, by="tablet").phases[0].end_s == 5.0
    assert there.run.lasted_s is None


def test_an_undone_tap_opens_what_it_had_ended_and_its_history_stays(started: str) -> None:
    runs.tap_phase(started, HOLD, 2.0, "P-a", by="tablet")
    runs.tap_phase(started, ROLL, 9.5, "P-b", by="tablet")
    for _ in range(2):
        there = runs.undo(started, "P-b", by="second tablet")

    assert [(one.code, one.end_s) for one in there.phases] == [("P-a", None)]
    from onthree.programme.records import RunPhase

    assert history(RunPhase, "P-b") == [("+", "tablet"), ("-", "second tablet")]
    assert history(RunPhase, "P-a") == [("+", "tablet"), ("~", "tablet"), ("~", "second tablet")]


def test_only_the_last_phase_is_undone_and_never_one_that_was_measured(recorded: None) -> None:
    with pytest.raises(ValueError, match="PH-1 is not the last phase"):
        runs.undo("RUN-1", "PH-1", by="tablet")
    with pytest.raises(ValueError, match="other records refer to it"):
        runs.undo("RUN-1", "PH-2", by="tablet")
    assert len(runs.run_of("RUN-1").phases) == 2


@pytest.mark.parametrize(
    ("act", "message"),
    [
        (lambda: runs.tap_phase("LIVE", "no_such", 3.0, "P-x", "x"), "identifier of a technique expected"),
        (lambda: runs.tap_phase("LIVE", ROLL, 1.0, "P-x", "x"), "a moment after 2.0 s expected"),
        (lambda: runs.tap_phase("LIVE", ROLL, float("nan"), "P-x", "x"), "a moment of the run clock from 0"),
        (lambda: runs.tap_phase("LIVE", ROLL, 3.0, "P x", "x"), "without blanks"),
        (lambda: runs.end_phase("LIVE", 2.0, "x"), "began then"),
        (lambda: runs.end_run("LIVE", 1.0, "x"), "a moment after 2.0 s expected"),
        (lambda: runs.tap_incident("LIVE", "slipped", 3.0, "I-x", "x"), "caught on turf"),
        (lambda: runs.set_effort("LIVE", "L-1", 11, "x"), "from 0 to 10"),
        (lambda: runs.set_effort("LIVE", "L-9", 1, "x"), "no role 'L-9'"),
        (lambda: runs.set_guess("LIVE", 181.0, None, "x"), "0 to 180"),
        (lambda: runs.set_guess("LIVE", 3.0, "sideways", "x"), "lateral bending"),
        (lambda: runs.attach_recording("LIVE", Path("x"), "video", "x"), "film with tags"),
        (lambda: runs.save_measured("LIVE", [replace(MEASURED, quantity="peak")], "x"), "name of the measures"),
        (lambda: runs.save_measured("LIVE", [MEASURED], "x"), "phase 'PH-2' given"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(started: str, act: Any, message: str) -> None:
    before = runs.tap_phase(started, HOLD, 2.0, "P-a", by="tablet")

    with pytest.raises((ValueError, LookupError), match=message):
        act()
    assert runs.run_of(started) == before


def test_a_run_set_aside_stays_and_does_not_count(recorded: None) -> None:
    save_records([replace(RUN, code="RUN-2", stand_in="dummy")], by="test")
    there = runs.set_aside("RUN-1", "  tripod kicked  over ", by="lead")
    known = load_programme(DAY)

    assert there.run.set_aside == "tripod kicked over"
    assert not there.counts
    assert set(known.runs) == {"RUN-1", "RUN-2"}
    assert [run.code for run in counting_runs_of_evening(known, RUN)] == ["RUN-2"]
    assert runs.set_aside("RUN-1", "", by="lead").counts
    assert history(Run, "RUN-1") == [("+", "test"), ("~", "lead"), ("~", "lead")]


def test_two_people_who_edit_one_run_both_stand_in_its_history(recorded: None) -> None:
    runs.set_guess("RUN-1", 8.0, "total", by="head holder")
    runs.set_aside("RUN-1", "wrong board", by="lead")

    there = runs.run_of("RUN-1").run
    assert (there.head_guess_deg, there.set_aside) == (8.0, "wrong board")
    assert history(Run, "RUN-1") == [("+", "test"), ("~", "head holder"), ("~", "lead")]


def test_a_recording_is_known_by_its_content(started: str, tmp_path: Path) -> None:
    film = tmp_path / "roll.mp4"
    film.write_bytes(b"invented")
    runs.attach_recording(started, film, "film", by="tablet", offset_s=-1.2345678)
    again = runs.attach_recording(started, film, "film with tags", by="tablet", offset_s=-1.0, offset_sd_s=0.05)

    assert [(one.kind, one.offset_s, one.offset_sd_s) for one in again.recordings] == [("film with tags", -1.0, 0.05)]
    assert again.recordings[0].sha256 == runs.sha256_of(film)


def test_what_is_measured_again_replaces_the_number_and_keeps_its_history(recorded: None) -> None:
    lag = replace(MEASURED, quantity="start_lag_first_turn_s", value=0.1234567, low=float("nan"), high=None)
    unknown = replace(MEASURED, quantity="path_deg", value=float("nan"))
    rung = rung_of(Filmed(films_count=1, head_tags_count=2, trunk_tags_count=2))
    there = runs.save_measured("RUN-1", [MEASURED, lag, unknown], by="film", rung=rung)
    again = runs.save_measured("RUN-1", [replace(MEASURED, value=8.0)], by="film")

    assert {(one.code, one.quantity, one.value, one.low) for one in there.measured} == {
        ("ME-1", "start_lag_first_turn_s", 0.123457, None),
        ("RUN-1-m1", "peak_total_deg", 7.25, 5.5),
    }
    assert [one.value for one in again.measured if one.quantity == "peak_total_deg"] == [8.0]
    assert history(Measured, "RUN-1-m1") == [("+", "film"), ("~", "film")]
    assert again.run.rung == 2


def test_what_is_not_known_when_measured_again_is_taken_back_with_its_history(recorded: None) -> None:
    first = runs.save_measured("RUN-1", [MEASURED], by="film")
    again = runs.save_measured("RUN-1", [replace(MEASURED, value=float("nan"))], by="film again")

    assert MEASURED.quantity in {one.quantity for one in first.measured}
    assert MEASURED.quantity not in {one.quantity for one in again.measured}
    assert history(Measured, "RUN-1-m1") == [("+", "film"), ("-", "film again")]
