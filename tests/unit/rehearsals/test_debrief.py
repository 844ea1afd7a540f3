"""What is said after a run: who began late, where the head moved most, what to do; never that a motion is safe."""

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest

from onthree.demo.conference import DEMO_TODAY, conference_records
from onthree.kinematics.start_lag import TURNED_BACK
from onthree.programme.programme import Programme, programme_of
from onthree.programme.records import Incident, Measured, Record, Run, RunPhase
from onthree.programme.rehearsals import INCIDENT_KINDS, START_LAG_LATER, START_LAG_MODELLED
from onthree.rehearsals.debrief import AWAKE, Debrief, debrief
from onthree.rehearsals.tonight import tonight
from onthree.techniques.library import bundled_library
from tests.invented import DAY, clean_records, rehearsal_records

CONFERENCE = programme_of(conference_records(), DEMO_TODAY)
FORBIDDEN = re.compile(
    r"\bsafe(?:ly|r)?\b|\blimits?\b|\bgood\b|\bbad\b|\bacceptable\b|\bpass(?:ed)?\b|\bfail", re.IGNORECASE
)


def programme(changes: Iterable[Record] = (), left_out: Iterable[type] = ()) -> Programme:
    """The clean programme with its run, records replaced by code, kinds left out."""
    by_code = {record.code: record for record in (*clean_records(), *rehearsal_records(), *changes)}
    return programme_of((each for each in by_code.values() if type(each) not in tuple(left_out)), DAY)


def page(*changes: Record, left_out: Iterable[type] = ()) -> Debrief:
    return debrief(programme(changes, left_out), "RUN-1", bundled_library())


def of(record_type: type[Any], **changes: Any) -> Any:
    """The only record of a kind that the run has, changed."""
    return replace(next(each for each in rehearsal_records() if type(each) is record_type), **changes)


def peak(value: float, low: float | None, high: float | None, **more: Any) -> Measured:
    return of(Measured, code="ME-2", quantity="peak_total_deg", value=value, low=low, high=high, **more)


@pytest.mark.parametrize(
    ("value", "low", "high", "said"),
    [
        (0.18, 0.15, 0.21, "The body began before the head, by 180 ms (95 % band 150 to 210): count aloud"),
        (-0.18, -0.21, -0.15, "The head began before the body, by 180 ms (95 % band 150 to 210): head holder"),
        (0.02, -0.05, 0.09, "Head and body began together as far as the film can tell: 20 ms (95 % band -50 to 90)"),
        (0.18, None, None, "Head and body began together as far as the film can tell: 180 ms (band not known)"),
    ],
)
def test_who_began_first_is_said_only_if_the_band_tells(
    value: float, low: float | None, high: float | None, said: str
) -> None:
    assert page(of(Measured, value=value, low=low, high=high)).sentences[0].startswith(said)


def test_of_a_hold_no_start_lag_is_missed() -> None:
    found = page(of(Run, is_hold=True), left_out=(Measured,))

    assert found.sentences[0].startswith("Nobody moved in this run")
    assert found.lag_said == "nobody moved, no start to tell"


def test_a_start_that_turned_back_is_said_to_with_who_began_first() -> None:
    told_by = f"helmet on pads; {TURNED_BACK}; told by the first degree"
    found = page(of(Measured, value=0.18, low=0.15, high=0.21, measured_as=told_by))

    assert f"(95 % band 150 to 210), but {TURNED_BACK}: count aloud" in found.sentences[0]
    assert found.lag_said == f"95 % band 150 to 210; the body first; {TURNED_BACK}"


@pytest.mark.parametrize(
    ("low", "high", "more"), [(0.29, 0.31, "; the head went on more slowly than the body"), (0.16, 0.44, "")]
)
def test_the_lag_at_the_later_size_stands_beside(low: float, high: float, more: str) -> None:
    first = of(Measured, value=0.18, low=0.15, high=0.21)
    found = page(first, replace(first, code="ME-3", quantity=START_LAG_LATER, value=0.3, low=low, high=high))

    assert found.later_value == "300 ms"
    assert found.later_said == f"95 % band {1000 * low:.0f} to {1000 * high:.0f}{more}"


def test_a_lag_of_an_earlier_version_is_not_told_as_one() -> None:
    found = page(of(Measured, quantity=START_LAG_MODELLED, value=0.3))

    assert found.lag is None
    assert found.lag_said == "an earlier version reckoned it otherwise: measure the film again"
    assert found.sentences[0].startswith("Who began first was not measured")


def test_the_peak_is_said_with_moment_technique_band_and_what_was_measured() -> None:
    assert page(peak(7.25, 5.5, 9.0, moment_s=18.25)).sentences[1] == (
        "The head turned most at 18.2 s in log roll by push onto a long board, by 7.2 degrees (95 % band 5.5 to 9.0), "
        "helmet on pads; look at that moment together."
    )


