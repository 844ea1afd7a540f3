"""What the rules about gates, calls, ambulances, bookings and agreements say: level, sentence and what to do."""

from dataclasses import replace
from datetime import time
from typing import Any

import pytest

from onthree.programme.presence import Presence
from onthree.programme.programme import Scope, programme_of
from onthree.programme.records import Agency, Event, MutualAid, Record, Vehicle
from onthree.readiness.finding import Finding, Level
from onthree.readiness.rules import findings
from onthree.techniques.library import bundled_library
from onthree.transfers.options import engine_for
from onthree.units import read_length, read_mass
from tests.invented import DAY, clean_programme

BACKUP = Agency(code="AG-2", name="north ambulance")


def found(rule: str, *rows: Record, **changes: Any) -> list[Finding]:
    programme = programme_of([*clean_programme(**changes).records(), *rows], DAY, Scope())
    engine = engine_for(programme, programme.events["E-1"], bundled_library())
    return [each for each in findings(engine) if each.rule == rule]


def only(rule: str, *rows: Record, **changes: Any) -> Finding:
    (one,) = found(rule, *rows, **changes)
    return one


def another_event(**changes: Any) -> Event:
    event = Event(
        code="E-2",
        name="Otters practice",
        kind="practice",
        day=DAY,
        start=time(17, 0),
        end=time(19, 0),
        venue="V-1",
        teams=("T-1",),
        responders=(Presence("R-1"),),
    )
    return replace(event, **changes)


def another_vehicle(**changes: Any) -> Vehicle:
    return replace(clean_programme().vehicles["AMB-1"], code="AMB-2", name="second ambulance", **changes)


def test_a_gate_certainly_narrower_is_to_be_fixed_even_where_another_cot_is_not_measured() -> None:
    vehicles = (Presence("AMB-1"), Presence("AMB-2", 8))
    narrow = only(
        "gate-narrow",
        another_vehicle(cot_width=None),
        E_1={"vehicles": vehicles},
        GATE_1={"width": read_length("60 cm")},
    )

    assert narrow.level is Level.FIX
    assert narrow.evidence == (("clear width", "60 cm"), ("widest cot", "66 cm (AMB-1)"))


def test_a_gate_wide_enough_for_the_cots_measured_is_unknown_for_the_others() -> None:
    unknown = only(
        "gate-narrow",
        another_vehicle(cot_width=None),
        E_1={"vehicles": (Presence("AMB-1"), Presence("AMB-2", 8))},
    )

    assert unknown.level is Level.UNKNOWN
    assert unknown.do == "measure the cot of the second ambulance"


def test_a_narrow_gate_on_an_unknown_way_is_unknown() -> None:
    unknown = only("gate-narrow", GATE_1={"width": read_length("60 cm"), "is_cot_way": None})

    assert unknown.level is Level.UNKNOWN
    assert "nobody recorded whether it goes through" in unknown.message


def test_without_an_ambulance_there_is_no_cot_for_the_gate() -> None:
    assert found("gate-narrow", GATE_1={"width": None}, E_1={"vehicles": ()}) == []


@pytest.mark.parametrize(
    ("venue", "levels"),
    [
        ({"communication": "", "backup_communication": "", "dead_spots": ""}, [Level.UNKNOWN]),
        ({"backup_communication": ""}, [Level.FIX]),
        ({"communication": "none"}, [Level.UNKNOWN]),
        ({"dead_spots": ""}, [Level.UNKNOWN]),
        ({"dead_spots": "tunnel"}, [Level.TELL]),
        ({"backup_communication": "", "dead_spots": "tunnel"}, [Level.TELL, Level.FIX]),
        ({"dead_spots": " None "}, []),
    ],
)
def test_levels_of_communication(venue: dict[str, str], levels: list[Level]) -> None:
    assert [each.level for each in found("communication", V_1=venue)] == levels


def test_too_little_room_is_told_and_not_measured_is_unknown() -> None:
    assert only("vehicle-space", AMB_1={"right_space": read_length("30 cm"), "left_space": None}).level is Level.TELL
    assert only("vehicle-space", AMB_1={"right_space": None}).level is Level.UNKNOWN


def test_no_room_at_all_is_too_little_and_not_unknown() -> None:
    assert only("vehicle-space", AMB_1={"head_space": read_length("0 cm")}).level is Level.TELL


def test_the_bariatric_unit_is_told_for_each_agency_or_unknown() -> None:
    weak = {"cot_rated_load": read_mass("330 lb")}
    told, unknown = found(
        "bariatric-lead",
        BACKUP,
        another_vehicle(agency="AG-2", **weak),
        AMB_1=weak,
        E_1={"vehicles": (Presence("AMB-1"), Presence("AMB-2", 8))},
    )

    assert (told.subject, told.level, unknown.subject, unknown.level) == ("AG-1", Level.TELL, "AG-2", Level.UNKNOWN)
    assert told.message == "52: over every cot there; bariatric unit of county ambulance in 40 min"
    assert ("heaviest load", "318 lb (144.243 kg)") in told.evidence


