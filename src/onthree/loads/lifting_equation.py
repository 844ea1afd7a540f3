"""The revised lifting equation of 1991: the weight limit recommended for one person, standing, with both hands.

For a lift on the field it is a reference only: ``limits.lifting_equation_reference`` says which conditions are broken.
"""

from dataclasses import dataclass
from functools import cache
from math import prod

import numpy as np

from onthree.sources import table
from onthree.units import KG_PER_LB, M_PER_IN

_SI_PER = {"kg": 1.0, "lb": float(KG_PER_LB), "cm": 0.01, "in": float(M_PER_IN), "1": 1.0, "deg": 1.0, "min": 1.0}
_SI_OF = {"kg": "kg", "lb": "kg", "cm": "m", "in": "m", "1": "ratio", "deg": "deg", "min": "min"}
_ROUNDING_M = 1e-9


@dataclass(frozen=True)
class Grip:
    """Where the hands are: ahead of the middle between the ankles, above the ground, turned from straight ahead."""

    horizontal_m: float
    vertical_m: float
    asymmetry_deg: float = 0.0


@dataclass(frozen=True)
class RepeatedLift:
    """A lift from one grip to another, with a good, fair or poor coupling; how often a minute, for how many minutes."""

    origin: Grip
    destination: Grip
    coupling: str
    frequency_per_min: float = 0.0
    lasts_min: float = 60.0

    @property
    def distance_m(self) -> float:
        """How far the hands travel up or down."""
        return abs(self.destination.vertical_m - self.origin.vertical_m)


@dataclass(frozen=True)
class Multipliers:
    """The load constant [kg] and the six factors of the equation, each from 0 to 1."""

    load_kg: float
    horizontal_ratio: float
    vertical_ratio: float
    distance_ratio: float
    asymmetry_ratio: float
    frequency_ratio: float
    coupling_ratio: float

    @property
    def limit_kg(self) -> float:
        """The recommended weight limit, their product."""
        return float(prod(vars(self).values()))


@dataclass(frozen=True)
class _Constants:
    load_kg: float
    horizontal_m: float
    horizontal_most_m: float
    vertical_slope_per_m: float
    vertical_middle_m: float
    vertical_most_m: float
    distance_base_ratio: float
    distance_share_m: float
    distance_least_m: float
    distance_most_m: float
    asymmetry_slope_per_deg: float
    asymmetry_most_deg: float
    short_most_min: float
    moderate_most_min: float
    long_most_min: float


def recommended_limit_kg(lift: RepeatedLift, units: str = "metric") -> float:
    """The lower of the limits at origin and destination [kg], for a load that is put down with control."""
    return min(multipliers(lift, grip, units).limit_kg for grip in (lift.origin, lift.destination))


def multipliers(lift: RepeatedLift, grip: Grip, units: str = "metric") -> Multipliers:
    """The factors at one grip by formula, with the constants of one set of units, ``metric`` or ``us``.

    The frequency factor goes by the height at the origin, the coupling factor by that of the grip asked for.
    Raises ValueError where the equation has no value: another coupling, or more than 480 minutes.
    """
    constant = _constants(units)
    starts_low = lift.origin.vertical_m < constant.vertical_middle_m - _ROUNDING_M
    is_low = grip.vertical_m < constant.vertical_middle_m - _ROUNDING_M
    turned_deg = abs(grip.asymmetry_deg)
    horizontal_ratio = constant.horizontal_m / max(grip.horizontal_m, constant.horizontal_m)
    vertical_ratio = 1 - constant.vertical_slope_per_m * abs(grip.vertical_m - constant.vertical_middle_m)
    counted_m = max(lift.distance_m, constant.distance_least_m)
    distance_ratio = constant.distance_base_ratio + constant.distance_share_m / counted_m
    asymmetry_ratio = 1 - constant.asymmetry_slope_per_deg * turned_deg
    return Multipliers(
        load_kg=constant.load_kg,
        horizontal_ratio=horizontal_ratio * _is_within(grip.horizontal_m, constant.horizontal_most_m),
        vertical_ratio=vertical_ratio * _is_within(grip.vertical_m, constant.vertical_most_m),
        distance_ratio=distance_ratio * _is_within(lift.distance_m, constant.distance_most_m),
        asymmetry_ratio=asymmetry_ratio * (turned_deg <= constant.asymmetry_most_deg),
        frequency_ratio=_frequency_ratio(lift, constant, starts_low),
        coupling_ratio=_coupling_ratio(lift.coupling, is_low),
    )


def printed_multipliers(lift: RepeatedLift, grip: Grip, units: str = "metric") -> Multipliers:
    """The factors as the manual's tables print them: two places, and three rows that differ from the formula."""
    factors = vars(multipliers(lift, grip, units))
    rounded = {name: value if name == "load_kg" else round(value, 2) for name, value in factors.items()}
    lengths_m = {"horizontal": grip.horizontal_m, "distance": lift.distance_m}
    for row in table("lifting_equation_printed"):
        at_m = float(row["at"]) * _SI_PER[row["unit"]]
        if row["units"] == units and abs(lengths_m[row["multiplier"]] - at_m) <= _ROUNDING_M:
            rounded[f"{row['multiplier']}_ratio"] = float(row["printed"])
    return Multipliers(**rounded)


@cache
def _constants(units: str) -> _Constants:
    rows = [row for row in table("lifting_equation_constants") if row["units"] == units]
    if not rows:
        raise ValueError(f"{units!r} given, metric or us expected: the equation has these two sets of constants")
    return _Constants(
        **{f"{row['name']}_{_si_name(row['unit'])}": float(row["value"]) * _si_ratio(row["unit"]) for row in rows}
    )


def _si_name(unit: str) -> str:
    return f"per_{_SI_OF[unit[2:]]}" if unit.startswith("1/") else _SI_OF[unit]


def _si_ratio(unit: str) -> float:
    return 1 / _SI_PER[unit[2:]] if unit.startswith("1/") else _SI_PER[unit]


def _is_within(length_m: float, most_m: float) -> bool:
    return length_m <= most_m + _ROUNDING_M


def _frequency_ratio(lift: RepeatedLift, constant: _Constants, starts_low: bool) -> float:
    """Between two printed rows the factor is interpolated; below the first row it is that of the first."""
    if lift.lasts_min > constant.long_most_min:
        raise ValueError(f"{lift.lasts_min} min given, at most {constant.long_most_min:.0f} expected: one shift")
    is_short, is_moderate = lift.lasts_min <= constant.short_most_min, lift.lasts_min <= constant.moderate_most_min
    column = f"{'short' if is_short else 'moderate' if is_moderate else 'long'}_{'low' if starts_low else 'high'}"
    rows = table("lifting_equation_frequency")
    printed = [float(row[column]) for row in rows]
    return float(np.interp(lift.frequency_per_min, [float(row["lifts_per_min"]) for row in rows], printed, right=0.0))


def _coupling_ratio(coupling: str, is_low: bool) -> float:
    for row in table("lifting_equation_coupling"):
        if row["coupling"] == coupling:
            return float(row["low" if is_low else "high"])
    raise ValueError(f"{coupling!r} given, good, fair or poor expected: grade the coupling by the manual's table")
