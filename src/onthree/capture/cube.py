"""The cube of tags on a boom or stalk: its five tagged faces and their places. The sixth face holds the rod.

Segment axes: X anterior, Y cranial, Z right; the cube is mounted along them, and its middle is their origin.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Face:
    """Where a face looks and where the upper edge of its sheet points, in segment axes."""

    looks: tuple[int, int, int]
    up: tuple[int, int, int]


FACES: Mapping[str, Face] = {
    "front": Face((1, 0, 0), (0, 1, 0)),
    "right side": Face((0, 0, 1), (0, 1, 0)),
    "left side": Face((0, 0, -1), (0, 1, 0)),
    "head end": Face((0, 1, 0), (1, 0, 0)),
    "foot end": Face((0, -1, 0), (1, 0, 0)),
}
"""Upper edges point to the head end, those of the two ends to the front."""


def face_place(face: Face, cube_m: float) -> tuple[FloatArray, FloatArray]:
    """Centre [m] and rotation vector [rad] of the tag on a face of a cube with this side, in segment axes."""
    z, y = np.array(face.looks, float), np.array(face.up, float)
    turned = Rotation.from_matrix(np.column_stack([np.cross(y, z), y, z]))
    return z * cube_m / 2, turned.as_rotvec()
