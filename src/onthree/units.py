"""Exact conversions and a strict reader of typed quantities, used only where numbers enter or leave.

A quantity keeps the text a person typed beside its exact SI value: a limit of ``350 lb`` is 158.7573295 kg,
never 159. Decimal arithmetic keeps sums of loads exact, so a load equal to its limit is equal, not "over by 1e-14".
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

# Exact by definition (international yard and pound, 1959; standard gravity; NIST SP 811, appendix B.8).
KG_PER_LB = Decimal("0.45359237")
M_PER_IN = Decimal("0.0254")
N_PER_KGF = Decimal("9.80665")

_KG_PER = {"kg": Decimal(1), "lb": KG_PER_LB, "lbs": KG_PER_LB}
_M_PER = {"m": Decimal(1), "cm": Decimal("0.01"), "mm": Decimal("0.001"), "in": M_PER_IN, "ft": 12 * M_PER_IN}
MASS_UNITS = tuple(_KG_PER)
LENGTH_UNITS = tuple(_M_PER)

_NUMBER = r"(\d{1,6}(?:\.\d{1,6})?)"
_ONE_UNIT = re.compile(rf"{_NUMBER}\s*([a-z]+)\.?")
_FEET_INCHES = re.compile(rf"(\d{{1,2}})\s*(?:ft|')\s*(?:{_NUMBER}\s*(?:in|\"|''))?")


class QuantityError(ValueError):
    """A typed quantity that cannot be read; says what was given, what was expected and what to do."""

    def __init__(self, given: str, expected: str, fix: str) -> None:
        super().__init__(f"{given!r} given, {expected} expected: {fix}")
        self.given, self.expected, self.fix = given, expected, fix


@dataclass(frozen=True)
class Mass:
    """A mass as typed, with its exact value in kilograms."""

    kg: Decimal
    typed: str

    def __str__(self) -> str:
        return self.typed


@dataclass(frozen=True)
class Length:
    """A length as typed, with its exact value in metres."""

    m: Decimal
    typed: str

    def __str__(self) -> str:
        return self.typed


def read_mass(text: str) -> Mass:
    """Read ``290 lb`` or ``131.5 kg``; the unit is never guessed. Raises QuantityError."""
    match = _ONE_UNIT.fullmatch(_plain(text))
    if not match or match[2] not in _KG_PER:
        raise QuantityError(text, "a mass such as 131.5 kg or 290 lb", _what_is_wrong(text, MASS_UNITS))
    return Mass(Decimal(match[1]) * _KG_PER[match[2]], " ".join(text.split()))


def read_length(text: str) -> Length:
    """Read ``190 cm``, ``75 in``, ``6 ft 3 in`` or ``6'3"``; the unit is never guessed. Raises QuantityError."""
    plain, typed = _plain(text), " ".join(text.split())
    if match := _FEET_INCHES.fullmatch(plain):
        inches = Decimal(match[2] or 0)
        if inches >= 12:
            raise QuantityError(text, "less than 12 inches after the feet", "write for example 6 ft 3 in")
        return Length((12 * Decimal(match[1]) + inches) * M_PER_IN, typed)
    match = _ONE_UNIT.fullmatch(plain)
    if not match or match[2] not in _M_PER:
        raise QuantityError(text, "a length such as 190 cm, 75 in or 6 ft 3 in", _what_is_wrong(text, LENGTH_UNITS))
    return Length(Decimal(match[1]) * _M_PER[match[2]], typed)


def total(masses: Iterable[Mass]) -> Mass:
    """The exact sum, typed in pounds where every part was typed in pounds, else in kilograms."""
    parts = tuple(masses)
    kg = sum((mass.kg for mass in parts), Decimal(0))
    pounds = [
        match for mass in parts if (match := _ONE_UNIT.fullmatch(_plain(mass.typed))) and match[2].startswith("lb")
    ]
    if not pounds or len(pounds) < len(parts):
        return Mass(kg, f"{kg:f} kg")
    return Mass(kg, f"{sum(Decimal(match[1]) for match in pounds):f} lb")


def limit_shown(limit: Mass) -> str:
    """A limit as text: as typed, and in kg rounded down to the gram, so that it never reads higher than it is."""
    return _shown(limit, limit_kg_shown(limit.kg))


def load_shown(load: Mass) -> str:
    """A load as text: as typed, and in kg rounded up to the gram, so that it never reads lower than it is."""
    return _shown(load, load_kg_shown(load.kg))


def limit_kg_shown(limit_kg: Decimal) -> str:
    """Kilograms rounded down to the gram, as text."""
    return _kg_text(limit_kg, ROUND_FLOOR)


def load_kg_shown(load_kg: Decimal) -> str:
    """Kilograms rounded up to the gram, as text."""
    return _kg_text(load_kg, ROUND_CEILING)


def _kg_text(mass_kg: Decimal, rounding: str) -> str:
    text = f"{mass_kg.quantize(Decimal('0.001'), rounding):f}"
    return f"{text.rstrip('0').rstrip('.')} kg"


def _shown(mass: Mass, kg_text: str) -> str:
    return kg_text if mass.typed.lower().endswith("kg") else f"{mass.typed} ({kg_text})"


def _plain(text: str) -> str:
    straight = text.translate(str.maketrans("\u2019\u2032\u201d\u2033\u00a0", "''\"\" "))
    return " ".join(straight.lower().split())


def _what_is_wrong(text: str, units: tuple[str, ...]) -> str:
    plain = _plain(text)
    allowed = ", ".join(units)
    if re.fullmatch(r"[\d.,]+", plain):
        return f"write the unit after the number ({allowed}); it is never guessed"
    if re.search(r"\d,\d", plain):
        return "write a decimal point and no thousands mark"
    if plain.startswith("-"):
        return "write a number above zero"
    return f"write one number and one of these units: {allowed}"
