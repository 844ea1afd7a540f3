"""Every athlete found in every position: counts that add up, visitors at their worst, and what closes the others."""

import pytest

from onthree.programme.presence import Presence
from onthree.programme.records import Event
from onthree.techniques.state import FOUND_POSITIONS, POSITIONS
from onthree.transfers.coverage import VISITOR, coverage, has_unknown_visitors, teams_of, worst_visitor
from onthree.units import read_length, read_mass
from tests.unit.transfers.clean_game import engine_of

UNKNOWN_VISITORS = {"E_1": {"visitors": "unknown"}}


def test_in_the_clean_game_every_situation_has_an_option_at_once() -> None:
    covered = coverage(engine_of())

    assert (covered.situations_count, covered.possible_count) == (4, 4)
    assert (covered.longest_hold_min, covered.stuck, covered.held, covered.closed_by) == (0, (), (), ())


@pytest.mark.parametrize(
    "changes",
    [
        {},
        UNKNOWN_VISITORS,
        {"T1_52": {"mass": None}},
        {"BLOCKS": {"in_service": False}},
        {"E_1": {"vehicles": (Presence("AMB-1", 8),)}},
        {"SCOOP": {"rated_load": None}, "BOARD": {"in_service": False}},
    ],
)
def test_the_counts_add_up(changes: dict[str, dict[str, object]]) -> None:
    engine = engine_of(**changes)
    covered = coverage(engine)
    people = len(engine.programme.roster(engine.event)) + has_unknown_visitors(engine)

    assert covered.situations_count == people * len(FOUND_POSITIONS)
    assert len(covered.stuck) == covered.unknown_count + covered.not_possible_count
    assert len(covered.held) == covered.hold_count


def test_positions_that_are_asked_for_are_counted() -> None:
    assert coverage(engine_of(), POSITIONS).situations_count == 2 * len(POSITIONS)
    assert coverage(engine_of(), ()).situations_count == 0


def test_an_ambulance_to_come_is_a_hold_and_the_longest_is_told() -> None:
    covered = coverage(engine_of(E_1={"vehicles": (Presence("AMB-1", 8),)}))

    assert (covered.possible_count, covered.hold_count, covered.longest_hold_min) == (0, 4, 8)
    assert {answer.status for answer in covered.held} == {"hold"}


def test_one_broken_item_accounts_for_every_situation() -> None:
    covered = coverage(engine_of(BLOCKS={"in_service": False}))
    (closed,) = covered.closed_by

    assert covered.not_possible_count == 4
    assert ([cause.id for cause in closed.causes], closed.situations_count) == (["in-service/BLOCKS"], 4)


def test_an_athlete_nobody_weighed_is_unknown_and_what_would_help_is_told_with_its_count() -> None:
    covered = coverage(engine_of(T1_52={"mass": None}))

    assert (covered.possible_count, covered.unknown_count, covered.not_possible_count) == (2, 2, 0)
    assert {answer.athlete.code for answer in covered.stuck} == {"T1-52"}
    assert covered.closed_by
    for closed in covered.closed_by:
        assert any("find out body mass" in cause.do for cause in closed.causes)


def test_what_accounts_for_most_is_told_first() -> None:
    covered = coverage(
        engine_of(T1_12={"face_mask": "no face mask"}, CUTTER={"in_service": False}, DRIVER={"in_service": False})
    )
    counts = [closed.situations_count for closed in covered.closed_by]

    assert counts == sorted(counts, reverse=True)
    assert {answer.athlete.code for answer in covered.stuck} == {"T1-52"}


def test_a_visitor_nobody_knows_is_answered_as_the_stated_worst_case() -> None:
    """350 lb, 25 lb of equipment and 6 ft 6 in are a guess: common practice, no source."""
    engine = engine_of(**UNKNOWN_VISITORS)
    visitor, team = worst_visitor(engine)

    assert (visitor.code, visitor.mass, visitor.face_mask) == (VISITOR, read_mass("350 lb"), None)
    assert (visitor.stature, team.equipment_mass) == (read_length("6 ft 6 in"), read_mass("25 lb"))
    assert engine.answer_for(visitor, team, "supine").start.mask == "fastening not known"
    assert set(teams_of(engine)) == {"T-1", "visitors"}


def test_the_visitor_is_stuck_where_only_the_own_athletes_fit_the_gear() -> None:
    low = {"rated_load": read_mass("360 lb")}
    covered = coverage(engine_of(**UNKNOWN_VISITORS, BOARD=low, SCOOP=low, STRAPS={"rated_load": read_mass("600 lb")}))

    assert covered.situations_count == 6
    assert {answer.athlete.code for answer in covered.stuck} == {VISITOR}
    assert {cause.id for closed in covered.closed_by for cause in closed.causes} == {
        "rated-load/SCOOP",
        "rated-load/BOARD",
    }


@pytest.mark.parametrize(
    ("visitors", "teams", "expected"),
    [
        ("none", ("T-1",), False),
        ("unknown", ("T-1",), True),
        ("known", ("T-1",), True),
        ("known", ("T-1", "T-2"), False),
        ("unknown", ("T-1", "T-2"), True),
        (None, ("T-1",), True),
    ],
)
def test_visitors_are_unknown_unless_nobody_comes_or_their_team_is_listed(
    visitors: str | None, teams: tuple[str, ...], expected: bool
) -> None:
    engine = engine_of()
    engine.event = Event(
        code="E-2", name="game", kind="game", day=engine.event.day, venue="V-1", teams=teams, visitors=visitors
    )

    assert has_unknown_visitors(engine) is expected
