"""How a camera makes a picture: pinhole and radial distortion; pixel centres at integers.

A point (x, y, z) in camera axes (x right, y down, z forward) falls on
focal x (x, y)/z x (1 + k1 r^2 + k2 r^4) + centre, with r the distance of (x, y)/z from the axis.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

PARAMETER_NAMES = ("focal", "centre across", "centre down", "distortion", "distortion, second")
SELF_CALIBRATED_SD = (0.10, 0.005, 0.005, 0.10, 0.10)
"""What is believed before the film is looked at: focal as a share of itself, centre as a share of the focal, k1, k2."""
UNDISTORTION_ROUNDS = 8


@dataclass(frozen=True, eq=False)
class Camera:
    """A camera (5 parameters: focal [px], centre [px], k1, k2) and how sure each is before the film is looked at (5).

    A standard deviation of zero holds a parameter where it is.
    """

    values: FloatArray
    sd: FloatArray

    @property
    def focal_px(self) -> float:
        """The focal length in pixels."""
        return float(self.values[0])


def guessed_camera(width: int, height: int, focal_px: float) -> Camera:
    """A camera of which only a rough focal length is known: centre in the middle, no distortion."""
    scale = np.array([focal_px, focal_px, focal_px, 1.0, 1.0])
    values = np.array([focal_px, (width - 1) / 2, (height - 1) / 2, 0.0, 0.0])
    return Camera(values, scale * np.array(SELF_CALIBRATED_SD))


def projected(camera: FloatArray, points_m: FloatArray) -> FloatArray:
    """Pixels (..., 2) of points (..., 3) in camera axes."""
    flat = points_m[..., :2] / points_m[..., 2:]
    square = (flat**2).sum(axis=-1, keepdims=True)
    return camera[0] * flat * (1 + camera[3] * square + camera[4] * square**2) + camera[1:3]


def projection_slopes(camera: FloatArray, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How pixels change with the point (..., 2, 3) and with the camera's parameters (..., 2, 5)."""
    depth = points_m[..., 2]
    flat = points_m[..., :2] / depth[..., None]
    square = (flat**2).sum(axis=-1)
    stretch = 1 + camera[3] * square + camera[4] * square**2
    by_flat = 2 * (camera[3] + 2 * camera[4] * square)[..., None, None] * flat[..., :, None] * flat[..., None, :]
    by_flat = camera[0] * (by_flat + stretch[..., None, None] * np.eye(2))
    flat_by_point = np.zeros((*depth.shape, 2, 3))
    flat_by_point[..., 0, 0] = flat_by_point[..., 1, 1] = 1 / depth
    flat_by_point[..., :, 2] = -flat / depth[..., None]
    by_camera = np.zeros((*depth.shape, 2, 5))
    by_camera[..., 0] = flat * stretch[..., None]
    by_camera[..., 1:3] = np.eye(2)
    by_camera[..., 3] = camera[0] * flat * square[..., None]
    by_camera[..., 4] = camera[0] * flat * (square**2)[..., None]
    return by_flat @ flat_by_point, by_camera


def directions(camera: FloatArray, pixels: FloatArray) -> FloatArray:
    """The (x, y)/z (..., 2) that fall on pixels (..., 2): projection backwards, by fixed point."""
    seen = (pixels - camera[1:3]) / camera[0]
    flat = seen
    for _ in range(UNDISTORTION_ROUNDS):
        square = (flat**2).sum(axis=-1, keepdims=True)
        flat = seen / (1 + camera[3] * square + camera[4] * square**2)
    return flat
