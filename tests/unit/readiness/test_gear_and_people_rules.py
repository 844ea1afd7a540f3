"""What the rules about gear, tools, people and size say: level, sentence, numbers, what to do."""

import time
from datetime import date
from typing import Any

import pytest

from onthree.programme.presence import Presence
from onthree.programme.programme import Scope, programme_of
from onthree.programme.records import Qualification, Record, Upkeep
from onthree.readiness.finding import Finding, Level
from onthree.readiness.rules import RULES, findings
from onthree.techniques.library import bundled_library
from onthree.transfers.options import OptionsEngine, engine_for
from onthree.units import read_length, read_mass
from tests.invented import DAY, athlete, clean_programme, gear

BROUGHT = ("SCOOP", "BOARD", "STRAPS", "BLOCKS", "DRIVER", "CUTTER")
NOTHING_CHECKED_OFF = {"C_AIRWAY": None} | {f"C_{n}_{place}": None for n in range(1, 11) for place in range(1, 7)}


def engine(*rows: Record, on: date = DAY, **changes: Any) -> OptionsEngine:
    """The clean game with records changed by code (None to leave one out) and rows added, known on a day."""
    programme = programme_of([*clean_programme(**changes).records(), *rows], on, Scope())
    return engine_for(programme, programme.events["E-1"], bundled_library())


def found(rule: str, *rows: Record, **changes: Any) -> tuple[Finding, ...]:
    return {each.id: each.find for each in RULES}[rule](engine(*rows, **changes))


def only(rule: str, *rows: Record, **changes: Any) -> Finding:
    (one,) = found(rule, *rows, **changes)
    return one


def upkeep(code: str, day: date, done: str, item: str = "SCOOP") -> Upkeep:
    return Upkeep(code=code, gear=item, day=day, done=done)


@pytest.mark.parametrize(("condition", "level"), [("damaged", Level.FIX), ("worn", Level.WATCH)])
def test_damaged_must_be_fixed_and_worn_is_watched(condition: str, level: Level) -> None:
    one = only("gear-damaged", STRAPS={"condition": condition})

    assert (one.level, one.message) == (level, f"the straps (STRAPS): {condition}")


def test_used_and_not_cleaned_gives_both_days() -> None:
    one = only("upkeep-due", upkeep("U-3", date(2026, 11, 20), "used"))

    assert (one.level, one.message) == (Level.FIX, "the scoop (SCOOP): used and not cleaned since")
    assert one.evidence == (("last used", "2026-11-20"), ("last cleaned", "2026-11-10"))
    assert one.do == "clean SCOOP by the maker's manual and record it"


def test_what_is_known_later_was_not_done_yet() -> None:
    rows = [upkeep("U-3", date(2026, 11, 20), "used"), upkeep("U-4", date(2026, 11, 25), "cleaned")]

    assert found("upkeep-due", *rows, on=date(2026, 11, 25)) == ()
    assert only("upkeep-due", *rows, on=date(2026, 11, 24)).level is Level.FIX
    assert found("upkeep-due", *rows, on=date(2026, 11, 19)) == ()


def test_a_lubrication_nobody_recorded_is_unknown_until_something_else_must_be_fixed() -> None:
    never = {"lubricate_every_days": 90}
    one, both = only("upkeep-due", SCOOP=never), only("upkeep-due", upkeep("U-3", DAY, "used"), SCOOP=never)

    assert (one.level, one.message) == (Level.UNKNOWN, "the scoop (SCOOP): no lubrication recorded")
    assert (both.level, both.message) == (
        Level.FIX,
        "the scoop (SCOOP): used and not cleaned since; no lubrication recorded",
    )
    assert both.do == "clean and lubricate SCOOP by the maker's manual and record it"


def test_lubrication_overdue_says_since_when() -> None:
    one = only("upkeep-due", upkeep("U-3", date(2026, 8, 28), "lubricated"), SCOOP={"lubricate_every_days": 90})

    assert (one.level, one.message) == (Level.FIX, "the scoop (SCOOP): lubrication overdue")
    assert ("due", "2026-11-26") in one.evidence


