"""Rated loads by edition of the standard: 150 kg in the edition of 2010+A1:2015, 200 kg in the draft revision."""

import pytest

from onthree.loads.chain import LoadPart, Rating, judge
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
