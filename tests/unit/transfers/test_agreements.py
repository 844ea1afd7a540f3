"""Agreements that clash, none of them needlessly named, and what each agreement costs in handlings."""

from dataclasses import replace

from onthree.programme.records import Agency
from onthree.transfers.agreements import Agreed, clashes, costs, in_words
from onthree.transfers.options import OptionsEngine, engine_for
from onthree.units import read_mass
from tests.unit.transfers.clean_game import ONTO_BY_LIFT, SCOOPS, asked, engine_of, settled

ROLLS = ("log_roll_push_long_board", "log_roll_pull_long_board")


def clashing(engine: OptionsEngine) -> set[tuple[str, frozenset[Agreed]]]:
    return {(clash.position, clash.together) for clash in clashes(engine)}


def agreed(*about: str, agency: str = "AG-1") -> frozenset[Agreed]:
    return frozenset((agency, one) for one in about)


def two_agencies(*changes: str) -> OptionsEngine:
    """The clean game with a second ambulance of another agency, which answered ``refused`` to these techniques."""
    engine = engine_of(*settled("refused", *changes, agency="AG-2"))
    situation = engine.situation
    (there,) = situation.vehicles
    vehicle = replace(there.vehicle, code="AMB-2", agency="AG-2", name="second ambulance")
    city = Agency(code="AG-2", name="city ambulance")
    second = replace(there, vehicle=vehicle, agency=city)
    programme = replace(engine.programme, agencies={**engine.programme.agencies, "AG-2": city})
    situation = replace(situation, vehicles=(there, second))
    return engine_for(programme, engine.event, engine.library, situation)


def test_the_clean_game_has_no_clash_and_no_agreement_that_costs_a_handling() -> None:
    assert clashes(engine_of()) == ()
    assert costs(engine_of()) == ()


def test_two_refusals_that_leave_no_roll_are_one_clash_for_those_found_prone_alone() -> None:
    engine = engine_of(*settled("refused", *ROLLS))

    assert clashing(engine) == {("prone", agreed(*ROLLS))}
    (clash,) = clashes(engine)
    assert [one.code for one in clash.athletes] == ["T1-12", "T1-52"]


def test_one_refusal_that_leaves_another_way_is_no_clash() -> None:
    for roll in ROLLS:
        assert clashes(engine_of(*settled("refused", roll))) == ()


def test_a_refusal_that_closes_everything_is_named_alone_not_with_others() -> None:
    engine = engine_of(*settled("refused", "device_to_cot", *ROLLS, *SCOOPS))

    assert clashing(engine) == {
        ("supine", agreed("device_to_cot")),
        ("prone", agreed("device_to_cot")),
        ("prone", agreed(*ROLLS)),
    }


def test_every_clash_is_smallest_and_settling_one_of_it_opens_an_option() -> None:
    """Nobody knows whether three can straddle the heavier athlete: that way is not the agreements' to close."""
    every = ("log_roll_supine_long_board", *SCOOPS, *ONTO_BY_LIFT)
    light, heavy = clashes(engine_of(*settled("refused", *every)))

    assert [one.code for one in (*light.athletes, *heavy.athletes)] == ["T1-12", "T1-52"]
    assert light.together == agreed(*every)
    assert heavy.together == agreed(*every) - agreed("straddle_lift_long_board")
    for one in every:
        left = [other for other in every if other != one]
        still = {athlete.code for clash in clashes(engine_of(*settled("refused", *left))) for athlete in clash.athletes}
        assert still == ({"T1-52"} if one == "straddle_lift_long_board" else set())


def test_what_an_agency_requires_clashes_with_what_it_never_settled() -> None:
    engine = engine_of(*settled("required", "device out"), AGR_1={"answer": "undecided"})
    together = agreed("device out", "device_out_on_cot")

    assert clashing(engine) == {("supine", together), ("prone", together)}
    assert sorted(in_words(engine, one) for one in together) == [
        "county ambulance has not settled: device out on cot",
        "county ambulance requires: device out",
    ]


def test_a_refusal_says_that_it_was_one() -> None:
    engine = engine_of(*settled("refused", ROLLS[0]))

    assert in_words(engine, ("AG-1", ROLLS[0])) == "county ambulance refused: log roll push long board"


def test_equipment_on_and_off_clash_for_who_wears_any_and_for_nobody_else() -> None:
    required = settled("required", "equipment on", "equipment off")
    bare = {"T1_52": {"equipment_mass": read_mass("0 lb")}}

    assert {one.code for clash in clashes(engine_of(*required)) for one in clash.athletes} == {"T1-12", "T1-52"}
    assert {one.code for clash in clashes(engine_of(*required, **bare)) for one in clash.athletes} == {"T1-12"}


def test_what_people_or_gear_close_is_no_clash_of_agreements() -> None:
    short_of_hands = engine_of(*settled("refused", *SCOOPS), hands="1", AMB_1={"crew": 0})
    broken = engine_of(*settled("required", "collar on"))

    assert asked(short_of_hands).status == "not possible" and clashes(short_of_hands) == ()
    assert asked(broken).status == "not possible" and clashes(broken) == (), "there is no collar"


def test_another_ambulance_whose_agency_refused_nothing_leaves_no_clash() -> None:
    refused_by_one = two_agencies(*ROLLS)

    assert clashes(refused_by_one) == ()
    answer = asked(refused_by_one, "prone")
    assert answer.planned and answer.planned.items.vehicle
    assert answer.planned.items.vehicle.agency.code == "AG-1"


def test_a_required_device_out_costs_one_handling_of_everybody() -> None:
    """Out on the cot is one handling more than leaving it in (the library's own count)."""
    engine = engine_of(*settled("required", "device out"))

    assert [(one.position, one.agreed, one.handlings_saved_count, len(one.athletes)) for one in costs(engine)] == [
        ("supine", ("AG-1", "device out"), 1, 2),
        ("prone", ("AG-1", "device out"), 1, 2),
    ]


def test_a_cost_is_what_the_same_game_without_the_agreement_has_less() -> None:
    (cost, *_) = costs(engine_of(*settled("required", "device out")))
    planned, without = (
        asked(engine_of(*settled("required", arrival))).planned for arrival in ("device out", "device in")
    )

    assert planned and without
    assert cost.handlings_count == planned.option.handlings_count
    assert cost.handlings_saved_count == planned.option.handlings_count - without.option.handlings_count


def test_a_refusal_costs_what_lifting_it_would_save() -> None:
    """Without scoop and lifts a supine athlete is rolled, and then centred: one handling more."""
    engine = engine_of(*settled("refused", *SCOOPS, *ONTO_BY_LIFT))
    found = costs(engine)

    assert {one.agreed for one in found} == agreed(*SCOOPS, *ONTO_BY_LIFT)
    assert {(one.position, one.handlings_saved_count) for one in found} == {("supine", 1)}


def test_a_refusal_beside_which_another_way_is_as_short_costs_nothing() -> None:
    assert costs(engine_of(*settled("refused", *SCOOPS))) == ()


def test_where_nothing_is_possible_nothing_has_a_price() -> None:
    assert costs(engine_of(*settled("refused", "device_to_cot"))) == ()