def test_overdue_skills_are_named_each_with_its_last_day() -> None:
    one = only("check-off-overdue", C_3_2={"done_on": date(2025, 11, 26)}, C_3_4=None)

    assert (one.level, one.subject) == (Level.FIX, "R-3")
    assert one.message == "responder 3 (R-3): not checked off within 365 days: log roll, scoop"
    assert one.evidence[:2] == (("log roll", "last 2025-11-26"), ("scoop", "no check-off recorded"))
    assert "guess" in one.evidence[2][1]


def test_without_any_check_off_one_finding_asks_for_the_record() -> None:
    one = only("check-off-overdue", **NOTHING_CHECKED_OFF)

    assert (one.level, one.subject) == (Level.UNKNOWN, "E-1")
    assert one.evidence == (("trained people named", "10"),)


def test_without_trained_people_there_is_nothing_to_check_off() -> None:
    assert found("check-off-overdue", E_1={"responders": ()}, **NOTHING_CHECKED_OFF) == ()


def test_an_expired_and_an_undated_qualification_are_one_finding() -> None:
    course = Qualification(code="Q-2", responder="R-1", name="first aid course")
    one = only("qualification-expired", course, Q_1={"expires_on": date(2026, 11, 26)})

    assert (one.level, one.subject) == (Level.FIX, "R-1")
    assert one.message == ("responder 1 (R-1): expired: state licence; last valid day not recorded: first aid course")
    assert one.evidence == (("state licence", "until 2026-11-26"), ("first aid course", "not recorded"))


def test_an_undated_qualification_is_unknown() -> None:
    assert only("qualification-expired", Q_1={"expires_on": None}).level is Level.UNKNOWN


@pytest.mark.parametrize(
    ("is_charged", "has_right_bit", "level", "message"),
    [
        (False, True, Level.FIX, "the screwdriver (DRIVER): not charged"),
        (True, False, Level.FIX, "the screwdriver (DRIVER): without the right bit"),
        (False, False, Level.FIX, "the screwdriver (DRIVER): not charged and without the right bit"),
        (None, False, Level.FIX, "the screwdriver (DRIVER): without the right bit"),
        (None, True, Level.UNKNOWN, "not known whether the screwdriver (DRIVER) is charged and has the right bit"),
    ],
)
def test_one_wrong_answer_outweighs_what_nobody_looked_at(
    is_charged: bool | None, has_right_bit: bool | None, level: Level, message: str
) -> None:
    one = only("tool-not-ready", DRIVER={"is_charged": is_charged, "has_right_bit": has_right_bit})

    assert (one.level, one.message) == (level, message)


def test_an_untried_helmet_names_tools_and_who_wears_it() -> None:
    bare = {"face_mask": "no face mask"}
    one = only("tool-untried", T1_12=bare, T1_52={"helmet": "flat-screw model"}, CUTTER={"helmets": ()})

    assert (one.level, one.subject) == (Level.FIX, "flat-screw model")
    assert one.evidence == (
        ("worn by", "52"),
        ("face mask", "screws"),
        ("DRIVER", "tried on: round-screw model"),
        ("CUTTER", "tried on: not recorded"),
    )


def test_a_fastening_nobody_recorded_stays_unknown() -> None:
    changes = {"T1_12": {"face_mask": None}, "T1_52": {"face_mask": None}}

    assert found("tool-untried", **changes) == ()
    assert only("tool-untried", DRIVER={"helmets": ()}, **changes).level is Level.UNKNOWN


def test_a_tool_out_of_service_was_tried_in_vain() -> None:
    spare = gear("CUTTER-2", "cutting tool", "old cutter")
    brought = tuple(Presence(code) for code in (*BROUGHT, "CUTTER-2"))
    one = only("tool-untried", spare, E_1={"gear": brought}, CUTTER={"in_service": False})

    assert one.evidence[2:] == (("CUTTER-2", "tried on: not recorded"),)


@pytest.mark.parametrize(
    ("straps", "level"),
    [
        ({"fits": ("scoop",)}, Level.FIX),
        ({"fits_items": ("SCOOP",)}, Level.FIX),
        ({"fits": (), "fits_items": ("SCOOP",)}, Level.FIX),
    ],
)
def test_straps_must_fit_the_kind_and_where_items_are_named_the_item(straps: dict[str, Any], level: Level) -> None:
    one = only("accessory-misfit", STRAPS=straps)

    assert (one.level, one.subject) == (level, "straps/BOARD")
    assert one.message == "no straps there fit the long board (BOARD)"


