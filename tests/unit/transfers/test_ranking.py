"""What comes first and why: agreed, then current, then evidence, then few handlings and people; ties are said."""

from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest

from onthree.evidence.contrast import bundled_contrasts
from onthree.evidence.order import EvidenceOrder, evidence_order
from onthree.programme.presence import Presence
from onthree.techniques.library import Library, bundled_library
from onthree.techniques.state import ALIGNMENTS, POSITIONS
from onthree.transfers.hands import roles_of
from onthree.transfers.options import AthleteAnswer, OptionsEngine
from onthree.units import read_mass
from tests.unit.transfers.clean_game import ONTO_BY_LIFT, SCOOPS, asked, engine_of, fix_ids, onto, planned, settled

LONG_AGO = {"done_on": date(2024, 8, 2)}
LOG_ROLL, TEAM_LIFT, SCOOP = 2, 3, 4
"""Places of skills among those the people of the clean game were checked off in."""


def lapsed(*skills: int) -> dict[str, dict[str, date]]:
    """Changes to the clean game: nobody was checked off in these skills within the last year."""
    return {f"C_{person}_{skill}": LONG_AGO for person in range(1, 11) for skill in skills}


def with_order(engine: OptionsEngine, lower: str, higher: str) -> OptionsEngine:
    """The same game where one invented trial found one kind of handling to move less than another."""
    pattern = bundled_contrasts()[0]
    planes = replace(pattern.planes, flexion="less", lateral="less", axial="less")
    found = replace(pattern, id="invented", lower=lower, higher=higher, planes=planes, equipment="any")
    return replace(engine, order=evidence_order([found]))


NO_EVIDENCE: EvidenceOrder = evidence_order([])


def way_of(answer: AthleteAnswer) -> list[str]:
    """The ways onto a device in the order of the answer, each once."""
    ways = [
        step.technique.id
        for ranked in answer.ranking.ranked
        if ranked.status == "possible"
        for step in ranked.option.steps
        if "device" in step.technique.after and step.technique.after["device"] != "none"
    ]
    return list(dict.fromkeys(ways))


def test_agreed_comes_before_current() -> None:
    agreed = settled("agreed", "log_roll_supine_long_board")
    answer = asked(engine_of(*agreed, AG_1={"rehearsed_on": None}, **lapsed(LOG_ROLL)))

    assert onto(answer) == "log_roll_supine_long_board"
    assert answer.planned
    assert (answer.planned.unagreed_count, answer.planned.not_current_count) == (0, 2), "the roll, and centring"


def test_current_comes_before_evidence_and_before_few_handlings() -> None:
    answer = asked(engine_of(AG_1={"rehearsed_on": None}, **lapsed(TEAM_LIFT, SCOOP)))
    scoop = answer.best_with("scoop_foot_end_first")

    assert onto(answer) == "log_roll_supine_long_board"
    assert answer.planned and scoop and scoop.status == "possible"
    assert scoop.option.handlings_count < answer.planned.option.handlings_count
    assert scoop.not_current_count > answer.planned.not_current_count


def test_people_whose_check_offs_are_too_old_come_later_and_still_come() -> None:
    answer = asked(engine_of(AG_1={"rehearsed_on": None}, **lapsed(SCOOP)))

    assert onto(answer) == "straddle_lift_long_board"
    assert way_of(answer)[-2:] == list(SCOOPS)


@pytest.mark.parametrize(("days_ago", "expected"), [(365, "scoop_foot_end_first"), (366, "straddle_lift_long_board")])
def test_a_check_off_counts_for_a_year_to_the_day(days_ago: int, expected: str) -> None:
    """A year is a guess, common practice, no source."""
    done_on = date.fromordinal(date(2026, 11, 27).toordinal() - days_ago)
    old = {f"C_{person}_{SCOOP}": {"done_on": done_on} for person in range(1, 11)}

    assert onto(asked(engine_of(AG_1={"rehearsed_on": None}, **old))) == expected


