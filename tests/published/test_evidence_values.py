"""Published values come out as printed, agree with what else the same source prints, and stay apart where unlike."""

from decimal import Decimal

import pytest

from onthree.evidence.problems import EvidenceError
from onthree.evidence.values import PublishedValue, median_and_range, published_values
from tests.printed import assert_agrees


def values(source: str, handling: str = "", plane: str = "", unit: str = "") -> list[PublishedValue]:
    return [
        value
        for value in published_values()
        if value.source == source
        and value.handling.startswith(handling)
        and plane in ("", value.plane)
        and unit in ("", value.unit)
    ]


@pytest.mark.published("hyldmo-2015", where="Table 2, last row: median of means (range)")
@pytest.mark.parametrize(
    ("plane", "median", "least", "most"),
    [("flexion", "5.5", "2.8", "11.9"), ("lateral", "4.0", "1.6", "9.2"), ("axial", "6.3", "2.4", "7.9")],
)
def test_log_roll_values_give_the_printed_median_and_range(plane: str, median: str, least: str, most: str) -> None:
    computed = median_and_range(values("hyldmo-2015", plane=plane))

    assert_agrees(Decimal(computed.median), median)
    assert (computed.least, computed.most, computed.unit) == (least, most, "deg")


@pytest.mark.published("six-plus-straddle", where="abstract: means and standard deviations")
@pytest.mark.parametrize(
    ("handling", "equipment", "plane", "mean", "spread"),
    [
        ("six-plus lift", "on", "flexion", "12.77", "5.27"),
        ("straddle lift", "on", "flexion", "13.76", "3.39"),
        ("six-plus lift", "off", "flexion", "12.92", "5.43"),
        ("straddle lift", "off", "flexion", "8.3", "2.69"),
        ("six-plus lift", "on", "axial", "8.79", "2.17"),
        ("straddle lift", "on", "axial", "5.72", "1.6"),
        ("six-plus lift", "off", "axial", "10.18", "3.02"),
        ("straddle lift", "off", "axial", "5.48", "1.53"),
        ("six-plus lift", "on", "lateral", "6.22", ""),
    ],
)
def test_lifts_of_volunteers_come_out_as_printed(
    handling: str, equipment: str, plane: str, mean: str, spread: str
) -> None:
    (found,) = (each for each in values("six-plus-straddle", handling, plane) if each.equipment == equipment)

    assert (found.mean, found.spread) == (mean, spread)
    assert found.spread_kind == ("SD" if spread else "")
    assert (found.measured_quantity, found.sample) == ("head-trunk", "6 volunteers")
    assert found.stance == {"six-plus lift": "sides", "straddle lift": "straddling"}[handling]


@pytest.mark.published("onto-device-2021", where="abstract: means with 95 % CI; 78 and 94 of 172 runs")
def test_each_time_onto_a_device_is_the_middle_of_its_printed_interval() -> None:
    found = values("onto-device-2021")

    assert [each.mean for each in found] == ["254.4", "358.3", "83.4", "112.6"]
    for each in found:
        low, high = map(Decimal, each.spread.split(" to "))
        assert_agrees((low + high) / 2, each.mean)
    assert sum({each.handling: each.n or 0 for each in found}.values()) == 172


@pytest.mark.published("decoster-2005", where="abstract: 82.4 %, 183 of 222")
def test_face_masks_opened_by_screwdriver() -> None:
    (found,) = values("decoster-2005", unit="%")

    assert_agrees(183 / 222 * 100, found.mean)
    assert found.n == 222


@pytest.mark.published("copeland-2007", where="abstract: 100 %, 300 of 300; 37.8 +/- 15.4 s; 51.2 +/- 19.5 s")
def test_face_mask_off_with_a_tool_in_reserve() -> None:
    assert [(each.mean, each.spread) for each in values("copeland-2007", unit="s")] == [
        ("37.8", "15.4"),
        ("51.2", "19.5"),
    ]
    assert [each.mean for each in values("copeland-2007", unit="%")] == ["100", "99.4"]


@pytest.mark.published("waninger-2001", where="abstract: head in the helmet by sport")
def test_the_head_moves_in_a_strapped_helmet() -> None:
    found = values("waninger-2001")

    assert [(each.mean, each.spread, each.n) for each in found] == [
        ("4.88", "2.07", 9), ("6.56", "1.61", 9), ("5.54", "1.19", 12),
    ]  # fmt: skip
    assert {each.measured_quantity for each in found} == {"head-helmet"}


@pytest.mark.published("gastel-1998", where="abstract: lordosis with helmet only and pads only")
def test_helmet_only_and_pads_only_bend_the_neck_opposite_ways() -> None:
    helmet, pads = (Decimal(each.mean) for each in values("gastel-1998", plane="flexion")[:2])

    assert (helmet, pads) == (Decimal("-9.6"), Decimal("13.6"))


@pytest.mark.published("uzun-2020", where="abstract: vacuum mattress without and with head blocks, 3 volunteers")
def test_head_blocks_on_the_vacuum_mattress() -> None:
    found = values("uzun-2020", "secured on the vacuum mattress")

    assert [each.mean for each in found] == ["14", "15", "7", "3", "6", "3"]


@pytest.mark.published("luscombe-2003", where="abstract: 23.3 v 6.66, 40.89 v 8.33, 18.33 v 4.26 mm")
def test_the_body_moves_less_on_the_tilted_vacuum_mattress() -> None:
    board = [each.mean for each in values("luscombe-2003", "tilted 45 degrees, long board")]
    mattress = [each.mean for each in values("luscombe-2003", "tilted 45 degrees, vacuum")]

    assert (board, mattress) == (["23.3", "40.89", "18.33"], ["6.66", "8.33", "4.26"])


@pytest.mark.published("hyldmo-2015", where="Table 2: C5-C6 of cadavers")
@pytest.mark.published("six-plus-straddle", where="abstract: head on trunk of volunteers")
def test_a_segment_is_never_pooled_with_the_head_on_the_trunk() -> None:
    with pytest.raises(EvidenceError, match="unlike kinds are never pooled"):
        median_and_range([*values("hyldmo-2015", plane="axial"), *values("six-plus-straddle", plane="axial")])


@pytest.mark.published("six-plus-straddle", where="abstract: six from the sides, three straddling")
def test_people_and_stance_are_never_pooled() -> None:
    with pytest.raises(EvidenceError, match="unlike kinds are never pooled"):
        median_and_range(values("six-plus-straddle", plane="axial"))