def test_water_in_clothing_may_put_somebody_over_every_cot() -> None:
    weak = {"cot_rated_load": read_mass("154 kg")}

    assert found("bariatric-lead", AMB_1=weak, E_1={"is_wet": False}) == []
    assert only("bariatric-lead", AMB_1=weak, E_1={"is_wet": True}).level is Level.TELL


def test_nobody_over_a_cot_of_unknown_rating_is_counted() -> None:
    assert found("bariatric-lead", AMB_1={"cot_rated_load": None}) == []


def test_what_remains_and_who_comes_instead_is_said() -> None:
    leaving = only(
        "ambulance-may-leave",
        BACKUP,
        MutualAid(code="MA-1", agency="AG-1", replacement="AG-2", usual_min=15),
        another_vehicle(),
        E_1={"vehicles": (Presence("AMB-1"), Presence("AMB-2", 8)), "may_leave": ("AMB-1",)},
    )

    assert leaving.level is Level.TELL
    assert leaving.message == (
        "the stand-by ambulance (AMB-1) may leave: then the second ambulance (AMB-2) comes in 8 min; "
        "instead comes north ambulance, usually in 15 min"
    )
    assert leaving.evidence == (("leaves with it", "its cot and a crew of 2"),)


def test_nobody_who_comes_instead_is_said_and_asked_for() -> None:
    leaving = only("ambulance-may-leave", E_1={"may_leave": ("AMB-1",)})

    assert leaving.message.endswith("then no ambulance remains; nobody knows who comes instead")
    assert leaving.do.startswith("ask county ambulance who comes instead")


def test_two_that_may_leave_do_not_stand_in_for_each_other_without_a_word() -> None:
    both = (Presence("AMB-1"), Presence("AMB-2"))
    first, second = found(
        "ambulance-may-leave", another_vehicle(), E_1={"vehicles": both, "may_leave": ("AMB-1", "AMB-2")}
    )

    assert "the second ambulance (AMB-2) remains unless it leaves too" in first.message
    assert "the stand-by ambulance (AMB-1) remains unless it leaves too" in second.message


@pytest.mark.parametrize(
    ("changes", "level"),
    [
        ({"start": time(18, 0), "end": time(19, 1)}, Level.FIX),
        ({"start": time(19, 0), "end": None}, Level.FIX),
        ({"start": time(21, 59), "end": None}, Level.FIX),
        ({"start": time(18, 0), "end": time(1, 0)}, Level.FIX),
        ({"start": time(18, 0), "end": None}, Level.UNKNOWN),
        ({"start": None, "end": time(18, 0)}, Level.UNKNOWN),
        ({"venue": "V-2", "end": time(18, 1)}, Level.UNKNOWN),
        ({"venue": "V-2", "start": time(22, 30), "end": None}, Level.UNKNOWN),
    ],
)
def test_levels_of_double_booked(changes: dict[str, Any], level: Level) -> None:
    lower_field = replace(clean_programme().venues["V-1"], code="V-2", name="Lower field")

    assert only("double-booked", lower_field, another_event(**changes)).level is level


@pytest.mark.parametrize(
    "changes",
    [{}, {"start": time(22, 0), "end": None}, {"venue": "V-2", "end": time(18, 0)}],
    ids=["ends at the start", "starts at the end", "an hour between two venues"],
)
def test_one_after_the_other_is_fine(changes: dict[str, Any]) -> None:
    lower_field = replace(clean_programme().venues["V-1"], code="V-2", name="Lower field")

    assert found("double-booked", lower_field, another_event(**changes)) == []


def test_a_certain_overlap_outweighs_an_unknown_one() -> None:
    unknown = another_event(start=None)
    certain = another_event(code="E-3", start=time(20, 0), end=time(21, 0))
    booked = only("double-booked", unknown, certain)

    assert booked.level is Level.FIX
    assert [what for what, _ in booked.evidence] == ["E-1", "E-2", "E-3"]


@pytest.mark.parametrize(
    ("agreement", "agency", "level"),
    [
        ({"protocol_edition": "2025-01"}, {}, Level.FIX),
        ({"protocol_edition": "", "settled_on": None}, {}, Level.UNKNOWN),
        ({}, {"protocol_edition": ""}, Level.UNKNOWN),
    ],
)
def test_levels_of_protocol_unmatched(agreement: dict[str, Any], agency: dict[str, Any], level: Level) -> None:
    assert only("protocol-unmatched", AGR_1=agreement, AG_1=agency).level is level


def test_settled_before_the_edition_began_is_certain_without_its_name() -> None:
    settled = {"protocol_edition": "", "settled_on": DAY.replace(year=2025)}

    assert only("protocol-unmatched", AGR_1=settled).level is Level.FIX


def test_the_hosts_plan_is_told_with_the_way_in() -> None:
    away = only("host-plan", E_1={"plan_of": "the host's"}, V_1={"ambulance_access": "east ramp"})

    assert away.level is Level.TELL
    assert ("way in", "east ramp") in away.evidence
