"""Typed quantities against GNU units 2.22.

Made by ``sh tests/reference/oracles/gnu_units.sh > tests/reference/gnu_units.csv``.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from onthree.units import read_length, read_mass

_LINES = Path(__file__).with_name("gnu_units.csv").read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in _LINES if not line.startswith("#")))
# GNU units calculates in binary and prints 15 digits: two operations may cost a few of the last.
LARGEST_DIFFERENCE_RATIO = Decimal("1e-14")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["typed"])
def test_same_as_gnu_units(row: dict[str, str]) -> None:
    exact = read_mass(row["typed"]).kg if row["si unit"] == "kg" else read_length(row["typed"]).m
    other = Decimal(row["value"])

    assert abs(exact - other) <= LARGEST_DIFFERENCE_RATIO * other


def test_the_rows_cover_every_unit() -> None:
    assert len(ROWS) > 60
    assert {row["si unit"] for row in ROWS} == {"kg", "m"}
