"""Where an option ends: the words of an agreement, what contradicts itself, and the airway always reachable."""

import pytest

from onthree.techniques.state import STATE_VALUES, State
from onthree.transfers.agreements import clashes, in_words
from onthree.transfers.goals import ARRIVALS, DEVICE_IN, DEVICE_OUT, GOALS, goal_of, read_goal
from tests.unit.transfers.clean_game import asked, engine_of, planned, settled

ARRIVED = State(
    position="supine",
    place="hospital stretcher",
    device="scoop",
    centred="yes",
    head="secured",
    alignment="neutral",
    body="strapped",
    mask="off",
    equipment="on",
    collar="none",
)


@pytest.mark.parametrize(
    ("word", "changes"),
    [
        ("device in", {"device": "none"}),
        ("device out", {}),
        ("equipment on", {"equipment": "off"}),
        ("equipment off", {}),
        ("equipment off", {"equipment": "helmet off, head padded"}),
        ("collar on", {}),
        ("head secured", {"head": "held"}),
    ],
)
def test_a_way_of_arriving_is_missed(word: str, changes: dict[str, str]) -> None:
    assert not goal_of([word]).is_reached_in(ARRIVED._replace(**changes))


@pytest.mark.parametrize(
    ("word", "changes"),
    [
        ("device in", {}),
        ("device in", {"device": "long board"}),
        ("device out", {"device": "none"}),
        ("equipment on", {}),
        ("equipment on", {"equipment": "not worn"}),
        ("equipment off", {"equipment": "off"}),
        ("equipment off", {"equipment": "not worn"}),
        ("collar on", {"collar": "on"}),
        ("head secured", {}),
    ],
)
def test_a_way_of_arriving_is_met(word: str, changes: dict[str, str]) -> None:
    assert goal_of([word]).is_reached_in(ARRIVED._replace(**changes))


def test_every_word_names_values_that_a_state_can_have() -> None:
    for conditions in ARRIVALS.values():
        for name, allowed in conditions.items():
            assert set(allowed) <= set(STATE_VALUES[name])


@pytest.mark.parametrize("changes", [{"place": "vehicle"}, {"position": "prone"}])
def test_no_option_ends_before_the_hospital_stretcher_or_prone(changes: dict[str, str]) -> None:
    assert not DEVICE_IN.is_reached_in(ARRIVED._replace(**changes))


@pytest.mark.parametrize("fastening", ["screws", "quick release", "fastening not known"])
def test_the_airway_is_reachable_by_mask_or_helmet(fastening: str) -> None:
    covered = ARRIVED._replace(mask=fastening)

    assert not DEVICE_IN.is_reached_in(covered)
    assert DEVICE_IN.is_reached_in(covered._replace(equipment="helmet off, head padded"))
    assert DEVICE_IN.is_reached_in(covered._replace(equipment="off"))


@pytest.mark.parametrize(
    ("words", "is_contradictory"),
    [
        (["device in", "device out"], True),
        (["device in", "equipment off", "collar on", "head secured"], False),
        (["equipment on", "equipment off"], False),
    ],
)
def test_two_words_contradict_each_other_where_no_state_meets_both(words: list[str], is_contradictory: bool) -> None:
    assert goal_of(words).is_contradictory is is_contradictory


def test_equipment_on_and_off_is_met_only_by_who_wears_none() -> None:
    both = goal_of(["equipment on", "equipment off"])

    assert not both.is_reached_in(ARRIVED)
    assert not both.is_reached_in(ARRIVED._replace(equipment="off"))
    assert both.is_reached_in(ARRIVED._replace(equipment="not worn", mask="not worn"))


def test_a_goal_is_read_as_it_is_written() -> None:
    assert read_goal("device-out") is DEVICE_OUT
    assert read_goal(" equipment-off + device-in ") is goal_of(["device in", "equipment off"])
    for words in (["head secured"], ["device out", "collar on"]):
        goal = goal_of(words)
        assert read_goal(goal.id) is goal


def test_the_same_words_in_any_order_are_the_same_goal_and_its_title_says_them() -> None:
    one, other = goal_of(["collar on", "device in"]), goal_of(["device in", "collar on", "collar on"])

    assert one is other
    assert (one.id, one.title) == (
        "device-in+collar-on",
        "on the hospital stretcher, carrying device still under the athlete, collar on",
    )


def test_words_nobody_knows_are_told_beside_those_that_are() -> None:
    with pytest.raises(KeyError, match=r"arm up given, expected one of: device in, device out, equipment on"):
        read_goal("device-in+arm-up")


def test_the_two_goals_offered_by_name_are_found_by_it() -> None:
    assert GOALS == {"device-in": DEVICE_IN, "device-out": DEVICE_OUT}


@pytest.mark.parametrize(
    ("required", "expected"),
    [
        ((), "device-out"),
        (("device in",), "device-in"),
        (("head secured",), "device-out+head-secured"),
        (("equipment off", "device in"), "device-in+equipment-off"),
    ],
)
def test_what_an_agency_requires_is_the_goal_of_the_event(required: tuple[str, ...], expected: str) -> None:
    assert engine_of(*settled("required", *required)).goal is read_goal(expected)


def test_a_required_device_stays_in_though_taking_it_out_was_agreed() -> None:
    answer = asked(engine_of(*settled("required", "device in")))

    assert "device_out_on_cot" not in planned(answer)
    assert planned(answer)[-1] == "over_to_hospital_stretcher_on_device"


def test_an_agency_that_does_not_come_requires_nothing() -> None:
    engine = engine_of(*settled("required", "device in", agency="AG-1"), E_1={"vehicles": ()}, AMB_1=None)

    assert engine.situation.required == ()
    assert engine.goal is DEVICE_IN, "nobody agreed to take it out"


def test_a_contradiction_leaves_no_option_and_says_who_requires_what() -> None:
    engine = engine_of(*settled("required", "device in", "device out"))

    assert engine.goal.is_contradictory
    assert asked(engine).status == "not possible"
    assert {clash.position for clash in clashes(engine)} == {"supine", "prone"}
    (together,) = {clash.together for clash in clashes(engine)}
    assert sorted(in_words(engine, one) for one in together) == [
        "county ambulance requires: device in",
        "county ambulance requires: device out",
    ]
