"""What stands around the tags of a rendered film: clutter behind, smooth bodies before, and lamps that flash."""

import cv2
import numpy as np
from numpy.typing import NDArray

from onthree.capture.camera import projected
from onthree.capture.poses import Poses
from onthree.demo.scene import Blob, Flash

FloatArray = NDArray[np.float64]
SingleArray = NDArray[np.float32]

TURF_GRAINS_PX, WALL_GRAINS_PX = (90, 36, 14, 7), (240, 90, 36)
"""Sizes of the spots on the ground and on the wall behind it."""
WALL_SHARE_RATIO = 0.36
BOXES, LINES = 30, 3
WEAVE_PX = 10


def clutter(width: int, height: int, seed: int) -> SingleArray:
    """A backdrop half as large again as the picture each way: a wall full of boxes, turf with some painted lines."""
    rng = np.random.default_rng(seed)
    rows, columns = height + 2 * (height // 4), width + 2 * (width // 4)
    foot = int(WALL_SHARE_RATIO * rows)
    picture = np.empty((rows, columns), np.float32)
    picture[:foot] = 125 + _spots(rng, (foot, columns), WALL_GRAINS_PX, 7)
    picture[foot:] = 88 + _spots(rng, (rows - foot, columns), TURF_GRAINS_PX, 8)
    for _ in range(BOXES):
        left, top = rng.integers(0, columns), rng.integers(0, foot)
        across, down = rng.integers(height // 40, height // 6, 2)
        picture[top : min(top + down, foot), left : left + across] += np.float32(rng.uniform(-35, 30))
    for _ in range(LINES):
        start, end = (int(rng.integers(0, columns)), foot), (int(rng.integers(0, columns)), rows)
        cv2.line(picture, start, end, 150.0, height // 60, cv2.LINE_AA)
    smooth = np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.2), np.float32)
    return np.clip(smooth, 45, 170)


def _spots(rng: np.random.Generator, shape: tuple[int, int], grains_px: tuple[int, ...], strength: int) -> SingleArray:
    """Random spots of several sizes, each as strong as the others."""
    total = np.zeros(shape, np.float32)
    for grain_px in grains_px:
        few = rng.standard_normal((shape[0] // grain_px + 3, shape[1] // grain_px + 3)).astype(np.float32)
        total += np.asarray(cv2.resize(few, shape[::-1], interpolation=cv2.INTER_CUBIC), np.float32)
    return strength * total


def blob_outline_px(camera: FloatArray, pose: Poses, blob: Blob) -> FloatArray:
    """Pixels (26, 2) around a blob, whose box holds it."""
    ends = np.array([(x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if (x, y, z) != (0, 0, 0)])
    points = (ends * blob.radii_m) @ pose.rotation[0].T + pose.place_m[0]
    points[:, 2] = np.maximum(points[:, 2], 0.05)
    return projected(camera, points)


def blob_cover(
    blob: Blob, pose: Poses, x: SingleArray, y: SingleArray, step_px: int
) -> tuple[SingleArray, SingleArray]:
    """How much of each pixel a blob covers, and how bright it is there, for directions (x, y, 1) of a patch."""
    back = (pose.rotation[0] / blob.radii_m).T
    eye = -back @ pose.place_m[0]
    size = (x.shape[1], x.shape[0])
    small = (size[0] // step_px + 2, size[1] // step_px + 2)
    few_x, few_y = (cv2.resize(each, small, interpolation=cv2.INTER_LINEAR) for each in (x, y))
    rays = np.stack([few_x, few_y, np.ones_like(few_x)], axis=-1) @ back.T.astype(np.float32)
    within = (rays @ eye.astype(np.float32)) ** 2 - (rays**2).sum(axis=-1) * np.float32(eye @ eye - 1)
    depth = np.asarray(cv2.resize(within, size, interpolation=cv2.INTER_LINEAR), np.float32)
    slope = np.hypot(*np.gradient(within)) / step_px
    edge = slope[np.abs(within) <= np.quantile(np.abs(within), 0.3)]
    cover = np.clip(depth / np.float32(2.5 * max(float(edge.mean()), 1e-9)) + 0.5, 0, 1)
    round_ratio = np.sqrt(np.clip(depth / np.float32(max(float(within.max()), 1e-9)), 0, 1))
    brightness = 255 * np.float32(blob.grey_ratio) * (0.6 + 0.4 * round_ratio) + _weave(blob.seed, size)
    return cover, brightness


def _weave(seed: int, size: tuple[int, int]) -> SingleArray:
    """Soft spots, as cloth or skin have, that go with the patch."""
    few = np.random.default_rng(seed).standard_normal((size[1] // WEAVE_PX + 3, size[0] // WEAVE_PX + 3))
    return np.asarray(cv2.resize(5 * few.astype(np.float32), size, interpolation=cv2.INTER_LINEAR), np.float32)


def flash_gain(flashes: tuple[Flash, ...], middle_s: FloatArray, exposure_s: float) -> FloatArray:
    """How much brighter each row (k) is, from the part of its exposure that falls into a flash."""
    gain = np.ones(len(middle_s))
    for flash in flashes:
        start = np.maximum(middle_s - exposure_s / 2, flash.at_s)
        end = np.minimum(middle_s + exposure_s / 2, flash.at_s + flash.length_s)
        gain += flash.gain_ratio * np.maximum(end - start, 0) / exposure_s
    return gain