def test_a_crew_that_rehearsed_lately_is_current_where_the_own_people_are_not() -> None:
    assert onto(asked(engine_of(**lapsed(SCOOP)))) == "scoop_foot_end_first", "two of the crew close the scoop"


def test_evidence_comes_before_few_people() -> None:
    """The lift needs eight people at once, the straddle lift five."""
    engine = replace(engine_of(*settled("refused", *SCOOPS)), order=NO_EVIDENCE)

    assert onto(asked(engine)) == "straddle_lift_long_board"
    assert onto(asked(with_order(engine, "eight-person lift", "straddle lift"))) == "eight_person_lift_long_board"


def test_an_option_that_another_dominates_comes_after_one_with_more_handlings_that_none_does() -> None:
    engine = with_order(engine_of(), "scoop", "straddle lift")
    ways = way_of(asked(engine))

    assert ways.index("log_roll_supine_long_board") < ways.index("straddle_lift_long_board")
    assert ways[0] == "scoop_foot_end_first"


def test_without_evidence_the_options_that_add_no_handling_come_first_by_handlings_then_people() -> None:
    answer = asked(replace(engine_of(), order=NO_EVIDENCE))
    counts = [
        (one.option.handlings_count, one.people_count, one.people_sum_count)
        for one in answer.ranking.ranked
        if one.option in answer.ranking.undominated
    ]

    assert counts == sorted(counts)
    assert way_of(answer)[-1] == "log_roll_supine_long_board", "it alone asks for centring"


def test_what_the_evidence_puts_after_is_planned_once_the_better_way_is_closed() -> None:
    """Push against pull, prone: read from the bundled contrasts; evidence looks only at what is open."""
    engine = engine_of()
    ways = way_of(asked(engine, "prone"))
    closed = engine_of(*settled("refused", "log_roll_push_long_board"))

    assert ways == ["log_roll_push_long_board", "log_roll_pull_long_board"]
    assert onto(asked(closed, "prone")) == "log_roll_pull_long_board"


@pytest.mark.parametrize("closed_count", range(1, 7))
def test_closing_the_planned_way_again_and_again_always_leaves_the_next(closed_count: int) -> None:
    refused: list[str] = []
    for _ in range(closed_count):
        refused.append(onto(asked(engine_of(*settled("refused", *refused)))))
    last = asked(engine_of(*settled("refused", *refused)))

    assert len(set(refused)) == closed_count
    assert set(refused) <= {*SCOOPS, *ONTO_BY_LIFT, "log_roll_supine_long_board"}
    assert onto(last) not in refused


def test_the_seventh_refusal_leaves_nothing_and_names_each() -> None:
    ways = (*SCOOPS, *ONTO_BY_LIFT, "log_roll_supine_long_board")
    answer = asked(engine_of(*settled("refused", *ways)))

    assert answer.status == "not possible"
    assert {frozenset({f"agreement/AG-1/{way}"}) for way in ways} <= fix_ids(answer)


def test_ties_are_said_and_differ_only_in_the_usual_order() -> None:
    answer = asked(engine_of())

    assert [onto_of.steps[2].technique.id for onto_of in answer.ties] == ["scoop_head_end_first"]
    assert answer.planned and answer.planned.option not in answer.ties
    assert {option.handlings_count for option in answer.ties} == {answer.planned.option.handlings_count}


def test_an_agreement_breaks_a_tie() -> None:
    answer = asked(engine_of(*settled("agreed", "scoop_head_end_first")))

    assert onto(answer) == "scoop_head_end_first"
    assert answer.ties == ()


def test_where_nothing_is_possible_there_is_no_tie() -> None:
    assert asked(engine_of(BLOCKS={"in_service": False})).ties == ()


def test_possible_comes_before_unknown_before_not_possible() -> None:
    for position in POSITIONS:
        statuses = [one.status for one in asked(engine_of(), position).ranking.ranked]
        order = ["possible", "unknown", "not possible"]
        assert statuses == sorted(statuses, key=order.index)


