"""Two options side by side: only what differs, each fact as it is in both, and what the evidence says."""

import pytest

from onthree.programme.presence import Presence
from onthree.transfers.differences import differences, evidence_lines
from onthree.transfers.options import OptionResult
from tests.unit.transfers.clean_game import asked, engine_of, settled


def side_by_side(
    one: str, other: str, position: str = "supine", **changes: dict[str, object]
) -> dict[str, tuple[str, str]]:
    """The facts in which the best options with two techniques differ."""
    answer = asked(engine_of(**changes), position)
    results = [answer.best_with(technique) for technique in (one, other)]
    assert results[0] and results[1]
    return {found.fact: (found.one, found.other) for found in differences(results[0], results[1])}


def planned_arriving(way: str) -> OptionResult:
    answer = asked(engine_of(*settled("required", way)))
    assert answer.planned
    return answer.planned


def test_an_option_does_not_differ_from_itself() -> None:
    one = planned_arriving("device in")

    assert differences(one, one) == ()


def test_two_ends_of_a_scoop_differ_in_nothing_but_their_names() -> None:
    found = side_by_side("scoop_foot_end_first", "scoop_head_end_first")

    assert set(found) == {"handled by"}


def test_scoop_and_log_roll_differ_in_device_and_in_one_handling() -> None:
    found = side_by_side("scoop_foot_end_first", "log_roll_supine_long_board")

    assert found["with"] == ("scoop", "long board")
    assert int(found["handlings"][1]) - int(found["handlings"][0]) == 1, "centring"
    assert "Centring on the device" not in found["handled by"][0]
    assert "Centring on the device" in found["handled by"][1]
    assert "answer" not in found and "device out" not in found, "the same in both"


def test_where_the_device_comes_out_is_a_fact() -> None:
    found = {
        one.fact: (one.one, one.other)
        for one in differences(planned_arriving("device in"), planned_arriving("device out"))
    }

    assert found["device out"] == ("never", "on the cot")
    assert found["head secured"] == ("on the ground", "on the ground, then on the cot")
    assert set(found) == {"handlings", "head secured", "device out", "handled by"}


@pytest.mark.parametrize("minute", [0, 8])
def test_an_option_that_is_closed_never_comes_to_its_minute(minute: int) -> None:
    found = side_by_side(
        "scoop_foot_end_first",
        "straddle_lift_long_board",
        E_1={"vehicles": (Presence("AMB-1", minute),)},
        BOARD={"in_service": False},
    )

    assert found["answer"] == ("possible", "not possible")
    assert found["from minute"] == (str(minute), "never")


def test_an_agreement_with_the_agency_is_a_fact() -> None:
    engine = engine_of(*settled("agreed", "scoop_head_end_first"))
    answer = asked(engine)
    one, other = (answer.best_with(technique) for technique in ("scoop_head_end_first", "scoop_foot_end_first"))
    assert one and other

    found = {difference.fact: (difference.one, difference.other) for difference in differences(one, other)}
    assert found["ways not agreed with the agency"] == ("0", "1")


def test_what_the_evidence_says_is_said_with_its_source_and_what_it_is_not() -> None:
    """Push against pull in the prone log roll, as the bundled contrasts have it."""
    engine = engine_of()
    answer = asked(engine, "prone")
    push, pull = (answer.best_with(f"log_roll_{way}_long_board") for way in ("push", "pull"))
    assert push and pull
    lines = evidence_lines(engine.order, push.option, pull.option)

    assert lines[0].startswith("The same in both: ")
    assert lines[1].startswith("log roll, push (equipment on) instead of log roll, pull (equipment on): ")
    assert "[" in lines[1], "a source"


def test_two_options_with_the_same_handlings_have_nothing_to_compare() -> None:
    engine = engine_of()
    option = planned_arriving("device in").option

    assert evidence_lines(engine.order, option, option) == ("The same handlings: nothing to compare.",)
