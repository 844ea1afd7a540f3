"""What agreements, hands and weight do to whole games; every agreement is read off an option the tool itself found."""

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from onthree.techniques.library import bundled_library
from onthree.techniques.state import FOUND_POSITIONS, POSITIONS
from onthree.transfers.agreements import clashes, costs
from onthree.transfers.coverage import Coverage, coverage
from onthree.transfers.goals import ARRIVALS, GOALS, Goal
from onthree.transfers.options import AthleteAnswer
from onthree.units import read_mass
from tests.unit.transfers.clean_game import ONTO_BY_LIFT, SCOOPS, asked, engine_of, planned, settled

WAYS_ONTO = (
    *SCOOPS,
    *ONTO_BY_LIFT,
    "log_roll_supine_long_board",
    "log_roll_push_long_board",
    "log_roll_pull_long_board",
)
"""Every way onto a device that the clean game has people and gear for."""

few = settings(deadline=None, max_examples=25)
very_few = settings(deadline=None, max_examples=8)
positions = st.sampled_from(POSITIONS)
goals = st.sampled_from(list(GOALS.values()))
"""Given, because a refusal to take the device out changes the event's own goal."""
moves = st.sampled_from([technique.id for technique in bundled_library().moves])
some_moves = st.lists(moves, unique=True, max_size=4)
arrivals = st.sampled_from(sorted(ARRIVALS))
requirements = st.lists(arrivals, unique=True, max_size=2)
nearly_all_ways = st.sets(st.sampled_from(WAYS_ONTO), max_size=2).map(
    lambda open_ways: [way for way in WAYS_ONTO if way not in open_ways]
)
masses = st.integers(100, 520)
hands = st.integers(1, 10)


def possible(answer: AthleteAnswer) -> Counter[str]:
    """The options that nothing stands against, by what they do."""
    return Counter(one.option.id for one in answer.ranking.ranked if one.status == "possible")


def mass(pounds: int) -> dict[str, object]:
    return {"mass": read_mass(f"{pounds} lb")}


@few
@given(positions, st.data())
def test_a_technique_of_the_planned_option_that_is_refused_is_never_planned(position: str, data: st.DataObject) -> None:
    before = planned(asked(engine_of(), position))
    refused = data.draw(st.sampled_from(sorted(set(before))))
    answer = asked(engine_of(*settled("refused", refused)), position)

    assert not any(refused in option.split(" > ") for option in possible(answer))
    assert answer.planned is None or refused not in planned(answer)
    if answer.planned is None and answer.ranking.ranked:
        assert any(f"agreement/AG-1/{refused}" in {cause.id for cause in fix} for fix in answer.fixes)


@few
@given(positions, st.data())
def test_agreeing_to_the_whole_planned_option_plans_one_with_nothing_left_to_settle(
    position: str, data: st.DataObject
) -> None:
    first = asked(engine_of(), position)
    wanted = data.draw(st.sampled_from([one for one in first.ranking.ranked if one.status == "possible"])).option
    onto = [step.technique.id for step in wanted.steps if step.technique.is_negotiated]
    answer = asked(engine_of(*settled("agreed", *onto)), position)

    assert answer.planned and answer.planned.unagreed_count == 0
    assert possible(answer) == possible(first), "agreeing opens nothing that was not open"
    assert [step.technique.id for step in answer.planned.option.steps if step.technique.is_negotiated] == onto


@few
@given(positions, goals, some_moves, moves)
def test_one_more_refusal_never_adds_an_option(position: str, goal: Goal, refused: list[str], more: str) -> None:
    before = possible(asked(engine_of(*settled("refused", *refused)), position, goal=goal))
    after = possible(asked(engine_of(*settled("refused", *refused, more)), position, goal=goal))

    assert after <= before


@few
@given(positions, goals, some_moves, st.data())
def test_a_refusal_withdrawn_never_removes_an_option(
    position: str, goal: Goal, refused: list[str], data: st.DataObject
) -> None:
    left = data.draw(st.lists(st.sampled_from(refused), unique=True)) if refused else []
    before = possible(asked(engine_of(*settled("refused", *refused)), position, goal=goal))

    assert before <= possible(asked(engine_of(*settled("refused", *left)), position, goal=goal))