def test_each_way_onto_a_device_is_shown_once_with_its_best_option() -> None:
    answer = asked(engine_of())
    counted = sum(1 + way.others_count for way in answer.ways)

    assert answer.planned
    assert answer.ways[0].result.option == answer.planned.option
    assert counted == len(answer.ranking.ranked)
    assert [way.result.option.steps[2].technique.id for way in answer.ways if way.result.status == "possible"] == [
        "scoop_foot_end_first",
        "scoop_head_end_first",
        "straddle_lift_long_board",
        "eight_person_lift_long_board",
        "six_plus_lift_long_board",
        "lift_and_slide_long_board",
        "log_roll_supine_long_board",
    ]


def test_the_best_option_with_a_technique_is_found_and_none_with_what_no_option_has() -> None:
    answer = asked(engine_of())
    best = answer.best_with("lift_and_slide_long_board")

    assert best and best.status == "possible"
    assert "lift_and_slide_long_board" in {step.technique.id for step in best.option.steps}
    assert answer.best_with("log_roll_push_long_board") is None, "the athlete lies supine"
    assert answer.best_with("direct_lift_to_cot") is None, "never ranked"


@pytest.mark.parametrize("position", POSITIONS)
@pytest.mark.parametrize("alignment", ALIGNMENTS[:2])
def test_every_found_position_has_a_planned_option_in_the_clean_game(position: str, alignment: str) -> None:
    answer = asked(engine_of(), position, alignment=alignment)

    assert answer.status == "possible"
    assert ("head_to_neutral" in planned(answer)) is (alignment == "not neutral")


@pytest.mark.parametrize(
    ("position", "technique"),
    [("side", "log_roll_side_long_board"), ("sitting", "lower_from_sitting"), ("prone", "log_roll_push_long_board")],
)
def test_who_does_not_lie_supine_is_brought_to_it(position: str, technique: str) -> None:
    assert technique in planned(asked(engine_of(), position))


@pytest.mark.parametrize("position", POSITIONS)
def test_a_head_that_may_not_be_realigned_is_packaged_as_found_and_never_brought_to_neutral(position: str) -> None:
    answer = asked(engine_of(), position, alignment="not realignable")
    done = {step.technique.id for result in answer.results for step in result.option.steps}

    assert "package_as_found" in done
    assert not done & {"head_to_neutral", "head_secured"}
    assert fix_ids(answer) == {frozenset({"gear/padding"})}


def test_only_where_medical_direction_signed_it_is_the_equipment_taken_off_in_the_vehicle() -> None:
    skilled = {f"R_{person}": {"skills": ("in-line hold", "equipment removal", "team lift")} for person in range(1, 6)}
    required = settled("required", "equipment off")
    order = "equipment_removal_in_vehicle"
    without, signed = (
        asked(engine_of(*required, orders=orders, **skilled)).best_with(order) for orders in ((), (order,))
    )

    assert without and signed
    assert (without.status, signed.status) == ("not possible", "possible")
    assert [(cause.id, cause.sentence, cause.fixable_by) for cause in without.against] == [
        (f"order/{order}", "medical direction has not signed equipment removal in vehicle", "medical direction")
    ]


@pytest.mark.parametrize(
    ("lifts_itself", "status", "sentences"),
    [
        (True, "possible", []),
        (False, "not possible", ["the cot of the stand-by ambulance does not lift itself"]),
        (None, "unknown", ["not recorded whether the cot of the stand-by ambulance lifts itself"]),
    ],
)
def test_a_cot_that_lifts_itself(lifts_itself: bool | None, status: str, sentences: list[str]) -> None:
    raised = asked(engine_of(AMB_1={"cot_lifts_itself": lifts_itself})).best_with("device_to_cot_by_its_lift")

    assert raised and raised.status == status
    assert [cause.sentence for cause in raised.against] == sentences


