"""Rated loads by edition of the standard: 150 kg in the edition of 2010+A1:2015, 200 kg in the draft revision."""

from datetime import date
from decimal import Decimal

import pytest

from onthree.loads.chain import LoadPart, Rating, device_chain, judge, worn_load
from onthree.programme.records import Athlete, Event, Gear, Team
from onthree.techniques.verdict import Verdict
from onthree.units import read_mass


@pytest.mark.published("en-1865-1", where="publisher's list of changes of the draft revision: 150 kg to 200 kg")
@pytest.mark.parametrize(
    ("load", "edition_limit", "verdict"),
    [
        ("149.9 kg", "150 kg", Verdict.OK),
        ("150 kg", "150 kg", Verdict.OK),
        ("163 kg", "150 kg", Verdict.NO),
        ("163 kg", "200 kg", Verdict.OK),
        ("200.001 kg", "200 kg", Verdict.NO),
    ],
)
def test_the_same_load_is_within_one_edition_and_over_the_other(
    load: str, edition_limit: str, verdict: Verdict
) -> None:
    chain = judge(
        (LoadPart("athlete and equipment", read_mass(load)),), (Rating("scoop", "S", read_mass(edition_limit)),)
    )

    assert chain.verdict is verdict


@pytest.mark.published("en-1865-1", where="publisher's list of changes of the draft revision: 150 kg to 200 kg")
@pytest.mark.parametrize(
    ("edition", "limit", "is_wet", "verdict", "margin_kg"),
    [
        ("EN 1865-1:2015", "150 kg", False, Verdict.OK, "1"),
        ("EN 1865-1:2015", "150 kg", True, Verdict.NO, "-2"),
        ("draft revision of EN 1865-1", "200 kg", True, Verdict.OK, "48"),
    ],
)
def test_body_equipment_water_and_what_is_fixed_to_the_device_count_and_the_edition_is_named(
    edition: str, limit: str, is_wet: bool, verdict: Verdict, margin_kg: str
) -> None:
    """130 kg with 10 kg of equipment and 9 kg fixed to the device; 3 kg of water is a guess of this program."""
    event = Event(code="E", name="game", kind="game", day=date(2026, 11, 27), venue="V", teams=("T",), is_wet=is_wet)
    team = Team(code="T", name="Herons", equipment_mass=read_mass("10 kg"))
    worn = worn_load(Athlete(code="A", team="T", mass=read_mass("130 kg")), team, event)
    scoop = Gear(
        code="S",
        kind="scoop",
        name="scoop",
        rated_load=read_mass(limit),
        attached_mass=read_mass("9 kg"),
        standard=edition,
    )
    chain = device_chain(worn, scoop)

    assert chain.verdict is verdict
    assert chain.margin_kg == Decimal(margin_kg)
    assert chain.sentence.endswith(f"scoop rated {limit}, {edition}")


@pytest.mark.published(
    "common-practice", where="common practice, no source: 290 lb, 6 ft 3 in, against 350 lb and 500 lb"
)
@pytest.mark.parametrize(("limit", "margin_lb", "margin_ratio"), [("350 lb", "35", "0.10"), ("500 lb", "185", "0.37")])
def test_the_margin_of_a_290_lb_athlete_with_25_lb_of_equipment(limit: str, margin_lb: str, margin_ratio: str) -> None:
    team = Team(code="T", name="Herons", equipment_mass=read_mass("25 lb"))
    worn = worn_load(Athlete(code="A", team="T", mass=read_mass("290 lb")), team)
    chain = device_chain(worn, Gear(code="S", kind="scoop", name="scoop", rated_load=read_mass(limit)))

    assert chain.verdict is Verdict.OK
    assert chain.margin_kg == read_mass(f"{margin_lb} lb").kg
    assert chain.margin_ratio == Decimal(margin_ratio)
