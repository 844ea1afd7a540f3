"""Quantities as typed: exact, never rounded to the unsafe side, and refused with a reason."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onthree.units import (
    MASS_UNITS,
    QuantityError,
    limit_kg_shown,
    limit_shown,
    load_kg_shown,
    load_shown,
    read_length,
    read_mass,
    total,
)

SMALLEST_KG, LARGEST_KG = Decimal("0.0001"), Decimal(2000)
masses_kg = st.decimals(SMALLEST_KG, LARGEST_KG, allow_nan=False, allow_infinity=False)
typed_masses = st.builds(
    "{} {}".format, st.decimals(1, 9999, places=3).map(lambda number: f"{number:f}"), st.sampled_from(MASS_UNITS)
)


def test_350_lb_is_exact() -> None:
    assert read_mass("350 lb").kg == Decimal("158.7573295")


def test_a_load_equal_to_its_limit_is_equal_whatever_it_is_added_up_from() -> None:
    parts = [read_mass(text).kg for text in ("327.9 lb", "18 lb", "4.1 lb")]

    assert sum(parts) == read_mass("350 lb").kg


@pytest.mark.parametrize(
    ("typed", "kg"),
    [
        ("290 lb", "131.5417873"),
        ("290lb", "131.5417873"),
        ("290 LBS.", "131.5417873"),
        ("290\u00a0lb", "131.5417873"),
        ("  131.5   kg ", "131.5"),
        ("0 kg", "0"),
    ],
)
def test_masses_are_read(typed: str, kg: str) -> None:
    assert read_mass(typed).kg == Decimal(kg)


@pytest.mark.parametrize(
    ("typed", "m"),
    [
        ("6 ft 3 in", "1.905"),
        ("6'3\"", "1.905"),
        ("6' 3''", "1.905"),
        ("6\u20193\u201d", "1.905"),
        ("6\u20323\u2033", "1.905"),
        ("6 ft", "1.8288"),
        ("6'", "1.8288"),
        ("5 ft 11.5 in", "1.8161"),
        ("75 in", "1.905"),
        ("190 cm", "1.9"),
        ("1.9 m", "1.9"),
        ("1900 mm", "1.9"),
    ],
)
def test_lengths_are_read(typed: str, m: str) -> None:
    assert read_length(typed).m == Decimal(m)


def test_what_was_typed_is_kept() -> None:
    assert str(read_mass(" 290   lb ")) == "290 lb"
    assert str(read_length("6\u20193\u201d")) == "6\u20193\u201d"


@pytest.mark.parametrize(
    ("typed", "fix"),
    [
        ("131,5 kg", "write a decimal point and no thousands mark"),
        ("1,315.5 kg", "write a decimal point and no thousands mark"),
        ("131", "write the unit after the number (kg, lb, lbs); it is never guessed"),
        ("131.5", "write the unit after the number (kg, lb, lbs); it is never guessed"),
        ("-5 kg", "write a number above zero"),
        ("25 st", "write one number and one of these units: kg, lb, lbs"),
        ("1e9 kg", "write one number and one of these units: kg, lb, lbs"),
        ("200 mg", "write one number and one of these units: kg, lb, lbs"),
        ("290 lb 3 oz", "write one number and one of these units: kg, lb, lbs"),
        ("100+31 kg", "write one number and one of these units: kg, lb, lbs"),
        ("1234567 kg", "write one number and one of these units: kg, lb, lbs"),
        ("heavy", "write one number and one of these units: kg, lb, lbs"),
        ("", "write one number and one of these units: kg, lb, lbs"),
    ],
)
def test_masses_that_are_refused(typed: str, fix: str) -> None:
    with pytest.raises(QuantityError) as refused:
        read_mass(typed)

    assert str(refused.value) == f"{typed!r} given, a mass such as 131.5 kg or 290 lb expected: {fix}"


@pytest.mark.parametrize(
    ("typed", "expected", "fix"),
    [
        ("6 ft 13 in", "less than 12 inches after the feet", "write for example 6 ft 3 in"),
        ("6'12\"", "less than 12 inches after the feet", "write for example 6 ft 3 in"),
        ("6-2", "a length such as 190 cm, 75 in or 6 ft 3 in", "units: m, cm, mm, in, ft"),
        ("6'3", "a length such as 190 cm, 75 in or 6 ft 3 in", "units: m, cm, mm, in, ft"),
        ("190", "a length such as 190 cm, 75 in or 6 ft 3 in", "write the unit after the number"),
        ("1,90 m", "a length such as 190 cm, 75 in or 6 ft 3 in", "write a decimal point"),
        ("190 kg", "a length such as 190 cm, 75 in or 6 ft 3 in", "units: m, cm, mm, in, ft"),
    ],
)
def test_lengths_that_are_refused(typed: str, expected: str, fix: str) -> None:
    with pytest.raises(QuantityError) as refused:
        read_length(typed)

    assert (refused.value.given, refused.value.expected) == (typed, expected)
    assert fix in refused.value.fix


def test_a_limit_is_shown_rounded_down_and_a_load_rounded_up() -> None:
    mass = read_mass("350 lb")

    assert limit_shown(mass) == "350 lb (158.757 kg)"
    assert load_shown(mass) == "350 lb (158.758 kg)"


def test_kilograms_are_shown_once() -> None:
    assert limit_shown(read_mass("131.5 kg")) == "131.5 kg"
    assert load_shown(read_mass("131.5 KG")) == "131.5 kg"


@pytest.mark.parametrize(
    ("kg", "shown"), [("100", "100 kg"), ("0", "0 kg"), ("120.5", "120.5 kg"), ("1000", "1000 kg")]
)
def test_whole_kilograms_keep_their_zeros(kg: str, shown: str) -> None:
    assert limit_kg_shown(Decimal(kg)) == load_kg_shown(Decimal(kg)) == shown


@given(masses_kg)
def test_a_limit_never_reads_higher_and_a_load_never_lower(exact_kg: Decimal) -> None:
    limit_kg, load_kg = (Decimal(shown(exact_kg).removesuffix(" kg")) for shown in (limit_kg_shown, load_kg_shown))

    assert limit_kg <= exact_kg <= load_kg
    assert load_kg - limit_kg <= Decimal("0.001")


@given(typed_masses)
def test_what_was_typed_reads_back_as_the_same_mass(typed: str) -> None:
    assert read_mass(str(read_mass(typed))) == read_mass(typed)


@given(st.integers(4, 7), st.decimals(0, Decimal("11.99"), places=2))
def test_feet_with_inches_are_inches(feet: int, inches: Decimal) -> None:
    assert read_length(f"{feet} ft {inches:f} in").m == read_length(f"{12 * feet + inches:f} in").m


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in (read_mass, read_length):
        try:
            read(text)
        except QuantityError as refused:
            assert refused.given == text


def test_a_total_keeps_the_unit_all_parts_were_typed_in() -> None:
    assert str(total([read_mass("347 lb"), read_mass("18.5 lbs")])) == "365.5 lb"
    assert total([read_mass("347 lb"), read_mass("18 lb")]).kg == read_mass("365 lb").kg


def test_a_total_of_mixed_units_is_in_kilograms() -> None:
    assert load_shown(total([read_mass("100 kg"), read_mass("10 lb")])) == "104.536 kg"


def test_a_total_of_nothing_is_zero() -> None:
    assert total([]).kg == 0
