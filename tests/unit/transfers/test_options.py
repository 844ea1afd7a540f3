"""The answer for one athlete, case by case, on the clean invented game."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from onthree.programme.presence import Presence, read_hands
from onthree.techniques.library import bundled_library
from onthree.transfers.goals import DEVICE_IN, DEVICE_OUT
from onthree.transfers.options import AthleteAnswer, engine_for
from onthree.transfers.situation import GearThere, situation_of, with_hands
from onthree.units import read_mass
from tests.invented import clean_programme, gear


def answer(position: str = "supine", who: str = "T1-12", hands: str = "", **changes: Any) -> AthleteAnswer:
    programme = clean_programme(**changes)
    event = programme.events["E-1"]
    situation = situation_of(programme, event)
    if hands:
        situation = with_hands(situation, read_hands(hands))
    return engine_for(programme, event, bundled_library(), situation).answer(programme.athletes[who], position)


def planned_ids(found: AthleteAnswer) -> list[str]:
    assert found.planned
    return [step.technique.id for step in found.planned.option.steps]


def against(found: AthleteAnswer) -> set[str]:
    return {cause.id for result in found.results for cause in result.against}


def test_supine_on_a_clean_game_the_scoop_is_planned_and_comes_out_on_the_cot() -> None:
    found = answer()

    assert found.status == "possible"
    assert found.goal is DEVICE_OUT
    assert planned_ids(found)[2:3] == ["scoop_foot_end_first"]
    assert "device_out_on_cot" in planned_ids(found)


def test_prone_is_rolled_by_push() -> None:
    assert "log_roll_push_long_board" in planned_ids(answer("prone"))


def test_the_head_is_never_secured_on_a_loose_body() -> None:
    for position in ("supine", "prone"):
        for result in answer(position).results:
            for step in result.option.steps:
                after = step.technique.leads_to(step.state)
                assert not (after.head == "secured" and after.body == "loose")


def test_the_mask_is_off_before_the_athlete_leaves_the_ground() -> None:
    ids = planned_ids(answer())

    assert ids.index("face_mask_off") < ids.index("device_to_cot")


def test_an_athlete_without_a_face_mask_needs_no_tools() -> None:
    found = answer(
        T1_12={"face_mask": "no face mask"}, DRIVER=None, CUTTER=None, E_1={"gear": _gear("DRIVER", "CUTTER")}
    )

    assert found.status == "possible"
    assert "face_mask_off" not in planned_ids(found)


def _gear(*without: str) -> tuple[Presence, ...]:
    return tuple(
        Presence(code) for code in ("SCOOP", "BOARD", "STRAPS", "BLOCKS", "DRIVER", "CUTTER") if code not in without
    )


def test_over_the_scoop_rating_the_board_is_planned() -> None:
    found = answer(T1_12={"mass": read_mass("340 lb")})

    assert found.planned
    assert found.planned.device_names == ("long board",)
    assert "rated-load/SCOOP" in against(found)


def test_exactly_at_the_rating_is_within_it() -> None:
    at_limit = answer(T1_12={"mass": read_mass("332 lb")})
    over = answer(T1_12={"mass": read_mass("332.001 lb")})

    assert at_limit.planned and at_limit.planned.device_names == ("scoop",)
    assert over.planned and over.planned.device_names == ("long board",)


def test_an_unknown_rating_is_unknown_not_possible() -> None:
    found = answer(SCOOP={"rated_load": None}, BOARD={"rated_load": None})

    assert found.status == "unknown"
    assert {cause.id for fix in found.fixes for cause in fix} == {"rated-load/SCOOP", "rated-load/BOARD"}


def test_an_unknown_body_mass_is_unknown() -> None:
    assert answer(T1_12={"mass": None}).status == "unknown"


def test_with_too_few_hands_now_the_athlete_is_held_until_more_come() -> None:
    found = answer(hands="1,+5@8min", AMB_1={"crew": 0})

    assert found.status == "hold"
    assert found.planned and found.planned.from_min == 8
    assert [wait.until_min for wait in found.planned.waits] == [8]


def test_hands_that_never_suffice_are_named_with_the_role_that_is_short() -> None:
    found = answer("prone", hands="1", AMB_1={"crew": 0})

    assert found.status == "not possible"
    assert any("short by" in cause.sentence for fix in found.fixes for cause in fix)


def test_the_ambulance_eight_minutes_away_is_waited_for_at_the_cot_not_on_the_ground() -> None:
    found = answer(E_1={"vehicles": (Presence("AMB-1", 8),)})

    assert found.planned
    assert [(wait.step.technique.id, wait.until_min) for wait in found.planned.waits] == [("device_to_cot", 8)]


def test_without_an_ambulance_nothing_reaches_the_hospital() -> None:
    found = answer(AMB_1=None, E_1={"vehicles": ()})

    assert found.status == "not possible"
    assert "vehicle" in {cause.id for cause in found.blocked_by[0]} | against(found)


@pytest.mark.parametrize(("reply", "goal"), [("agreed", DEVICE_OUT), ("undecided", DEVICE_IN), ("refused", DEVICE_IN)])
def test_the_device_comes_out_only_where_the_agency_agreed(reply: str, goal: object) -> None:
    assert answer(AGR_1={"answer": reply}).goal is goal


def test_an_agreement_that_ran_out_counts_as_none() -> None:
    assert answer(AGR_1={"valid_until": date(2026, 11, 26)}).goal is DEVICE_IN


def test_a_technique_the_agency_refused_is_closed_and_says_by_whom() -> None:
    found = answer(AGR_1={"technique": "scoop_foot_end_first", "answer": "refused"})

    assert "scoop_head_end_first" in planned_ids(found)
    assert "agreement/AG-1/scoop_foot_end_first" in against(found)


def test_what_the_agency_agreed_comes_before_what_it_never_heard_of() -> None:
    found = answer(AGR_1={"technique": "log_roll_supine_long_board", "answer": "agreed"})

    assert "log_roll_supine_long_board" in planned_ids(found)


def test_straps_that_fit_only_the_board_close_the_scoop() -> None:
    found = answer(STRAPS={"fits": ("long board",)})

    assert found.planned and found.planned.device_names == ("long board",)
    assert "accessory/STRAPS/SCOOP" in against(found)


def test_the_lower_of_two_ratings_that_suffice_is_planned_so_the_stronger_stays_free() -> None:
    programme = clean_programme()
    wide = gear("WIDE", "scoop", "wide scoop", rated_load=read_mass("500 lb"))
    event = programme.events["E-1"]
    situation = situation_of(programme, event)
    situation = replace(situation, gear=(GearThere(wide, 0), *situation.gear))
    engine = engine_for(programme, event, bundled_library(), situation)

    light = engine.answer(programme.athletes["T1-12"], "supine").planned
    heavy = engine.answer(replace(programme.athletes["T1-12"], mass=read_mass("340 lb")), "supine").planned

    assert light and light.device_names == ("scoop",)
    assert heavy and heavy.device_names == ("wide scoop",)


@pytest.mark.parametrize("fastening", ["screws", "quick release", None])
def test_the_cutting_tool_alone_opens_every_fastening(fastening: str | None) -> None:
    found = answer(T1_12={"face_mask": fastening}, DRIVER=None, E_1={"gear": _gear("DRIVER")})

    assert found.status == "possible"


def test_without_the_cutting_tool_in_reserve_nobody_knows_whether_the_mask_comes_off() -> None:
    found = answer(CUTTER=None, E_1={"gear": _gear("CUTTER")})

    assert found.status == "unknown"
    assert ["gear/cutting tool"] in [[cause.id for cause in fix] for fix in found.fixes]


def test_without_any_tool_for_the_mask_no_option_is_possible() -> None:
    found = answer(DRIVER=None, CUTTER=None, E_1={"gear": _gear("DRIVER", "CUTTER")})

    assert found.status == "not possible"
    assert "gear/cutting tool or powered screwdriver" in against(found)


def test_a_load_nobody_knows_leaves_the_number_of_lifters_unknown_not_short() -> None:
    few = answer(T1_12={"mass": None}, hands="4")
    fewer = answer(T1_12={"mass": None}, hands="1")

    assert few.status == "unknown"
    assert fewer.status == "not possible"


def test_an_ambulance_whose_crew_nobody_recorded_leaves_hands_unknown_not_short() -> None:
    found = answer(AMB_1={"crew": None})

    assert found.status == "unknown"
    assert {cause.id for cause in found.fixes[0]} == {
        "hands/device_to_cot/4",
        "hands/cot_over_flat",
        "hands/into_vehicle",
    }


def test_straps_nobody_tried_on_the_device_are_unknown() -> None:
    found = answer(STRAPS={"fits": ()})

    assert found.status == "unknown"
    assert "find out whether the straps fit" in {cause.do for fix in found.fixes for cause in fix}


def test_a_fix_names_everything_that_stands_against_an_item() -> None:
    broken = {"SCOOP": {"in_service": False}, "BOARD": {"in_service": False, "rated_load": read_mass("200 lb")}}
    found = answer(T1_12={"mass": read_mass("340 lb")}, **broken)

    assert {frozenset(cause.id for cause in fix) for fix in found.fixes} == {
        frozenset({"in-service/SCOOP", "rated-load/SCOOP"}),
        frozenset({"in-service/BOARD", "rated-load/BOARD"}),
    }


def test_straps_with_too_low_a_rating_on_their_label_close_the_way_and_other_straps_open_it() -> None:
    low = {"rated_load": read_mass("250 lb")}
    closed = answer(who="T1-52", STRAPS=low)

    assert closed.status == "not possible"
    assert "rated-load/STRAPS" in against(closed)
    assert answer(who="T1-52", STRAPS={"rated_load": read_mass("400 lb")}).planned


def test_straps_without_a_rating_make_it_unknown() -> None:
    found = answer(STRAPS={"rated_load": None})

    assert found.status == "unknown"
    assert [cause.do for fix in found.fixes for cause in fix if cause.id == "rated-load/STRAPS"] == [
        "find out the rated load of the straps"
    ]


def test_straps_tried_on_certain_items_do_not_fit_another_of_their_kind() -> None:
    found = answer(STRAPS={"fits_items": ("BOARD",)})
    scoop = next(result for result in found.results if result.device_names == ("scoop",))

    assert found.planned and found.planned.device_names == ("long board",)
    assert [cause.sentence for cause in scoop.against] == ["straps do not fit the scoop"]


def test_water_in_clothing_counts_at_a_wet_event() -> None:
    heavy = {"T1_12": {"mass": read_mass("328 lb")}}

    dry = answer(E_1={"is_wet": False}, **heavy)
    assert dry.planned and dry.planned.device_names == ("scoop",)
    wet = answer(E_1={"is_wet": True}, **heavy)
    assert wet.planned and wet.planned.device_names == ("long board",)
    assert "water in clothing" in {part.name for part in wet.worn}


def test_where_wet_or_dry_is_not_recorded_only_a_load_near_the_rating_is_unknown() -> None:
    near, far = (answer(E_1={"is_wet": None}, T1_12={"mass": read_mass(mass)}) for mass in ("328 lb", "250 lb"))

    assert next(r.status for r in near.results if r.device_names == ("scoop",)) == "unknown"
    assert next(r.status for r in far.results if r.device_names == ("scoop",)) == "possible"


def test_other_hands_than_planned_count_as_in_practice() -> None:
    found = answer(hands="12")

    assert found.planned
    assert found.planned.not_current_count == 0


def test_the_lead_may_put_people_before_evidence_and_the_others_say_why_they_come_after() -> None:
    usual = answer()
    people_first = answer(ORG={"preference": ("people", "time")})

    assert usual.ranking.preference == ("evidence", "handlings", "people", "time")
    assert people_first.ranking.preference == ("people", "time", "evidence", "handlings")
    assert usual.ways[0].after == ""
    possible = [way for way in usual.ways[1:] if way.result.status == "possible"]
    assert possible and all(way.after for way in possible)


def test_an_athlete_against_the_boards_is_moved_clear_first() -> None:
    programme = clean_programme()
    engine = engine_for(programme, programme.events["E-1"], bundled_library())
    found = engine.answer(programme.athletes["T1-12"], "supine", place="obstacle")

    assert "clear_of_obstacle" in planned_ids(found)
