"""The numbers on the life-first pages are those their sources print, and agree with what the sources count."""

import re

import pytest

from onthree.techniques.life_first import Known, life_first_pages
from tests.printed import assert_agrees


def known(page: str, source: str) -> list[Known]:
    (found,) = (each for each in life_first_pages() if each.id == page)
    return [fact for fact in found.known if fact.source == source]


def numbers_of(facts: list[Known]) -> list[list[str]]:
    return [re.findall(r"\d+(?:\.\d+)?", fact.printed) for fact in facts]


@pytest.mark.published("bowman-2022", where="abstract, results: time to first compression, two kinds of pads")
def test_the_first_compression_over_lacrosse_pads_comes_about_half_a_minute_sooner() -> None:
    over, removal_first = numbers_of(known("arrest", "bowman-2022"))

    assert over == ["16.1", "3.4", "16.1", "4.5"]
    assert removal_first == ["49.6", "12.9", "53.8", "14.5"]


@pytest.mark.published(
    "waninger-2014", where="summary of the paper: depth over and under football pads, and the target"
)
def test_compressions_over_and_under_football_pads_are_both_short_of_the_target() -> None:
    ((over, under, target),) = numbers_of(known("arrest", "waninger-2014"))

    assert (over, under, target) == ("31.5", "36.5", "51")
    assert float(over) < float(under) < float(target)


@pytest.mark.published("longo-2023", where="abstract, results: depth over pads and without, ordinary and obese manikin")
def test_pads_take_more_depth_on_an_obese_manikin() -> None:
    ((over, without, over_obese, without_obese),) = numbers_of(known("arrest", "longo-2023"))

    assert (over, without, over_obese, without_obese) == ("40.0", "40.8", "32.8", "38.2")
    assert_agrees(float(without) - float(over), "0.8")
    assert_agrees(float(without_obese) - float(over_obese), "5.4")


@pytest.mark.published("boergers-2018", where="abstract, results: depth over one kind of lacrosse pads and without")
def test_compressions_over_lacrosse_pads_are_a_little_shallower() -> None:
    assert numbers_of(known("arrest", "boergers-2018")) == [["54.1", "5.8", "56.8", "5.7"]]


@pytest.mark.published("hockey-pads-thesis", where="abstract: 56% did not compress at the recommended depth")
def test_more_than_half_did_not_reach_the_depth_over_hockey_pads() -> None:
    assert numbers_of(known("arrest", "hockey-pads-thesis")) == [["56"]]


@pytest.mark.published("heat-protocols-51", where="abstract, results: 9, 11 and 6 of 51 protocols")
def test_the_shares_of_heat_stroke_protocols_are_those_of_their_counts() -> None:
    cool_first, immersion = (fact.printed for fact in known("heat_stroke", "heat-protocols-51"))
    (page,) = (each for each in life_first_pages() if each.id == "heat_stroke")
    transport_first = page.conflict[0].other.says

    assert cool_first == "11 of the 51, or 21.6%"
    assert immersion == "nine of the 51, or 17.6%"
    assert "six of 51 protocols, or 11.8%" in transport_first
    for count, share in ((11, "21.6"), (9, "17.6"), (6, "11.8")):
        assert_agrees(100 * count / 51, share)