@pytest.mark.parametrize(
    ("way", "technique"),
    [("flat", "cot_over_flat"), ("slope", "cot_over_slope"), ("stairs", "cot_over_stairs")],
)
def test_the_cot_goes_the_way_there_is(way: str, technique: str) -> None:
    answer = asked(engine_of(V_1={"cot_way": way}))
    over = {one for one in ("cot_over_flat", "cot_over_slope", "cot_over_stairs") if answer.best_with(one)}

    assert over == {technique}
    assert answer.planned


def test_a_way_of_the_cot_that_nobody_recorded_leaves_it_unknown() -> None:
    answer = asked(engine_of(V_1={"cot_way": None}))

    assert answer.status == "unknown"
    assert [[cause.do for cause in fix] for fix in answer.fixes] == [["record the way of the cot of the venue"]]


def test_stairs_take_more_people_than_flat_ground() -> None:
    flat, stairs = (asked(engine_of(V_1={"cot_way": way})).planned for way in ("flat", "stairs"))

    assert flat and stairs and flat.people_count < stairs.people_count


@pytest.mark.parametrize(
    ("mass", "status"),
    [("250 lb", "possible"), ("577 lb", "possible"), ("578 lb", "unknown"), ("650 lb", "unknown"), (None, "unknown")],
)
def test_a_direct_lift_above_the_load_planned_for_each_is_unknown_not_possible(mass: str | None, status: str) -> None:
    """Six who carry at most 45 kg each, a guess: 270 kg with 8.2 kg (18 lb) worn leaves 577.2 lb."""
    ranked = Library(tuple(replace(one, is_ranked=True) for one in bundled_library().techniques))
    heavy = {"mass": read_mass(mass) if mass else None}
    answer = asked(engine_of(library=ranked, orders=("direct_lift_to_cot",), T1_12=heavy))
    lifted = answer.best_with("direct_lift_to_cot")

    assert lifted and lifted.status == status
    assert any(cause.id == "carried-each/direct_lift_to_cot" for cause in lifted.against) is (status == "unknown")


@pytest.mark.parametrize("hands", ["1", "2", "3"])
@pytest.mark.parametrize("crew", [0, 1, 2])
@pytest.mark.parametrize("position", POSITIONS)
def test_a_fix_never_lists_five_beside_eight(hands: str, crew: int, position: str) -> None:
    answer = asked(engine_of(hands=hands, AMB_1={"crew": crew}), position, who="T1-52")

    for fix in answer.fixes:
        needed = [_needed(cause.id) for cause in fix if cause.id.startswith("hands/")]
        assert not any(one < other for one in needed for other in needed), [cause.id for cause in fix]


def _needed(cause_id: str) -> frozenset[tuple[str, int]]:
    """The people of a technique by skill, each of them numbered: fewer of the same people are a subset."""
    _, technique, *lifters = cause_id.split("/")
    roles = roles_of(bundled_library()[technique], int(lifters[0]) if lifters else None)
    skills: dict[str, int] = {}
    for role in roles:
        skill = "" if role.lay_allowed else role.skill
        skills[skill] = skills.get(skill, 0) + role.least
    return frozenset((skill, number) for skill, count in skills.items() for number in range(count))


def test_a_team_of_one_with_its_ambulance_lacks_people_at_the_cot_alone() -> None:
    by_hands = frozenset({"hands/device_to_cot/4"})
    by_its_lift = frozenset({"hands/device_to_cot_by_its_lift/4", "cot-lifts/AMB-1"})

    assert fix_ids(asked(engine_of(hands="1"))) == {by_hands, by_its_lift}


def test_the_planned_option_waits_for_the_last_of_its_people_and_items() -> None:
    minutes = (0, 4, 8)
    planned_at = [asked(engine_of(E_1={"vehicles": (Presence("AMB-1", minute),)})).planned for minute in minutes]

    assert [one.from_min for one in planned_at if one] == list(minutes)
    assert all(one.from_min <= other.from_min for one, other in pairwise(planned_at) if one and other)
