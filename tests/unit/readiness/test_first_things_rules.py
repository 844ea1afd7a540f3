"""What the rules about first aid before a transfer, the plan's papers and rehearsals say: level, words, what to do."""

from datetime import date, timedelta
from typing import Any

import pytest

from onthree.programme.presence import Presence
from onthree.programme.programme import Scope, programme_of
from onthree.programme.records import Place, Record, Shift, Team
from onthree.readiness.finding import Finding, Level
from onthree.readiness.rules import findings
from onthree.techniques.library import bundled_library
from onthree.transfers.options import engine_for
from onthree.units import read_mass
from tests.invented import BROUGHT, DAY, LIFE_FIRST, athlete, clean_programme, gear

HOST = {"plan_of": "the host's"}
PAST = date(2025, 11, 20)
TO_COME = DAY + timedelta(days=1)


def found(rule: str, *rows: Record, **changes: Any) -> list[Finding]:
    programme = programme_of([*clean_programme(**changes).records(), *rows], DAY, Scope())
    engine = engine_for(programme, programme.events["E-1"], bundled_library())
    return [each for each in findings(engine) if each.rule == rule]


def only(rule: str, *rows: Record, **changes: Any) -> Finding:
    (one,) = found(rule, *rows, **changes)
    return one


def without(*codes: str, **more: Any) -> dict[str, Any]:
    return {"gear": tuple(Presence(code) for code in BROUGHT if code not in codes), **more}


DATED = [
    ("backup-untested", "V_1", "backup_tested_on"),
    ("rehearsed-with", "AG_1", "rehearsed_on"),
    ("hospital-agreed", "H_1", "agreed_on"),
    ("details-unverified", "V_1", "details_verified_on"),
]


@pytest.mark.parametrize(("rule", "code", "field"), DATED)
def test_what_was_done_too_long_ago_is_done_again(rule: str, code: str, field: str) -> None:
    one = only(rule, **{code: {field: PAST}})

    assert one.level is Level.FIX
    assert PAST.isoformat() in dict(one.evidence).values()
    assert any("days" in value for what, value in one.evidence if what == "interval")


@pytest.mark.parametrize("day", [None, TO_COME])
@pytest.mark.parametrize(("rule", "code", "field"), DATED)
def test_what_nobody_recorded_or_what_is_only_planned_is_unknown(
    rule: str, code: str, field: str, day: date | None
) -> None:
    one = only(rule, **{code: {field: day}})

    assert one.level is Level.UNKNOWN
    assert "not known" in one.message


def test_only_the_yearly_rehearsal_has_an_interval_that_is_no_guess() -> None:
    undated = {rule: only(rule, **{code: {field: None}}) for rule, code, field in DATED}
    is_guess = {rule: "guess" in dict(one.evidence)["interval"] for rule, one in undated.items()}

    assert is_guess == {
        "backup-untested": True,
        "rehearsed-with": False,
        "hospital-agreed": True,
        "details-unverified": True,
    }


def test_an_aed_too_far_is_shown_with_both_targets() -> None:
    one = only("aed-time", P_AED={"reach_s": 240})

    assert (one.level, one.subject) == (Level.FIX, "P-AED")
    assert one.message == "240 s to the AED at the home bench and its use at the farthest spot"
    assert one.evidence[0] == ("AED at the home bench", "240 s, from a call to its use")
    assert [what for what, _ in one.evidence[1:]] == ["target: less than 180 s", "target: less than 300 s"]
    assert [where.partition("(")[2] for _, where in one.evidence[1:]] == ["thompson-2021)", "casa-2012)"]


def test_an_aed_nobody_timed_is_unknown_and_asks_for_a_watch() -> None:
    one = only("aed-time", P_AED={"reach_s": None})

    assert (one.level, one.subject) == (Level.UNKNOWN, "V-1")
    assert "with a watch" in one.do


def test_an_aed_that_comes_later_or_is_out_of_service_is_none() -> None:
    aed = gear("AED-1", "AED", "AED")
    late = {"gear": (*(Presence(code) for code in BROUGHT), Presence("AED-1", 4))}
    broken = {"gear": tuple(Presence(code) for code in (*BROUGHT, "AED-1"))}

    for item, event in ((aed, late), (gear("AED-1", "AED", "AED", in_service=False), broken)):
        assert only("aed-time", item, P_AED=None, E_1=event).message.startswith("no AED")


@pytest.mark.parametrize(("event", "level"), [({}, Level.FIX), (HOST, Level.UNKNOWN)])
def test_under_the_hosts_plan_what_we_do_not_see_is_asked(event: dict[str, Any], level: Level) -> None:
    aed, tub = only("aed-time", P_AED=None, E_1=event), only("cooling-absent", E_1=without("TUB", **event))

    assert aed.level is tub.level is level
    assert aed.do.startswith("ask the host") is tub.do.startswith("ask the host") is (level is Level.UNKNOWN)


def test_a_tub_without_an_order_is_for_medical_direction() -> None:
    one = only("cooling-absent", MO_heat_stroke=None)

    assert (one.level, one.who) == (Level.UNKNOWN, "medical direction")
    assert one.message == "heat stroke: no order of medical direction in force"


def test_no_tub_and_no_order_are_one_finding_with_both_steps() -> None:
    one = only("cooling-absent", E_1=without("TUB"), MO_heat_stroke=None)

    assert (one.level, one.who) == (Level.FIX, "lead")
    assert one.do == "bring a tub, water and ice; ask medical direction to sign the page about it"


