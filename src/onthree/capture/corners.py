"""Corners of tags, finer than a pixel: a blurred step is fitted to the brightness across each side, sides are crossed.

The step is low + rise x Phi((across - offset - slope x along) / blur): black inside, white outside, with the blur of
lens, motion and compression. All sides of all tags of a frame are fitted at once.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

FloatArray = NDArray[np.float64]

ALONG = np.linspace(-0.8, 0.8, 20)
"""Places along a side, -1 and 1 are its ends; the ends themselves are rounded by the blur."""
ACROSS = np.linspace(-1.0, 1.0, 7)
"""Places across a side, in units of its reach."""
CELLS_OF_A_SIDE = 8
REACH_CELLS = 0.8
"""How far to look across a side: less than the border of one cell inside and the quiet zone of one cell outside."""
MOST_REACH_PX = 3.0
TRUSTED_RATIO = 0.5
"""Standard deviation, in units of the reach, by which pixels further from a side count less: the blur brings in what
lies beyond the quiet zone and the black border, always on the same side of a tag.
"""
BLUR_PX = 0.8
MOST_SHIFT_PX = 2.0
ROUNDS = 3
FAR_REACH_PX, BLUR_ROUNDS, MOST_BLUR_MISFIT_RATIO = 8.0, 8, 0.15
"""For the width of a blur alone: further out, more rounds, and only steps that look like one."""
LEAST_RISE = 20.0
"""Grey values from black to white below which there is no step to fit."""


def refined_corners(luma: NDArray[np.uint8], corners_px: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Corners (n, 4, 2) [px] from corners that are right to about a pixel, and how badly the worst side fits (n).

    The misfit is a ratio to the step from black to white: noise makes a few hundredths, something that covers part of a
    side much more, and it is infinite where no step is found; corners without a step stay as they were.
    """
    sides = _sides(luma, corners_px, MOST_REACH_PX)
    line, _, is_good, misfit_ratio = _fitted(sides, ROUNDS, TRUSTED_RATIO)
    start, end = line[..., :1] - line[..., 1:], line[..., :1] + line[..., 1:]
    crossed = _crossings(corners_px + start * sides.outward, np.roll(corners_px, -1, axis=1) + end * sides.outward)
    is_whole = np.array(is_good.all(axis=1) & (np.abs(crossed - corners_px) < MOST_SHIFT_PX).all(axis=(1, 2)))
    return np.where(is_whole[:, None, None], crossed, corners_px), np.where(is_whole, misfit_ratio.max(axis=1), np.inf)


def edge_blur_px(luma: NDArray[np.uint8], corners_px: FloatArray) -> FloatArray:
    """How blurred each side (n, 4) of tags is: standard deviation of the step [px], NaN where there is no step."""
    sides = _sides(luma, corners_px, FAR_REACH_PX)
    _, blur_px, is_good, misfit_ratio = _fitted(sides, BLUR_ROUNDS, np.inf)
    return np.where(is_good & (misfit_ratio < MOST_BLUR_MISFIT_RATIO), blur_px, np.nan)


def _sides(luma: NDArray[np.uint8], corners_px: FloatArray, most_reach_px: float) -> "_Sides":
    ends = np.roll(corners_px, -1, axis=1)
    middle, half = (corners_px + ends) / 2, (ends - corners_px) / 2
    length = np.linalg.norm(half, axis=-1, keepdims=True)
    outward = np.stack([half[..., 1], -half[..., 0]], axis=-1) / length
    depth_px = np.einsum("nsi,nsi->ns", middle - np.roll(middle, 2, axis=1), outward)
    reach_px = np.clip(depth_px * REACH_CELLS / CELLS_OF_A_SIDE, 1.0, most_reach_px)
    return _Sides(luma, middle, half, outward, reach_px)


