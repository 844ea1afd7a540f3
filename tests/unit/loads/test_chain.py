"""The load chain: when it is no, when unknown, and what it says."""

from dataclasses import replace
from decimal import Decimal

from onthree.loads.chain import LoadPart, Rating, cot_chain, device_chain, judge, worn_load
from onthree.techniques.verdict import Verdict
from onthree.units import Mass, read_mass
from tests.invented import athlete, clean_programme, gear

PROGRAMME = clean_programme()


def part(name: str, mass: str | None) -> LoadPart:
    return LoadPart(name, read_mass(mass) if mass else None)


def rating(limit: str | None, name: str = "scoop") -> Rating:
    return Rating(name, name, read_mass(limit) if limit else None)


def test_the_lowest_rating_decides() -> None:
    result = judge((part("body", "300 lb"),), (rating("500 lb", "cot"), rating("250 lb", "scoop")))

    assert result.verdict is Verdict.NO
    assert result.lowest and result.lowest.code == "scoop"


def test_sums_are_exact_so_a_load_at_the_limit_is_ok() -> None:
    pounds = (part("body", "290.1 lb"), part("pads", "12.7 lb"), part("helmet", "4.2 lb"))

    result = judge(pounds, (rating("307 lb"),))

    assert result.verdict is Verdict.OK
    assert result.margin_kg == Decimal(0)


def test_one_gram_over_is_no() -> None:
    assert judge((part("body", "150.001 kg"),), (rating("150 kg"),)).verdict is Verdict.NO


def test_an_unknown_rating_is_unknown() -> None:
    result = judge((part("body", "80 kg"),), (rating(None),))

    assert result.verdict is Verdict.UNKNOWN
    assert result.margin_kg is None
    assert "rating not known" in result.sentence


def test_an_unknown_rating_hides_no_overload_of_a_known_one() -> None:
    assert judge((part("body", "180 kg"),), (rating(None, "cot"), rating("170 kg"))).verdict is Verdict.NO


def test_a_missing_part_is_unknown_even_far_below_the_limit() -> None:
    assert judge((part("body", "60 kg"), part("pads", None)), (rating("500 kg"),)).verdict is Verdict.UNKNOWN


def test_known_parts_over_the_limit_are_no_whatever_the_missing_one() -> None:
    assert judge((part("body", "180 kg"), part("pads", None)), (rating("170 kg"),)).verdict is Verdict.NO


def test_no_rating_at_all_is_unknown() -> None:
    assert judge((part("body", None),), (rating(None),)).verdict is Verdict.UNKNOWN


def test_the_heaviest_set_of_the_team_stands_in_for_equipment_nobody_weighed() -> None:
    team = PROGRAMME.teams["T-1"]

    assert worn_load(athlete("A", 1, "200 lb"), team)[1].mass == team.equipment_mass
    own = athlete("A", 1, "200 lb", equipment_mass=read_mass("25 lb"))
    assert worn_load(own, team)[1].mass == read_mass("25 lb")


def test_on_the_cot_the_device_itself_is_part_of_the_load() -> None:
    vehicle = PROGRAMME.vehicles["AMB-1"]
    worn = (part("body", "300 kg"),)
    scoop = gear("S", "scoop", "scoop", rated_load=read_mass("400 kg"))

    assert cot_chain(worn, None, vehicle).load.kg == 300
    assert cot_chain(worn, scoop, vehicle).load.kg == 308
    assert device_chain(worn, scoop).load.kg == 300


def test_a_loading_system_nobody_asked_about_is_unknown() -> None:
    vehicle = replace(PROGRAMME.vehicles["AMB-1"], has_loading_system=None)

    assert cot_chain((part("body", "80 kg"),), None, vehicle).verdict is Verdict.UNKNOWN


def test_loads_are_shown_rounded_up_and_limits_down() -> None:
    sentence = judge(
        (part("body", "350 lb"),), (Rating("scoop", "S", Mass(read_mass("350 lb").kg, "350 lb")),)
    ).sentence

    assert "load 350 lb (158.758 kg)" in sentence
    assert "350 lb (158.757 kg)" in sentence
