"""Fit zone by zone: measured before predicted, unknown where the interval straddles, what the sentence says."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from onthree.loads.fit import CAUTION, ZONES, Basis, fit, fit_table, verdicts
from onthree.programme.records import Athlete, Gear, Team
from onthree.techniques.verdict import Verdict
from onthree.units import read_length, read_mass

DEVICE = Gear(
    code="SCOOP",
    kind="scoop",
    name="scoop",
    usable_width=read_length("41 cm"),
    slot_width=read_length("43 cm"),
    usable_length=read_length("183 cm"),
)


OLD = Gear(code="OLD", kind="long board", name="old long board")


def someone(mass: str | None = "290 lb", **sizes: Any) -> Athlete:
    """An athlete nobody measured but for these sizes; lengths as typed."""
    words = {"survey_table", "age_group"}
    given = {"stature": "6 ft 3 in", "survey_table": "male"} | sizes
    read = {name: value if name in words else read_length(value) for name, value in given.items()}
    return Athlete(code="T1-52", team="T-1", mass=read_mass(mass) if mass else None, **read)


def test_a_measured_size_wins_over_the_prediction() -> None:
    predicted = fit(someone(), DEVICE).of("pelvis")
    measured = fit(someone(hip_breadth="39 cm"), DEVICE).of("pelvis")

    assert (predicted.basis, predicted.verdict) == (Basis.PREDICTED, Verdict.UNKNOWN)
    assert (measured.basis, measured.verdict, measured.size_m) == (Basis.MEASURED, Verdict.OK, (0.39, 0.39))


@pytest.mark.parametrize(("hip", "verdict"), [("40.9 cm", Verdict.OK), ("41 cm", Verdict.OK), ("41.1 cm", Verdict.NO)])
def test_as_wide_as_the_device_is_within_it(hip: str, verdict: Verdict) -> None:
    assert fit(someone(hip_breadth=hip), DEVICE).of("pelvis").verdict is verdict


def test_shoulders_over_pads_overhang_by_half_the_difference_on_each_side() -> None:
    shoulders = fit(someone(shoulder_breadth="54 cm", padded_shoulder_breadth="62 cm"), DEVICE).of("shoulders")

    assert shoulders.basis is Basis.PADDED
    assert shoulders.over_m == pytest.approx((0.105, 0.105))
    assert shoulders.sentence == (
        "shoulders 62 cm (measured over pads); usable width of the scoop 41 cm: over by 10.5 cm on each side"
    )


def test_bare_shoulders_within_the_width_are_unknown_as_pads_only_widen_them() -> None:
    wide = replace(DEVICE, usable_width=read_length("70 cm"))
    bare = fit(someone(shoulder_breadth="54 cm"), wide).of("shoulders")

    assert bare.verdict is Verdict.UNKNOWN
    assert "without pads" in bare.sentence and "over the pads" in bare.sentence


def test_bare_shoulders_over_the_width_are_over_it_in_pads_too() -> None:
    bare = fit(someone(shoulder_breadth="54 cm"), DEVICE).of("shoulders")

    assert bare.verdict is Verdict.NO
    assert "over by at least 6.5 cm on each side" in bare.sentence


def test_without_equipment_bare_shoulders_count_as_they_are() -> None:
    wide = replace(DEVICE, usable_width=read_length("70 cm"))
    swimmer = someone(shoulder_breadth="54 cm")
    team = Team(code="T-1", name="Otters", equipment_mass=read_mass("0 kg"))

    assert fit(swimmer, wide, team).of("shoulders").verdict is Verdict.OK
    assert fit(swimmer, wide, replace(team, equipment_mass=None)).of("shoulders").verdict is Verdict.UNKNOWN
    assert fit(replace(swimmer, equipment_mass=read_mass("8 kg")), wide, team).of("shoulders").verdict is (
        Verdict.UNKNOWN
    )


@pytest.mark.parametrize("missing", [{"mass": None}, {"stature": None}])
def test_without_mass_or_stature_no_breadth_is_guessed(missing: dict[str, None]) -> None:
    found = fit(replace(someone(), **missing), DEVICE)

    for zone in found.zones[:-1]:
        assert (zone.basis, zone.verdict, zone.size_m) == (Basis.NOT_KNOWN, Verdict.UNKNOWN, None)
        assert "not known" in zone.sentence and "not recorded" in zone.sentence


def test_a_device_nobody_measured_is_unknown_even_for_the_smallest() -> None:
    for zone in fit(someone("100 lb"), OLD).zones:
        assert (zone.verdict, zone.room_m) == (Verdict.UNKNOWN, None)
        assert zone.sentence.endswith("of the old long board not recorded")


def test_length_is_stature_without_the_helmet() -> None:
    length = fit(someone(), DEVICE).of("length")

    assert length.sentence == (
        "length 190.5 cm without helmet (measured); usable length of the scoop 183 cm: over by 7.5 cm"
    )


def test_a_child_is_not_looked_up_in_a_survey_of_adults() -> None:
    found = fit(someone("90 lb", age_group="8 to 14", hip_breadth="28 cm"), DEVICE)

    assert found.of("trunk").basis is Basis.NOT_KNOWN
    assert "nobody that young" in found.of("trunk").sentence
    assert found.of("pelvis").verdict is Verdict.OK


@pytest.mark.parametrize("outside", [someone("325 lb"), someone("150 lb", age_group="15 to 17")])
def test_outside_the_survey_a_prediction_never_passes(outside: Athlete) -> None:
    vast = replace(DEVICE, usable_width=read_length("110 cm"), slot_width=read_length("110 cm"))
    found = fit(outside, vast)

    assert {zone.verdict for zone in found.zones[:-1]} == {Verdict.UNKNOWN}
    assert "outside the survey" in found.of("trunk").sentence


def test_without_a_survey_table_both_must_agree() -> None:
    between = replace(DEVICE, usable_width=read_length("38 cm"))

    assert fit(someone("180 lb", survey_table="male", stature="178 cm"), between).of("pelvis").verdict is Verdict.OK
    assert fit(someone("180 lb", survey_table=None, stature="178 cm"), between).of("pelvis").verdict is Verdict.UNKNOWN


def test_the_caution_stands_beside_the_numbers() -> None:
    assert fit(someone(), DEVICE).caution == CAUTION
    assert "closes no option" in CAUTION


def test_many_at_once_are_the_same_as_one_by_one() -> None:
    athletes = [someone(), someone(None), someone("150 lb", hip_breadth="35 cm"), someone("325 lb", survey_table=None)]
    devices = [DEVICE, OLD]
    table = fit_table(athletes, devices, {})

    assert table.verdict.shape == (4, 2, len(ZONES))
    for row, one in enumerate(athletes):
        for column, device in enumerate(devices):
            assert table.device_fit(row, column) == fit(one, device)


def test_no_athletes_or_no_devices_is_an_empty_table() -> None:
    assert fit_table([], [DEVICE], {}).verdict.shape == (0, 1, len(ZONES))
    assert fit_table([someone()], [], {}).verdict.shape == (1, 0, len(ZONES))


def test_arrays_are_judged_element_by_element() -> None:
    lower_m, upper_m = np.array([0.3, 0.3, 0.5, np.nan, 0.3]), np.array([0.4, 0.5, 0.6, np.nan, 0.4])
    is_at_least = np.array([False, False, True, False, True])

    judged = verdicts(lower_m, upper_m, is_at_least, np.array(0.45))

    assert judged.tolist() == [Verdict.OK, Verdict.UNKNOWN, Verdict.NO, Verdict.UNKNOWN, Verdict.UNKNOWN]