@few
@given(positions, st.sampled_from(("device in", "device out")), requirements, arrivals)
def test_one_more_requirement_never_adds_an_end(position: str, device: str, required: list[str], more: str) -> None:
    """Shorter chains may do what longer ones were pruned for: every option still ends where the fewer asked for."""
    fewer = engine_of(*settled("required", device, *required))
    answer = asked(engine_of(*settled("required", device, *required, more)), position)
    before = asked(fewer, position)

    for one in answer.ranking.ranked:
        last = one.option.steps[-1]
        assert fewer.goal.is_reached_in(last.technique.leads_to(last.state))
    if possible(answer):
        assert possible(before)
        assert _fewest(before) <= _fewest(answer)


def _fewest(answer: AthleteAnswer) -> int:
    return min(one.option.handlings_count for one in answer.ranking.ranked if one.status == "possible")


@few
@given(positions, masses, masses)
def test_a_lighter_athlete_keeps_every_option(position: str, one: int, other: int) -> None:
    light, heavy = (asked(engine_of(T1_12=mass(pounds)), position) for pounds in sorted((one, other)))

    assert possible(heavy).keys() <= possible(light).keys()


@few
@given(positions, hands, hands, masses)
def test_more_hands_keep_every_option(position: str, one: int, other: int, pounds: int) -> None:
    few_hands, many = (asked(engine_of(hands=str(n), T1_12=mass(pounds)), position) for n in sorted((one, other)))

    assert possible(few_hands).keys() <= possible(many).keys()


@few
@given(
    hands, masses, st.lists(st.sampled_from(("SCOOP", "BOARD", "STRAPS", "BLOCKS", "CUTTER")), unique=True, max_size=2)
)
def test_the_counts_of_coverage_add_up_and_mending_a_fix_helps(n: int, pounds: int, broken: list[str]) -> None:
    covered = _covered(n, pounds, broken)

    assert covered.situations_count == 4
    assert covered.possible_count + covered.hold_count + len(covered.stuck) == 4
    assert {answer.status for answer in covered.stuck} <= {"unknown", "not possible"}
    assert all(0 < closed.situations_count <= len(covered.stuck) for closed in covered.closed_by)
    for closed in covered.closed_by:
        ids = {cause.id for cause in closed.causes}
        if ids <= {f"in-service/{code}" for code in broken}:
            mended = [code for code in broken if f"in-service/{code}" not in ids]
            assert len(covered.stuck) - len(_covered(n, pounds, mended).stuck) >= closed.situations_count


def _covered(n: int, pounds: int, broken: list[str]) -> Coverage:
    changes: dict[str, dict[str, object]] = {code: {"in_service": False} for code in broken}
    return coverage(engine_of(hands=str(n), T1_52=mass(pounds), **changes))


@very_few
@given(nearly_all_ways | some_moves, requirements)
def test_a_clash_alone_leaves_nobody_it_names_an_option_and_less_than_it_does(
    refused: list[str], required: list[str]
) -> None:
    engine = engine_of(*settled("refused", *refused), *settled("required", *required))

    for clash in clashes(engine):
        names = {about for _, about in clash.together}
        for athlete in clash.athletes:
            for left in (None, *sorted(names)):
                kept = names - {left}
                alone = engine_of(
                    *settled("refused", *(one for one in refused if one in kept)),
                    *settled("required", *(one for one in required if one in kept)),
                )
                is_clashing = any(athlete in one.athletes and one.position == clash.position for one in clashes(alone))
                assert is_clashing is (left is None)


@few
@given(nearly_all_ways)
def test_a_refusal_costs_exactly_what_withdrawing_it_saves(refused: list[str]) -> None:
    engine = engine_of(*settled("refused", *refused))
    told = {
        (cost.position, athlete.code, cost.agreed[1]): cost.handlings_saved_count
        for cost in costs(engine)
        for athlete in cost.athletes
    }

    for about in refused:
        without = engine_of(*settled("refused", *(one for one in refused if one != about)))
        for position in FOUND_POSITIONS:
            for who in ("T1-12", "T1-52"):
                now, then = (asked(one, position, who) for one in (engine, without))
                saved = _fewest(now) - _fewest(then) if possible(now) else 0
                assert told.get((position, who, about), 0) == saved
