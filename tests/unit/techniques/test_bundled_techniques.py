"""The bundled techniques together: what they may never lead to, from every state in which an athlete is found."""

from graphlib import TopologicalSorter
from itertools import product

import pytest

from onthree.techniques.library import bundled_library
from onthree.techniques.state import ALIGNMENTS, CARRYING_DEVICES, POSITIONS, STATE_VALUES, State, found

FOUND = [
    found(position, "screws", equipment, alignment, place)
    for position, equipment, alignment, place in product(
        POSITIONS, STATE_VALUES["equipment"], ALIGNMENTS, ("ground", "obstacle")
    )
]
ON_WHEELS = ("cot at vehicle", "vehicle")
EQUIPMENT_OFF = ("helmet_off_head_padded", "equipment_removal_flat_torso", "equipment_removal_elevated_torso")


def reached_from(start: State) -> dict[State, set[State]]:
    """Every state that any chain of techniques reaches, with the states that follow it."""
    following: dict[State, set[State]] = {}
    waiting = [start]
    while waiting:
        state = waiting.pop()
        if state not in following:
            after = {one.leads_to(state) for one in bundled_library().techniques if one.is_open_in(state)}
            following[state] = after - {state}
            waiting.extend(after)
    return following


@pytest.fixture(scope="module")
def reached() -> dict[State, dict[State, set[State]]]:
    return {start: reached_from(start) for start in FOUND}


def test_every_found_athlete_gets_to_the_hospital_stretcher(reached: dict[State, dict[State, set[State]]]) -> None:
    for start, states in reached.items():
        assert any(state.place == "hospital stretcher" for state in states), start


def test_no_chain_ever_comes_back_to_a_state(reached: dict[State, dict[State, set[State]]]) -> None:
    for states in reached.values():
        TopologicalSorter(states).prepare()


def test_the_head_is_never_secured_on_a_loose_body(reached: dict[State, dict[State, set[State]]]) -> None:
    for states in reached.values():
        assert not [state for state in states if state.head == "secured" and state.body == "loose"]


def test_nobody_rides_with_a_loose_body_or_a_head_that_nobody_holds(
    reached: dict[State, dict[State, set[State]]],
) -> None:
    for states in reached.values():
        moving = [state for state in states if state.place in ON_WHEELS]
        assert {state.body for state in moving} == {"strapped"}
        assert {state.head for state in moving} <= {"secured", "held by crew"}


def test_a_head_that_may_not_be_brought_to_neutral_stays_as_found(
    reached: dict[State, dict[State, set[State]]],
) -> None:
    for start, states in reached.items():
        if start.alignment == "not realignable":
            assert {state.alignment for state in states} == {"not realignable"}
            assert {state.equipment for state in states} <= {start.equipment, "not worn"}


def test_nobody_young_and_unequipped_is_strapped_before_the_torso_is_padded(
    reached: dict[State, dict[State, set[State]]],
) -> None:
    for states in reached.values():
        assert not [one for one in states if one.body == "strapped" and one.equipment == "not worn, torso not padded"]


def test_a_collar_goes_on_only_where_it_seats(reached: dict[State, dict[State, set[State]]]) -> None:
    for states in reached.values():
        assert {one.equipment for one in states if one.collar == "on"} <= {"off", "not worn"}


def test_an_athlete_against_an_obstacle_is_moved_clear_before_anything_else() -> None:
    state = found("prone", "screws", place="obstacle")._replace(head="held")
    open_moves = [one.id for one in bundled_library().moves if one.is_open_in(state)]

    assert open_moves == ["clear_of_obstacle"]


def test_a_helmet_comes_off_alone_only_with_padding() -> None:
    need = bundled_library()["helmet_off_head_padded"].need

    assert [(one.kind, one.is_certain) for one in need] == [("padding", True)]


def test_a_vacuum_mattress_is_asked_for_together_with_a_rigid_carrier() -> None:
    for technique in ("vacuum_mattress_from_scoop", "vacuum_mattress_by_lift"):
        assert {need.kind for need in bundled_library()[technique].need} == {"vacuum mattress", "long board"}


def test_every_carrying_device_is_checked_for_presence_service_and_rating_where_it_is_brought() -> None:
    for technique in bundled_library().techniques:
        for need in technique.need:
            if need.kind in CARRYING_DEVICES:
                assert need.checks == ("present", "in_service", "rated_load"), technique.id


def test_where_sources_conflict_both_stand_there() -> None:
    library = bundled_library()

    for technique in ("log_roll_push_long_board", "log_roll_pull_long_board"):
        assert {"mihalik-2008", "ice-rinks-2000"} <= {limit.source for limit in library[technique].limit}
    for technique in EQUIPMENT_OFF[1:]:
        assert {"horodyski-2009", "lenhardt-2015"} <= {caution.source for caution in library[technique].caution}


def test_lifts_that_sources_keep_apart_do_not_share_evidence() -> None:
    lifts = [
        "eight_person_lift_long_board",
        "lift_and_slide_long_board",
        "six_plus_lift_long_board",
        "straddle_lift_long_board",
    ]
    kinds = [bundled_library()[lift].handling.evidence for lift in lifts]

    assert kinds == ["eight-person lift", "lift-and-slide", "six-plus lift", "straddle lift"]
    assert all(bundled_library()[lift].stance for lift in lifts)


@pytest.mark.parametrize("technique", EQUIPMENT_OFF)
def test_equipment_comes_off_by_hands_on_a_held_head_in_neutral(technique: str) -> None:
    before = bundled_library()[technique].before

    assert (before["head"], before["alignment"], before["body"]) == (("held",), ("neutral",), ("loose",))


def test_each_way_of_the_cot_has_one_technique() -> None:
    library = bundled_library()
    closed = {
        technique: {way for limit in library[technique].limit if limit.verdict == "unsuitable" for way in limit.values}
        for technique in ("cot_over_flat", "cot_over_slope", "cot_over_stairs")
    }

    assert closed == {
        "cot_over_flat": {"slope", "stairs"},
        "cot_over_slope": {"flat", "stairs"},
        "cot_over_stairs": {"flat", "slope"},
    }