def _fitted(
    sides: "_Sides", rounds: int, trusted_ratio: float
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_], FloatArray]:
    """Offset and slope of the lines (n, 4, 2), their blur [px], whether there is a step, and its misfit (n, 4)."""
    line = np.zeros((*sides.middle.shape[:2], 2))
    blur_px = np.full(sides.middle.shape[:2], BLUR_PX)
    misfit_ratio = np.full(sides.middle.shape[:2], np.inf)
    is_good = np.ones(sides.middle.shape[:2], dtype=bool)
    for _ in range(rounds):
        brightness, distance, along = sides.around(line)
        weight = np.exp(-((distance / (trusted_ratio * sides.reach_px[..., None])) ** 2) / 2)
        change, blur_px, is_step, misfit_ratio = _step_fit(brightness, distance, along, weight, blur_px)
        line = line + change
        is_good &= is_step & (np.abs(line).sum(axis=-1) < MOST_SHIFT_PX)
        line *= is_good[..., None]
    return line, blur_px, is_good, misfit_ratio


@dataclass(frozen=True, eq=False)
class _Sides:
    """The sides (n, 4) of tags in a frame: middle, half of the side, direction outward (n, 4, 2), reach (n, 4) [px]."""

    luma: NDArray[np.uint8]
    middle: FloatArray
    half: FloatArray
    outward: FloatArray
    reach_px: FloatArray

    def around(self, line: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Pixels around the present lines: brightness, distance from the line [px], place along it (n, 4, k).

        Whole pixels are taken where they are; brightness between them would have to be made up.
        """
        across = line[..., None, None, 0] + line[..., None, None, 1] * ALONG[:, None]
        across = across + self.reach_px[..., None, None] * ACROSS
        wanted = (
            self.half[..., None, None, :] * ALONG[:, None, None] + across[..., None] * self.outward[..., None, None, :]
        )
        places = np.rint(wanted + self.middle[..., None, None, :]).reshape(*self.middle.shape[:2], -1, 2)
        column = np.clip(places[..., 0], 0, self.luma.shape[1] - 1).astype(np.intp)
        row = np.clip(places[..., 1], 0, self.luma.shape[0] - 1).astype(np.intp)
        from_middle = places - self.middle[..., None, :]
        along = (from_middle @ self.half[..., None])[..., 0] / (self.half**2).sum(axis=-1)[..., None]
        distance = (from_middle @ self.outward[..., None])[..., 0] - line[..., :1] - line[..., 1:] * along
        return self.luma[row, column].astype(float), distance, along


def _step_fit(
    brightness: FloatArray, distance: FloatArray, along: FloatArray, weight: FloatArray, blur_px: FloatArray
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_], FloatArray]:
    """One step of Gauss-Newton: change of offset and slope (n, 4, 2), blur (n, 4) [px], is it a step, misfit (n, 4)."""
    scaled = distance / blur_px[..., None]
    step = ndtr(scaled)
    low, rise = _level_and_rise(step, brightness, weight)
    bell = np.exp(-(scaled**2) / 2) * (rise / blur_px / np.sqrt(2 * np.pi))[..., None]
    columns = np.stack([np.ones_like(step), step, -bell, -bell * along, -bell * scaled], axis=-2)
    residual = brightness - low[..., None] - rise[..., None] * step
    weighted = columns * weight[..., None, :]
    normal = weighted @ columns.swapaxes(-1, -2) + 1e-9 * np.eye(5)
    solved = np.linalg.solve(normal, weighted @ residual[..., None])[..., 0]
    misfit = np.sqrt((residual**2).mean(axis=-1)) / np.maximum(rise, LEAST_RISE)
    blur_px = np.clip(blur_px + np.clip(solved[..., 4], -0.3, 0.3), 0.4, 4.0)
    return solved[..., 2:4], blur_px, rise > LEAST_RISE, misfit


def _level_and_rise(step: FloatArray, brightness: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The straight line brightness = level + rise x step, side by side."""
    share = weight / weight.sum(axis=-1, keepdims=True)
    mean_step = (share * step).sum(axis=-1)
    from_mean = share * (step - mean_step[..., None])
    rise = (from_mean * brightness).sum(axis=-1) / (from_mean * step).sum(axis=-1)
    return (share * brightness).sum(axis=-1) - rise * mean_step, rise


def _crossings(starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Where each side meets the one before it (n, 4, 2): the corner at its start."""
    along = ends - starts
    before, before_along = np.roll(starts, 1, axis=1), np.roll(along, 1, axis=1)
    gap = starts - before
    area = before_along[..., 0] * along[..., 1] - before_along[..., 1] * along[..., 0]
    share = (gap[..., 0] * along[..., 1] - gap[..., 1] * along[..., 0]) / area
    return before + share[..., None] * before_along