def test_plain_film_is_a_full_debrief() -> None:
    plain = page(left_out=[Measured])

    assert plain.sentences[0].startswith("Who began first was not measured; to see it next time: ")
    assert plain.sentences[1] == (
        "Most of the time went into log roll by push onto a long board: 30 s; usual is 22 s (a guess)."
    )
    assert plain.sentences[2].startswith("Command missed at 21.6 s: have everybody say ready")
    assert (plain.lag, plain.peak) == (None, None)
    assert "not measured" in plain.guess
    assert [mark.kind for mark in plain.marks] == ["incident", "phase", "phase"]


def test_a_run_of_which_nothing_is_known_says_so() -> None:
    bare = debrief(programme([Run(code="RUN-9", day=DAY)]), "RUN-9", bundled_library())

    assert bare.rung.number == 0
    assert bare.sentences[1] == "No phase was timed; tap each technique as it begins, or mark it on the film."
    assert bare.sentences[2] == "No incident was recorded; ask each how hard it was."
    assert ("Where", "not recorded") in bare.facts
    assert "Spotters are not recorded: place them before the next run." in bare.cautions


@pytest.mark.parametrize("kind", INCIDENT_KINDS)
def test_each_kind_of_incident_has_something_to_do(kind: str) -> None:
    said = page(of(Incident, kind=kind)).sentences[2]

    assert said.startswith(f"{kind.capitalize()} at 21.6 s: ")
    assert said.endswith(AWAKE)


def test_no_sentence_calls_a_motion_safe_or_names_a_limit() -> None:
    pages = [debrief(CONFERENCE, code, bundled_library()) for code in CONFERENCE.runs]
    pages += [page(left_out=[Measured]), page(peak(0.1, 0.0, 0.2)), page(peak(90.0, 80.0, 99.0))]

    for each in pages:
        assert not FORBIDDEN.search(" ".join(each.sentences)), each.sentences
        assert "No accepted safe threshold exists" in " ".join(each.cautions)


def test_a_volunteer_is_said_to_be_awake_and_a_dummy_to_be_one() -> None:
    assert page().sentences[2].endswith(AWAKE)
    assert "dummy" in page(of(Run, stand_in="dummy")).sentences[2]


@pytest.mark.parametrize(
    ("changes", "caution"),
    [
        ({"set_aside": "tripod kicked over"}, "Set aside, does not count: tripod kicked over."),
        ({"stand_in_age_group": "15 to 17"}, "The volunteer is under age and no permission is recorded"),
        ({"stand_in_age_group": None}, "The volunteer's age is not recorded"),
        ({"consent": None}, "Consent is not recorded."),
        ({"spotters": False}, "Spotters are not recorded"),
    ],
)
def test_what_was_not_as_it_should_be_is_said_first(changes: dict[str, Any], caution: str) -> None:
    assert page(of(Run, **changes)).cautions[0].startswith(caution)


def test_with_permission_a_younger_volunteer_is_no_caution() -> None:
    assert page(of(Run, stand_in_age_group="15 to 17", permission=True)).cautions == page().cautions


def test_a_phase_is_set_beside_its_usual_time_guesses_marked() -> None:
    roll = page().phases[1]

    assert (roll.took_s, roll.usual_s, roll.usual_is_guess, roll.seen) == (30.375, 22.0, True, "94%")
    undone = page(RunPhase(code="PH-2", run="RUN-1", technique="centring", order=2, start_s=9.125)).phases[1]
    assert undone.took_s is None


def test_two_holds_and_three_repeats_give_tonights_figure() -> None:
    """t(0.975, 2 degrees of freedom) = 4.303, times sqrt(2), times the standard deviation of 18.56, 13.2, 9.8: 4.42."""
    evening = tonight(CONFERENCE, CONFERENCE.runs["RUN-3"])

    assert evening.why_none == ""
    assert evening.figure["peak_total_deg"] == pytest.approx(4.303 * 2**0.5 * 4.416, rel=1e-3)
    assert evening.held == {"peak_total_deg": 0.4}


def test_each_difference_stands_beside_tonights_figure() -> None:
    said = debrief(CONFERENCE, "RUN-4", bundled_library()).beside

    assert said == (
        "start lag 95 ms less than in RUN-3: no more than the 504 ms by which two runs of one technique differ anyway, "
        "95 times in 100",
        "peak 5.4 degrees less than in RUN-3: no more than the 26.9 degrees by which two runs of one technique differ "
        "anyway, 95 times in 100",
    )


def test_a_run_that_was_set_aside_leaves_the_evening() -> None:
    without = [replace(each, set_aside="x") if each.code == "RUN-3" else each for each in CONFERENCE.records()]
    known = programme_of(without, DEMO_TODAY)

    assert "RUN-3" not in [each.run.code for each in tonight(known, known.runs["RUN-4"]).runs]
    assert debrief(known, "RUN-4", bundled_library()).beside == ()


def test_without_holds_there_is_no_figure_and_it_is_said() -> None:
    said = page().beside

    assert said == (
        "Tonight's noise is not known: 0 do-nothing holds and 0 techniques repeated: film two holds and three repeats",
    )
