"""Reference numbers for one person and for teams, against the papers and guidance that print them."""

from math import ceil

import pytest

from onthree.loads.lifting_equation import Grip, RepeatedLift
from onthree.loads.limits import (
    lifting_equation_reference,
    people_needed,
    reference_number,
    team_factors,
)
from onthree.units import KG_PER_LB, N_PER_KGF
from tests.printed import assert_agrees

N_PER_LB = float(KG_PER_LB * N_PER_KGF)


@pytest.mark.published("waters-2007", where="abstract: 35 lb for each caregiver; example of the 180-lb patient")
def test_half_of_a_180_lb_patient_takes_three_caregivers() -> None:
    limit_n = reference_number("patient-handling").force_n
    needed = people_needed(180 / 2 * N_PER_LB, limit_n)

    assert_agrees(limit_n / N_PER_LB, "35")
    assert needed.count == 3
    assert limit_n < 45 * N_PER_LB, "two would take 45 lb each"


@pytest.mark.published("waters-2007", where="abstract: a patient who can cooperate and is unlikely to move suddenly")
def test_patient_handling_stands_with_its_conditions() -> None:
    sentence = reference_number("patient-handling").sentence

    assert "the patient can cooperate" in sentence
    assert "unlikely to move suddenly" in sentence


@pytest.mark.published("niosh-94-110", where="p. 6: when the equation does not apply")
@pytest.mark.parametrize(
    "condition", ["kneeling or seated", "stable", "both hands", "restricted", "carried", "0.76 m", "0.4", "humidity"]
)
def test_the_lifting_equation_stands_with_what_the_field_breaks(condition: str) -> None:
    reference = lifting_equation_reference(RepeatedLift(Grip(0.3, 0.15), Grip(0.3, 0.75), "fair"))

    assert "Reference only" in reference.sentence
    assert condition in reference.sentence
    assert any(each.is_always_broken for each in reference.conditions)


@pytest.mark.published("hse-l23", where="push and pull filter: 20 and 15 kgf to start or stop, 10 and 7 to keep moving")
def test_push_and_pull_filter() -> None:
    in_kgf = [
        reference_number(f"push-pull-{when}-{who}").force_n / 9.80665
        for when in ("start", "keep")
        for who in ("men", "women")
    ]

    assert in_kgf == pytest.approx([20, 15, 10, 7])


@pytest.mark.published("hse-l23", where="guidance paragraph 120: two people two thirds, three people one half")
@pytest.mark.published("karwowski-mital-1986", where="abstract: .94 and .68 for two, .90 and .58 for three men")
@pytest.mark.published(
    "karwowski-pongpatanasuegsa-1988", where="abstract: .833, .680 for two, .839, .684 for three women"
)
@pytest.mark.published("sharp-1997", where="abstract: .873 men, .911 women, .802 mixed")
@pytest.mark.parametrize(
    ("people", "printed"),
    [
        (2, {"0.667", ".94", ".68", ".833", ".680", ".873", ".911", ".802", "1"}),
        (3, {"0.5", ".90", ".58", ".839", ".684", ".873", ".911", ".802", ".917"}),
        (4, {".873", ".911", ".802", ".875"}),
    ],
)
def test_team_factors(people: int, printed: set[str]) -> None:
    shares_ratio = sorted(factor.share_ratio for factor in team_factors(people))

    assert len(shares_ratio) == len(printed)
    for share_ratio, text in zip(shares_ratio, sorted(printed, key=float), strict=True):
        assert_agrees(share_ratio, text)


@pytest.mark.published("mil-std-1472d", where="as cited in Sharp 1997: 39.5 kg; two double, each further at most 75 %")
@pytest.mark.parametrize(("people", "together"), [(2, 2), (3, 2.75), (4, 3.5)])
def test_the_rule_for_teams(people: int, together: float) -> None:
    rule = next(factor for factor in team_factors(people) if factor.source == "mil-std-1472d")

    assert people * rule.share_ratio == pytest.approx(together)


@pytest.mark.published("common-practice", where="common practice, no source: nothing found for five to eight lifters")
@pytest.mark.parametrize("people", [1, 5, 6, 8])
def test_no_team_factor_is_carried_over_to_another_number_of_people(people: int) -> None:
    assert team_factors(people) == ()


@pytest.mark.published("waters-2007", where="35 lb; sizes of crews at one limit worked by hand")
@pytest.mark.parametrize(("load_kg", "people"), [(98, 7), (147, 10), (160, 11)])
def test_crew_for_a_loaded_device_at_35_lb_each(load_kg: float, people: int) -> None:
    needed = people_needed(load_kg * 9.80665, reference_number("patient-handling").force_n)

    assert needed.count == people == ceil(load_kg / (35 * 0.45359237))
    assert str(needed).startswith(f"{people} (force / limit = ")
