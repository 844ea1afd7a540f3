"""How a camera makes a picture: pinhole, radial and tangential distortion; pixel centres at integers.

With (x, y) the direction of a point, its camera axes (x right, y down, z forward) divided by z, and r its length:
bent = (x, y) (1 + k1 r^2 + k2 r^4) + (2 p1 x y + p2 (r^2 + 2 x^2), p1 (r^2 + 2 y^2) + 2 p2 x y), and the pixel is
(focal, focal x aspect) x bent + centre. This is the model of Brown (1966) in the form OpenCV has, with k3 left out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onthree.sources import table

FloatArray = NDArray[np.float64]

PARAMETERS = ("focal", "aspect", "centre_across", "centre_down", "k1", "k2", "p1", "p2")
UNDISTORTION_ROUNDS = 8


@dataclass(frozen=True, eq=False)
class Camera:
    """A camera: its parameters (8), focal and centre in pixels, and how sure each is before the film is looked at (8).

    A standard deviation of zero holds a parameter where it is.
    """

    values: FloatArray
    sd: FloatArray

    @property
    def focal_px(self) -> float:
        """The focal length across, in pixels."""
        return float(self.values[0])


def guessed_camera(width: int, height: int, focal_px: float | None = None) -> Camera:
    """The camera of a phone before its film is looked at: centre in the middle, no distortion."""
    believed = {row["name"]: (float(row["start"]), float(row["sd"])) for row in table("film_beliefs")}
    focal_px = focal_px or believed["focal"][0] * max(width, height)
    values = np.array([focal_px, 1.0, (width - 1) / 2, (height - 1) / 2, 0.0, 0.0, 0.0, 0.0])
    scale = np.array([focal_px, 1.0, focal_px, focal_px, 1.0, 1.0, 1.0, 1.0])
    return Camera(values, scale * np.array([believed[name][1] for name in PARAMETERS]))


def projected(camera: FloatArray, points_m: FloatArray) -> FloatArray:
    """Pixels (..., 2) of points (..., 3) in camera axes."""
    pixels: FloatArray = _scale(camera) * _bent(camera, points_m[..., :2] / points_m[..., 2:]) + camera[2:4]
    return pixels


def projection_slopes(camera: FloatArray, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How pixels change with the point (..., 2, 3) and with the camera's parameters (..., 2, 8)."""
    flat = points_m[..., :2] / points_m[..., 2:]
    square = (flat**2).sum(axis=-1, keepdims=True)
    x, y = flat[..., 0], flat[..., 1]
    along_x, along_y, both = square[..., 0] + 2 * x**2, square[..., 0] + 2 * y**2, 2 * x * y
    bent = _bent(camera, flat)
    by_camera = np.zeros((*flat.shape, len(PARAMETERS)))
    by_camera[..., 0] = bent * (1, camera[1])
    by_camera[..., 1, 1] = camera[0] * bent[..., 1]
    by_camera[..., 2:4] = np.eye(2)
    by_camera[..., 4] = _scale(camera) * flat * square
    by_camera[..., 5] = _scale(camera) * flat * square**2
    by_camera[..., 6] = _scale(camera) * np.stack([both, along_y], axis=-1)
    by_camera[..., 7] = _scale(camera) * np.stack([along_x, both], axis=-1)
    return point_slopes(camera, points_m), by_camera


def point_slopes(camera: FloatArray, points_m: FloatArray) -> FloatArray:
    """How pixels change with the point (..., 2, 3)."""
    depth = points_m[..., 2, None]
    flat = points_m[..., :2] / depth
    by_flat = _scale(camera)[:, None] * _bending_slopes(camera, flat)
    by_depth = -(by_flat * flat[..., None, :]).sum(axis=-1, keepdims=True)
    by_point: FloatArray = np.concatenate([by_flat, by_depth], axis=-1) / depth[..., None]
    return by_point


def directions(camera: FloatArray, pixels: FloatArray) -> FloatArray:
    """The (x, y)/z (..., 2) that fall on pixels (..., 2): projection backwards, by fixed point."""
    seen = (pixels - camera[2:4]) / _scale(camera)
    flat = seen
    for _ in range(UNDISTORTION_ROUNDS):
        flat = seen - (_bent(camera, flat) - flat)
    return flat


def _scale(camera: FloatArray) -> FloatArray:
    return np.array([camera[0], camera[0] * camera[1]])


def _bent(camera: FloatArray, flat: FloatArray) -> FloatArray:
    k1, k2, p1, p2 = camera[4:]
    square = (flat**2).sum(axis=-1, keepdims=True)
    product = 2 * flat[..., :1] * flat[..., 1:]
    tangential = np.array([p1, p2]) * product + np.array([p2, p1]) * (square + 2 * flat**2)
    bent: FloatArray = flat * (1 + k1 * square + k2 * square**2) + tangential
    return bent


def _bending_slopes(camera: FloatArray, flat: FloatArray) -> FloatArray:
    """How the bent direction changes with the direction (..., 2, 2)."""
    k1, k2, p1, p2 = camera[4:]
    x, y = flat[..., 0], flat[..., 1]
    square = x**2 + y**2
    stretch, growth = 1 + k1 * square + k2 * square**2, 2 * (k1 + 2 * k2 * square)
    mixed = growth * x * y + 2 * p1 * x + 2 * p2 * y
    across = stretch + growth * x**2 + 2 * p1 * y + 6 * p2 * x
    down = stretch + growth * y**2 + 6 * p1 * y + 2 * p2 * x
    rows: FloatArray = np.stack([across, mixed, mixed, down], axis=-1).reshape(*square.shape, 2, 2)
    return rows