@pytest.mark.parametrize("straps", [{"fits": ()}, {"in_service": None}])
def test_not_recorded_is_not_known_to_fit(straps: dict[str, Any]) -> None:
    both = found("accessory-misfit", STRAPS=straps)

    assert [(one.level, one.subject) for one in both] == [
        (Level.UNKNOWN, "straps/BOARD"),
        (Level.UNKNOWN, "straps/SCOOP"),
    ]


def test_straps_too_short_for_pads_are_to_be_fixed_and_untried_ones_unknown() -> None:
    levels = [only("accessory-misfit", STRAPS={"reaches_over_pads": reaches}).level for reaches in (False, None)]

    assert levels == [Level.FIX, Level.UNKNOWN]


def test_who_is_too_large_is_told_with_the_numbers_and_the_caution() -> None:
    wide = {"hip_breadth": read_length("46 cm")}
    one = only("fit", T1_52=wide, BOARD={"usable_width": read_length("50 cm")})

    assert (one.level, one.subject, one.message) == (Level.TELL, "SCOOP", "52: too large for the scoop (pelvis)")
    assert one.evidence[0] == (
        "52",
        "pelvis 46 cm (measured); usable width of the scoop 45 cm: over by 0.5 cm on each side",
    )
    assert [text.split()[0] for who, text in one.evidence if who == "52"] == ["pelvis", "shoulders"]
    assert one.evidence[-1][0] == "caution"
    assert one.do == "try them on the long board, within its weight limit"


def test_the_athlete_furthest_over_stands_for_each_zone() -> None:
    changes = {
        "T1_12": {"trunk_breadth": read_length("47 cm")},
        "T1_52": {"trunk_breadth": read_length("46 cm"), "stature": read_length("205 cm")},
    }
    scoop = next(one for one in found("fit", **changes) if one.subject == "SCOOP")

    assert scoop.message == "12, 52: too large for the scoop (trunk, length)"
    assert [(who, text.split()[0]) for who, text in scoop.evidence[:2]] == [("12", "trunk"), ("52", "length")]
    assert scoop.do == "bring a larger device and try them on it"


def test_what_to_measure_next_lists_devices_then_athletes() -> None:
    one = only("measure-next", SCOOP={"usable_width": None}, T1_52={"stature": None})

    assert (one.level, one.subject) == (Level.UNKNOWN, "E-1")
    assert one.message == "not known whether they fit on every carrying device there: 12, 52"
    assert one.evidence == (("SCOOP", "usable width"), ("52", "stature"))


def test_at_most_six_athletes_are_asked_for() -> None:
    unmeasured = {"trunk_breadth": None, "hip_breadth": None}
    line = [athlete(f"T1-{n}", n, f"{200 + n} lb", **unmeasured) for n in range(60, 80)]
    narrow = {"usable_width": read_length("38 cm")}
    one = only("measure-next", *line, SCOOP=narrow, BOARD=narrow, T1_52={"hip_breadth": read_length("37 cm")})

    assert one.message.endswith(": 20 athletes")
    assert len(one.evidence) == 6
    assert one.evidence[0] == ("79", "hip breadth")


def test_every_rule_on_a_large_roster_takes_well_under_a_second() -> None:
    unmeasured = {"trunk_breadth": None, "hip_breadth": None, "helmet": "flat-screw model"}
    many = [athlete(f"T1-{n}", n % 100, f"{150 + n % 200} lb", **unmeasured) for n in range(100, 398)]
    size = {"usable_width": read_length("40 cm"), "usable_length": read_length("190 cm")}
    devices = [
        gear(
            f"D-{n}", ("scoop", "long board")[n % 2], f"device {n}", rated_load=read_mass(f"{280 + 10 * n} lb"), **size
        )
        for n in range(10)
    ]
    brought = tuple(Presence(code) for code in (*BROUGHT, *(device.code for device in devices)))
    crowded = engine(*many, *devices, E_1={"gear": brought})
    started_s = time.process_time()
    rules = {one.rule for one in findings(crowded)}

    assert time.process_time() - started_s < 1.0
    assert {"weight-limit", "fit", "measure-next", "tool-untried"} <= rules
    assert len(crowded.programme.roster(crowded.event)) == 300
