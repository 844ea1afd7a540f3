"""Own runs of a technique, told run by run: nothing is pooled, nothing is made of what was not measured."""

from dataclasses import replace
from datetime import date

from onthree.programme.records import Measured
from onthree.rehearsals.debrief import AWAKE
from onthree.rehearsals.own import ON_WHOM_UNKNOWN, OwnRun, own_measured_of


def lag(value_s: float, low_s: float | None = None, high_s: float | None = None) -> Measured:
    return Measured(code="ME", run="RUN", quantity="start_lag_first_turn_s", value=value_s, low=low_s, high=high_s)


def run(day: int, *measured: Measured, stand_in: str | None = "volunteer") -> OwnRun:
    return OwnRun(run=f"RUN-{day}", day=date(2026, 11, day), stand_in=stand_in, measured=measured)


def test_the_smallest_and_the_largest_are_told_each_with_its_own_band() -> None:
    own = own_measured_of("scoop_foot_end_first", [run(1, lag(0.25, 0.2, 0.3)), run(2, lag(0.1, 0.05, 0.15))])

    assert own.told[0] == "2 runs count, the last on 2026-11-02"
    assert own.told[1].endswith("from 100 ms (95 % band 50 to 150) to 250 ms (95 % band 200 to 300), measured 2 times")
    assert not any("mean" in text or "average" in text for text in own.told)


def test_one_run_is_said_to_be_one() -> None:
    own = own_measured_of("scoop_foot_end_first", [run(1, lag(0.25))])

    assert own.told[0] == "1 run counts, the last on 2026-11-01"
    assert own.told[1].endswith("250 ms (band not known), measured once")
    assert own.runs[0].lines[0][3] == "on what it was measured is not recorded"


def test_a_run_in_which_nothing_was_measured_counts_and_says_so() -> None:
    own = own_measured_of("scoop_foot_end_first", [run(1)])

    assert own.told == ("1 run counts, the last on 2026-11-01", "nothing was measured in it")
    assert own.cautions == ()


def test_no_run_tells_nothing() -> None:
    assert own_measured_of("scoop_foot_end_first", []).told == ()


def test_each_kind_of_stand_in_has_its_caution() -> None:
    runs = [run(1, lag(0.1)), run(2, lag(0.1), stand_in="dummy"), run(3, lag(0.1), stand_in=None)]
    awake, dummy, unknown = own_measured_of("scoop_foot_end_first", runs).cautions

    assert awake == AWAKE
    assert dummy.startswith("A dummy")
    assert unknown == ON_WHOM_UNKNOWN


def test_a_lag_of_an_earlier_version_is_told_apart_and_not_compared() -> None:
    old = replace(lag(0.3), quantity="start_lag_s")
    told = own_measured_of("scoop_foot_end_first", [run(1, lag(0.25, 0.2, 0.3)), run(2, old)]).told

    assert told[1] == "start lag of the head behind the body: 250 ms (95 % band 200 to 300), measured once"
    assert told[2].startswith("start lag as an earlier version reckoned it, not to be compared: 300 ms")


def test_lags_told_by_turn_and_by_shift_are_told_apart() -> None:
    by_turn, by_shift = (
        replace(lag(value_s), measured_as=f"helmet on pads; told by the first {size}")
        for value_s, size in ((0.1, "degree"), (0.2, "centimetre"))
    )
    told = own_measured_of("scoop_foot_end_first", [run(1, by_turn), run(2, by_shift)]).told

    assert told[1] == (
        "start lag of the head behind the body, told by the first degree: 100 ms (band not known), measured once"
    )
    assert ", told by the first centimetre: 200 ms" in told[2]
