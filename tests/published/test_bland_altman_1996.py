"""Repeated readings of one person, and the factor from their spread to what two of them differ by."""

import pytest

from onthree.kinematics.repeatability import repeatability
from tests.printed import assert_agrees

READINGS = [
    ((190, 220, 200, 200), "12.58"),
    ((220, 200, 240, 230), "17.08"),
    ((260, 260, 240, 280), "16.33"),
    ((210, 300, 280, 265), "38.60"),
    ((270, 265, 280, 270), "6.29"),
    ((280, 280, 270, 275), "4.79"),
    ((260, 280, 280, 300), "16.33"),
    ((275, 275, 275, 305), "15.00"),
    ((280, 290, 300, 290), "8.16"),
    ((320, 290, 300, 290), "14.14"),
    ((300, 300, 310, 300), "5.00"),
    ((270, 250, 330, 370), "55.08"),
    ((335, 320, 335, 375), "23.58"),
    ((350, 320, 340, 365), "18.87"),
    ((360, 320, 350, 345), "17.02"),
]
HOLDS = [[0.0], [0.0]]


@pytest.mark.published("bland-altman-1996", where="table 1, rows 1 to 12 and 14 to 16")
@pytest.mark.parametrize(("readings", "printed"), READINGS)
def test_the_spread_within_one_person(readings: tuple[int, ...], printed: str) -> None:
    assert_agrees(repeatability(HOLDS, [[[reading] for reading in readings]]).within_sd[0], printed)


@pytest.mark.published("bland-altman-1996", where="two readings differ by less than 2.77 sd for 95 % of pairs")
def test_with_ever_more_runs_the_factor_is_the_printed_one() -> None:
    found = repeatability(HOLDS, [[[float(run % 2)] for run in range(10000)]])

    assert_agrees(found.figure[0] / found.within_sd[0], "2.77")
