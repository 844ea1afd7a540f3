"""Unit factors as printed in NIST Special Publication 811, appendix B.8 (from memory)."""

from decimal import Decimal

import pytest

from onthree.units import KG_PER_LB, M_PER_IN, N_PER_KGF, read_length, read_mass
from tests.printed import assert_agrees


@pytest.mark.published("nist-sp811", where="appendix B.8, pound (avoirdupois) to kilogram")
def test_pound_to_kilogram() -> None:
    assert_agrees(read_mass("1 lb").kg, "4.535924E-01")


@pytest.mark.published("nist-sp811", where="appendix B.8, footnote: the exact conversion factor of the pound")
def test_pound_to_kilogram_is_exact() -> None:
    assert Decimal("4.5359237E-01") == KG_PER_LB


@pytest.mark.published("nist-sp811", where="appendix B.8, inch to meter, printed bold: exact")
def test_inch_to_metre_is_exact() -> None:
    assert Decimal("2.54E-02") == M_PER_IN


@pytest.mark.published("nist-sp811", where="appendix B.8, foot to meter, printed bold: exact")
def test_foot_to_metre_is_exact() -> None:
    assert read_length("1 ft").m == Decimal("3.048E-01")


@pytest.mark.published("nist-sp811", where="appendix B.8, inch to centimeter, printed bold: exact")
def test_inch_to_centimetre_is_exact() -> None:
    assert read_length("1 in").m == read_length("2.54 cm").m


@pytest.mark.published("nist-sp811", where="appendix B.8, kilogram-force to newton, printed bold: exact")
def test_kilogram_force_to_newton_is_exact() -> None:
    assert Decimal("9.80665E+00") == N_PER_KGF
