"""The load chain: when it is no, when unknown, and what it says."""

from dataclasses import replace
from decimal import Decimal

from onthree.loads.chain import (
    LoadPart,
    Rating,
    cot_chain,
    device_chain,
    judge,
    maybe_worn,
    worn_load,
)
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


def test_water_in_clothing_is_added_only_where_the_event_is_wet() -> None:
    team, event, who = PROGRAMME.teams["T-1"], PROGRAMME.events["E-1"], athlete("A", 1, "200 lb")
    dry, wet, unknown = (worn_load(who, team, replace(event, is_wet=answer)) for answer in (False, True, None))

    assert dry == unknown == worn_load(who, team)
    assert wet == (*dry, LoadPart("water in clothing", Mass(Decimal(3), "3 kg")))


def test_water_that_may_come_makes_a_load_near_the_rating_unknown_and_no_other() -> None:
    event = PROGRAMME.events["E-1"]
    maybe = maybe_worn(replace(event, is_wet=None))
    scoop = gear("S", "scoop", "scoop", rated_load=read_mass("159 kg"))
    chains = [device_chain((part("body", mass),), scoop, maybe) for mass in ("156 kg", "156.1 kg", "159.1 kg")]

    assert [chain.verdict for chain in chains] == [Verdict.OK, Verdict.UNKNOWN, Verdict.NO]
    assert chains[1].sentence == "load 156.1 kg, and perhaps 3 kg of water in clothing; scoop rated 159 kg"
    assert chains[1].missing == ("whether there is water in clothing",)
    assert chains[0].sentence == "load 156 kg; scoop rated 159 kg"
    assert maybe_worn(replace(event, is_wet=False)) == maybe_worn(replace(event, is_wet=True)) == ()


def test_water_can_take_a_load_over_the_rating() -> None:
    team, event = PROGRAMME.teams["T-1"], PROGRAMME.events["E-1"]
    scoop = gear("S", "scoop", "scoop", rated_load=read_mass("350 lb"))
    who = athlete("A", 1, "330 lb")

    assert device_chain(worn_load(who, team, replace(event, is_wet=False)), scoop).verdict is Verdict.OK
    assert device_chain(worn_load(who, team, replace(event, is_wet=True)), scoop).verdict is Verdict.NO


def test_what_is_fixed_to_a_device_and_rides_on_a_cot_is_part_of_the_load() -> None:
    worn = (part("body", "100 kg"),)
    scoop = gear("S", "scoop", "scoop", rated_load=read_mass("159 kg"), attached_mass=read_mass("2 kg"))
    vehicle = replace(PROGRAMME.vehicles["AMB-1"], attached_mass=read_mass("9 kg"))

    assert device_chain(worn, scoop).load.kg == 102
    assert cot_chain(worn, scoop, vehicle).load.kg == 100 + 8 + 2 + 9
    assert cot_chain(worn, None, vehicle).load.kg == 109


def test_straps_are_members_of_the_chain_and_without_a_rating_it_is_unknown() -> None:
    worn = (part("body", "140 kg"),)
    scoop = gear("S", "scoop", "scoop", rated_load=read_mass("159 kg"))
    rated = gear("T", "straps", "chest straps", rated_load=read_mass("136 kg"))
    unrated = replace(rated, rated_load=None)

    over, unread = device_chain(worn, rated), device_chain(worn, unrated)
    assert (over.verdict, over.sentence) == (Verdict.NO, "load 140 kg; chest straps rated 136 kg")
    assert (unread.verdict, unread.sentence) == (Verdict.UNKNOWN, "load 140 kg; chest straps rating not known")
    assert device_chain(worn, scoop).verdict is Verdict.OK


def test_the_edition_of_the_standard_stands_beside_the_rating() -> None:
    scoop = gear("S", "scoop", "scoop", rated_load=read_mass("150 kg"), standard="EN 1865-1:2015")
    vehicle = replace(PROGRAMME.vehicles["AMB-1"], cot_rated_load=read_mass("200 kg"), standard="EN 1865-2:2024")
    worn = (part("body", "100 kg"),)

    assert device_chain(worn, scoop).sentence == "load 100 kg; scoop rated 150 kg, EN 1865-1:2015"
    assert cot_chain(worn, scoop, vehicle).sentence.endswith("rated 200 kg, EN 1865-2:2024")


def test_the_margin_is_given_as_a_share_of_the_rating_too() -> None:
    assert judge((part("body", "120 kg"),), (rating("150 kg"),)).margin_ratio == Decimal("0.2")
    assert judge((part("body", "165 kg"),), (rating("150 kg"),)).margin_ratio == Decimal("-0.1")
    assert judge((part("body", None),), (rating("150 kg"),)).margin_ratio is None
    assert judge((part("body", "120 kg"),), (rating(None),)).margin_ratio is None
