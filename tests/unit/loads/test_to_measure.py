"""What to measure next: who, what, and how much it settles."""

from dataclasses import replace
from typing import Any

from onthree.loads.fit import fit_table
from onthree.loads.to_measure import measure_next
from onthree.programme.records import Athlete, Gear
from onthree.techniques.verdict import Verdict
from onthree.units import read_length, read_mass

SCOOP = Gear(
    code="SCOOP",
    kind="scoop",
    name="scoop",
    usable_width=read_length("41 cm"),
    slot_width=read_length("43 cm"),
    usable_length=read_length("183 cm"),
)


OLD = Gear(code="OLD", kind="long board", name="old long board")


def someone(code: str, mass: str | None, **changes: Any) -> Athlete:
    """An athlete of 6 ft 3 in nobody measured."""
    size = {"stature": read_length("6 ft 3 in"), "survey_table": "male"} | changes
    return Athlete(code=code, team="T-1", mass=read_mass(mass) if mass else None, **size)


def test_the_hips_of_a_heavy_athlete_settle_what_the_prediction_leaves_open() -> None:
    (one,) = measure_next([someone("A", "290 lb")], [SCOOP], {})

    assert one.subject.code == "A"
    assert (one.what, one.settles_count, one.is_certain) == (("hip breadth",), 1, True)


def test_measuring_what_is_named_settles_as_many_zones_as_it_says() -> None:
    heavy = someone("A", "290 lb")
    wide = replace(SCOOP, code="WIDE", usable_width=read_length("60 cm"), slot_width=read_length("70 cm"))
    (one,) = measure_next([heavy], [SCOOP, wide], {})
    measured = replace(
        heavy,
        hip_breadth=read_length("40 cm"),
        padded_shoulder_breadth=read_length("62 cm"),
        forearm_breadth=read_length("69 cm"),
    )
    open_before, open_after = (
        int((fit_table([who], [SCOOP, wide], {}).verdict == Verdict.UNKNOWN).sum()) for who in (heavy, measured)
    )

    assert set(one.what) == {"hip breadth", "shoulder breadth over the pads", "forearm breadth"}
    assert one.settles_count == open_before - open_after


def test_only_what_settles_a_zone_of_interest_is_asked_for() -> None:
    wide = replace(SCOOP, usable_width=read_length("60 cm"), slot_width=None)
    sizes = {"trunk_breadth": read_length("36 cm"), "hip_breadth": read_length("40 cm")}
    athletes = [someone("A", "290 lb", **sizes), someone("B", "290 lb", stature=None, **sizes)]
    found = measure_next(athletes, [wide], {}, zones=("trunk", "pelvis", "length"))

    assert [(one.subject.code, one.what, one.settles_count) for one in found] == [("B", ("stature",), 1)]


def test_who_was_never_weighed_is_weighed_first() -> None:
    (one,) = measure_next([someone("A", None)], [SCOOP], {})

    assert (one.what, one.settles_count, one.is_certain) == (("body mass",), 5, False)
    (other,) = measure_next([someone("A", None, stature=None)], [SCOOP], {})
    assert (other.what, other.settles_count) == (("body mass", "stature"), 6)


def test_with_every_breadth_measured_only_the_stature_is_asked_for() -> None:
    sizes = {
        name: read_length("39 cm")
        for name in ("padded_shoulder_breadth", "trunk_breadth", "hip_breadth", "forearm_breadth")
    }
    athlete = someone("A", "290 lb", stature=None, **sizes)
    rooms = replace(SCOOP, usable_width=None)
    found = measure_next([athlete], [rooms], {})

    assert [(one.what, one.settles_count) for one in found if one.subject is athlete] == [(("stature",), 1)]


def test_a_child_is_measured_as_the_survey_says_nothing() -> None:
    (one,) = measure_next([someone("A", None, age_group="8 to 14", stature=None)], [SCOOP], {})

    assert set(one.what) == {
        "shoulder breadth over the pads",
        "forearm breadth",
        "trunk breadth",
        "hip breadth",
        "stature",
    }


def test_a_team_without_equipment_has_no_pads_to_measure_over() -> None:
    wide = replace(SCOOP, usable_width=read_length("60 cm"), slot_width=read_length("60 cm"))
    swimmer = someone("A", "290 lb", equipment_mass=read_mass("0 kg"))

    assert "shoulder breadth" in measure_next([swimmer], [wide], {})[0].what


def test_a_device_nobody_measured_comes_first_and_counts_for_everyone() -> None:
    team = [someone("A", "200 lb"), someone("B", "210 lb")]
    first, *_ = measure_next(team, [OLD], {})

    assert first.subject.code == "OLD"
    assert (first.what, first.is_certain) == (("usable width", "slot width", "usable length"), False)
    assert first.settles_count == 12


def test_at_most_six_and_the_heaviest_before_the_lighter() -> None:
    team = [someone(f"A{n}", f"{280 + n} lb") for n in range(9)] + [someone("LIGHT", "150 lb")]
    found = measure_next(team, [SCOOP], {})

    assert [one.subject.code for one in found] == ["A8", "A7", "A6", "A5", "A4", "A3"]


def test_only_the_zones_asked_for_count() -> None:
    team = [someone("A", None, stature=None), someone("B", "290 lb")]
    found = measure_next(team, [SCOOP, OLD], {}, zones=("pelvis", "length"))

    assert [(one.subject.code, one.what, one.settles_count) for one in found] == [
        ("OLD", ("usable width", "usable length"), 2),
        ("A", ("body mass", "stature"), 2),
        ("B", ("hip breadth",), 1),
    ]


def test_nothing_to_measure_where_everything_is_settled() -> None:
    assert measure_next([], [SCOOP], {}) == ()
    assert measure_next([someone("A", "290 lb", hip_breadth=read_length("39 cm"))], [SCOOP], {}) == ()
