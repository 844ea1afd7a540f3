"""Corners of tags, finer than a pixel: a blurred step is fitted to the brightness across each side, sides are crossed.

The step is low + rise x Phi((across - offset - slope x along) / blur): black inside, white outside, with the blur of
lens, motion and compression. All sides of all tags of a frame are fitted at once.
"""

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

FloatArray = NDArray[np.float64]

ALONG = np.linspace(-0.8, 0.8, 14)
"""Places along a side, -1 and 1 are its ends; the ends themselves are rounded by the blur."""
ACROSS = np.linspace(-1.0, 1.0, 15)
"""Places across a side, in units of its reach."""
CELLS_OF_A_SIDE = 8
REACH_CELLS = 0.8
"""How far to look across a side: less than the border of one cell inside and the quiet zone of one cell outside."""
MOST_REACH_PX = 4.0
BLUR_PX = 0.9
MOST_SHIFT_PX = 2.0
ROUNDS = 2
LEAST_RISE = 20.0
"""Grey values from black to white below which there is no step to fit."""


def refined_corners(luma: NDArray[np.uint8], corners_px: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Corners (n, 4, 2) [px] from corners that are right to about a pixel, and how badly the worst side fits (n).

    The misfit is a ratio to the step from black to white: noise makes a few hundredths, something that covers part of a
    side much more, and it is infinite where no step is found; corners without a step stay as they were.
    """
    ends = np.roll(corners_px, -1, axis=1)
    middle, half = (corners_px + ends) / 2, (ends - corners_px) / 2
    length = np.linalg.norm(half, axis=-1, keepdims=True)
    outward = np.stack([half[..., 1], -half[..., 0]], axis=-1) / length
    depth_px = np.einsum("nsi,nsi->ns", middle - np.roll(middle, 2, axis=1), outward)
    reach_px = np.clip(depth_px * REACH_CELLS / CELLS_OF_A_SIDE, 1.0, MOST_REACH_PX)
    line = np.zeros((*middle.shape[:2], 2))
    blur_px = np.full(middle.shape[:2], BLUR_PX)
    is_good = np.ones(middle.shape[:2], dtype=bool)
    for _ in range(ROUNDS):
        samples = _samples(luma, middle, half, outward, line, reach_px)
        change, blur_px, is_step, misfit_ratio = _step_fit(samples, reach_px, blur_px)
        line = line + change
        is_good &= is_step & (np.abs(line).sum(axis=-1) < MOST_SHIFT_PX)
        line *= is_good[..., None]
    start, end = line[..., :1] - line[..., 1:], line[..., :1] + line[..., 1:]
    crossed = _crossings(corners_px + start * outward, ends + end * outward)
    is_whole = np.array(is_good.all(axis=1) & (np.abs(crossed - corners_px) < MOST_SHIFT_PX).all(axis=(1, 2)))
    return np.where(is_whole[:, None, None], crossed, corners_px), np.where(is_whole, misfit_ratio.max(axis=1), np.inf)


def _samples(
    luma: NDArray[np.uint8],
    middle: FloatArray,
    half: FloatArray,
    outward: FloatArray,
    line: FloatArray,
    reach: FloatArray,
) -> FloatArray:
    """Brightness (n, 4, along, across) around the present line of each side."""
    across = (line[..., :1] + line[..., 1:] * ALONG)[..., None] + reach[..., None, None] * ACROSS
    places = (middle[..., None, :] + half[..., None, :] * ALONG[:, None])[..., None, :] + (
        across[..., None] * outward[..., None, None, :]
    )
    flat = places.reshape(len(middle) * 4, -1, 2).astype(np.float32)
    found = cv2.remap(luma, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return found.reshape(*middle.shape[:2], len(ALONG), len(ACROSS)).astype(float)


def _step_fit(
    samples: FloatArray, reach_px: FloatArray, blur_px: FloatArray
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_], FloatArray]:
    """One step of Gauss-Newton: change of offset and slope (n, 4, 2), blur (n, 4) [px], is it a step, misfit (n, 4)."""
    scaled = reach_px[..., None] * ACROSS / blur_px[..., None]
    profile, step = samples.mean(axis=2), ndtr(scaled)
    low, rise = _level_and_rise(step, profile)
    bell = np.exp(-(scaled**2) / 2) / np.sqrt(2 * np.pi) * (rise / blur_px)[..., None]
    columns = np.stack([np.ones_like(step), step, -bell, -bell * scaled], axis=-1)
    residual = profile - low[..., None] - rise[..., None] * step
    normal = np.einsum("nsai,nsaj->nsij", columns, columns) + 1e-9 * np.eye(4)
    solved = np.linalg.solve(normal, np.einsum("nsai,nsa->nsi", columns, residual)[..., None])[..., 0]
    tilted = np.einsum("nska,k->nsa", samples, ALONG) / (ALONG**2).sum()
    slope = -np.einsum("nsa,nsa->ns", tilted, bell) / np.maximum((bell**2).sum(axis=-1), 1e-9)
    change = np.stack([solved[..., 2], slope], axis=-1)
    blur_px = np.clip(blur_px + np.clip(solved[..., 3], -0.3, 0.3), 0.5, 4.0)
    model = (low[..., None] + rise[..., None] * step)[:, :, None]
    misfit = np.sqrt(((samples - model) ** 2).mean(axis=(2, 3))) / np.maximum(rise, LEAST_RISE)
    return change, blur_px, rise > LEAST_RISE, misfit


def _level_and_rise(step: FloatArray, profile: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The straight line profile = level + rise x step, side by side."""
    from_mean = step - step.mean(axis=-1, keepdims=True)
    rise = (from_mean * profile).sum(axis=-1) / (from_mean**2).sum(axis=-1)
    return profile.mean(axis=-1) - rise * step.mean(axis=-1), rise


def _crossings(starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Where each side meets the one before it (n, 4, 2): the corner at its start."""
    along = ends - starts
    before, before_along = np.roll(starts, 1, axis=1), np.roll(along, 1, axis=1)
    gap = starts - before
    area = before_along[..., 0] * along[..., 1] - before_along[..., 1] * along[..., 0]
    share = (gap[..., 0] * along[..., 1] - gap[..., 1] * along[..., 0]) / area
    return before + share[..., None] * before_along