def test_a_place_to_cool_at_another_venue_does_not_count() -> None:
    assert only("cooling-absent", Place(code="P-2", venue="V-2", kind="cooling", name="tub"), E_1=without("TUB"))


def test_what_is_not_there_comes_before_what_is_not_known() -> None:
    one = only("airway-gear", AIRWAY={"in_service": None}, E_1=without("SUCTION"))

    assert one.level is Level.FIX
    assert one.message == "airway, not there: suction; not known: airway kit"
    assert only("airway-gear", AIRWAY={"in_service": None}).level is Level.UNKNOWN


def test_a_lay_helper_with_the_skill_and_a_crew_nobody_counted_are_no_certain_hands() -> None:
    lay = {"R_1": {"kind": "lay helper", "briefed_for": ("legs",)}, "C_AIRWAY": None}

    assert only("airway-gear", **lay, AG_1={"skills": ("log roll",)}).level is Level.FIX
    assert only("airway-gear", **lay, AMB_1={"crew": None}).level is Level.UNKNOWN


def test_an_order_that_ended_is_to_be_renewed_and_one_never_signed_is_unknown() -> None:
    ended = only("standing-orders", MO_KIT={"until": DAY - timedelta(days=1)})

    assert ended.level is Level.FIX
    assert ended.evidence == (("MO-KIT", "signed by team physician, 2026-08-01 until 2026-11-26"),)
    assert only("standing-orders", MO_KIT=None).level is Level.UNKNOWN


def test_pages_nobody_approved_are_one_finding_that_names_them() -> None:
    changes = {f"MO-{page}": None for page in LIFE_FIRST}
    one = only("life-first-unapproved", **changes)

    assert one.level is Level.UNKNOWN
    assert dict(one.evidence) == dict.fromkeys(LIFE_FIRST, "never signed")


def test_under_fifteen_is_told_where_the_hospital_takes_no_children_and_unknown_where_nobody_asked() -> None:
    young = {"T1_52": {"age_group": "8 to 14"}}

    assert only("hospital-children", **young).level is Level.TELL
    assert only("hospital-children", **young).message.startswith("52: under 15")
    assert only("hospital-children", **young, H_1={"capabilities": ()}).level is Level.UNKNOWN
    assert only("hospital-children", T1_52={"age_group": None}).level is Level.UNKNOWN


def test_children_of_two_teams_are_named_by_team() -> None:
    otters = (Team(code="T-2", name="Otters"), athlete("T2-7", 7, "80 lb", team="T-2", age_group="under 8"))
    one = only("hospital-children", *otters, E_1={"teams": ("T-1", "T-2")})

    assert one.message.startswith("Otters 7: under 15")


def test_a_plan_of_another_version_is_to_be_fixed_and_one_nobody_looked_at_is_unknown() -> None:
    assert only("plan-posted", V_1={"plan_posted": "2025-08"}).level is Level.FIX
    assert only("plan-posted", V_1={"plan_posted": ""}).level is Level.UNKNOWN
    assert only("plan-posted", ORG={"plan_version": ""}).level is Level.UNKNOWN


def test_no_address_and_an_old_check_are_one_finding() -> None:
    one = only("details-unverified", V_1={"address": "", "details_verified_on": PAST})

    assert one.level is Level.FIX
    assert one.message.endswith("no address recorded; address and numbers not verified lately")
    assert only("details-unverified", V_1={"address": ""}).level is Level.UNKNOWN


def test_the_shift_on_duty_is_named_and_one_of_another_agency_does_not_stand_in() -> None:
    shift = Shift(code="SH-9", agency="AG-1", name="B shift", rehearsed_on=date(2026, 2, 1))
    one = only("rehearsed-with", shift, E_1={"shifts": ("SH-9",)})

    assert (one.level, one.subject) == (Level.FIX, "SH-9")
    assert one.message == "the B shift of county ambulance did not rehearse with us since its protocol edition began"


def test_an_edition_still_to_come_asks_for_no_rehearsal_yet() -> None:
    assert found("rehearsed-with", AG_1={"protocol_on": TO_COME}) == []


def test_who_pauses_play_is_asked_for_the_vehicle_that_may_leave() -> None:
    nobody = {"pauses_play": ""}
    leaving = only("play-paused-by", E_1={**nobody, "may_leave": ("AMB-1",)})
    absent = only("play-paused-by", E_1={**nobody, "vehicles": ()})

    assert leaving.message == "nobody is recorded who pauses play while the stand-by ambulance is away"
    assert absent.message == "nobody is recorded who pauses play where no ambulance stands by"
    assert leaving.level is absent.level is Level.UNKNOWN


def test_the_words_for_the_first_call_are_asked_of_each_agency_without() -> None:
    one = only("bariatric-wording", AG_1={"bariatric_call": ""}, AMB_1={"cot_rated_load": read_mass("300 lb")})

    assert (one.level, one.subject, one.who) == (Level.UNKNOWN, "AG-1", "ambulance service")
    assert one.message.startswith("52: ")


def test_lay_helpers_nobody_briefed_are_named_together() -> None:
    lay = {"kind": "lay helper", "skills": ()}
    one = only("lay-unbriefed", R_9=lay, R_10=lay)

    assert (one.level, one.subject) == (Level.FIX, "E-1")
    assert (
        one.message == "counted as hands and briefed for nothing at the athlete: responder 9 (R-9), responder 10 (R-10)"
    )


def test_who_rides_along_is_asked_at_practices_too() -> None:
    assert only("rides-along", E_1={"kind": "practice", "rides_along": ""}).level is Level.UNKNOWN
