"""A device as the people at its hand holds see it: where the holds are, how heavy what lies on it is, and where.

Places are (x, y) in metres: x from the head end of the device towards the feet, y to the athlete's right.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from onthree.loads.segments import supine_centre_ratio
from onthree.units import N_PER_KGF


@dataclass(frozen=True)
class PartOnDevice:
    """A mass and the place of its centre on the device."""

    mass_kg: float
    x_m: float
    y_m: float = 0.0


@dataclass(frozen=True)
class LoadOnDevice:
    """Everything that is lifted together: its mass and the place of its centre of mass."""

    mass_kg: float
    x_m: float
    y_m: float

    @property
    def com_m(self) -> tuple[float, float]:
        """The centre of mass (x, y)."""
        return self.x_m, self.y_m

    def weight_n(self, dynamic_ratio: float = 1.0) -> float:
        """What the hands must hold up: at rest, or times the dynamic factor of a lift."""
        return self.mass_kg * float(N_PER_KGF) * dynamic_ratio


def hold_places_m(first_m: float, spacing_m: float, pairs: int, width_m: float) -> NDArray[np.float64]:
    """Hold places (2 pairs, 2) [m] from a few measured distances; from the head end, in each pair left before right.

    ``first_m`` from the head end of the device to the first pair, ``spacing_m`` from pair to pair, ``width_m`` between
    the middle of the left and of the right hand. Raises ValueError for less than one pair or a negative distance.
    """
    if pairs < 1 or min(first_m, spacing_m, width_m) < 0:
        raise ValueError("at least one pair and distances from 0 m up expected: measure from the head end, in metres")
    x_m = first_m + spacing_m * np.repeat(np.arange(pairs), 2)
    return np.column_stack([x_m, np.tile([-width_m / 2, width_m / 2], pairs)])


def athlete_on_device(mass_kg: float, stature_m: float, sex: str, vertex_m: float) -> PartOnDevice:
    """A supine athlete, the top of the head ``vertex_m`` from the head end, in the middle of the width."""
    return PartOnDevice(mass_kg, vertex_m + (1 - supine_centre_ratio(sex)) * stature_m)


def load_of(parts: Sequence[PartOnDevice]) -> LoadOnDevice:
    """The parts as one load: athlete, equipment worn, gear laid on, and the device itself."""
    mass_kg = sum(part.mass_kg for part in parts)
    x_m = sum(part.mass_kg * part.x_m for part in parts) / mass_kg
    return LoadOnDevice(mass_kg, x_m, sum(part.mass_kg * part.y_m for part in parts) / mass_kg)


def slope_shift_m(height_m: float, pitch_deg: float) -> float:
    """How far along the device the centre of mass moves towards its lower end when the device is tilted [m].

    ``height_m`` of the centre of mass above the plane of the hands, ``pitch_deg`` of the device; hands pull straight
    up, so a tilt moves weight to the people at the lower end.
    """
    return height_m * tan(radians(pitch_deg))
