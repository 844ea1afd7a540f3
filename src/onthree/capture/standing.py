"""Frames in which a segment stands still before the camera: they repeat each other's errors and tell little more.

What a corner is off by depends on where it falls on the pixels and on how the film was compressed. Where nothing moves,
part of it stays for as long as nothing does; a mean over many such frames is no better than that part.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from onthree.capture.poses import Views
from onthree.sources import table_as

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

LEAST_S, MOST_STRETCHES = 0.5, 8
"""Stretches that are shorter, or more than the longest so many of a segment, count as noise of the usual kind."""


@dataclass(frozen=True)
class CornerErrors:
    """The rows of ``corner_errors`` by name and unit."""

    same_place_px: float
    staying_ratio: float
    staying_with_tag_ratio: float


@cache
def corner_errors() -> CornerErrors:
    """How errors of corners go along with each other, of this version."""
    return table_as(CornerErrors, "corner_errors")


def stretches(views: Views, count: int) -> IntArray:
    """The stretch (count) to which each body belongs: neighbours whose tags stay in one place; -1 without a view."""
    found = np.full(count, -1, dtype=np.int64)
    centre_px = views.corners_px.mean(axis=1)
    bodies, first = np.unique(views.body, return_index=True)
    number, start_px = -1, dict[int, FloatArray]()
    for body, begin, end in zip(bodies, first, np.append(first, len(views))[1:], strict=True):
        here = dict(zip(views.tag[begin:end].tolist(), centre_px[begin:end], strict=True))
        moved_px = [np.hypot(*(place - start_px[tag])) for tag, place in here.items() if tag in start_px]
        if not moved_px or np.mean(moved_px) > corner_errors().same_place_px:
            number, start_px = number + 1, {}
        start_px = here | start_px
        found[body] = number
    return found


def body_weights(stretch: IntArray) -> FloatArray:
    """How much each body (b) tells besides those of its stretch: n of them are worth n / (1 + (n - 1) x what stays)."""
    size = np.bincount(stretch[stretch >= 0], minlength=1)[np.maximum(stretch, 0)]
    weights: FloatArray = 1 / (1 + (size - 1) * corner_errors().staying_ratio)
    return weights


def long_stretches(stretch: IntArray, time_s: FloatArray, is_known: BoolArray) -> IntArray:
    """The longest stretches (n) that last long enough to be told apart, numbered from 0; -1 elsewhere."""
    length_s = {
        int(number): float(np.ptp(time_s[(stretch == number) & is_known]))
        for number in np.unique(stretch[(stretch >= 0) & is_known])
    }
    longest = sorted(
        (number for number, long_s in length_s.items() if long_s >= LEAST_S), key=lambda one: -length_s[one]
    )
    found = np.full(len(stretch), -1, dtype=np.int64)
    for place, number in enumerate(longest[:MOST_STRETCHES]):
        found[(stretch == number) & is_known] = place
    return found


def without_staying(residual: FloatArray, views: Views, stretch: IntArray) -> FloatArray:
    """Residuals (n, 8) less the mean of each tag in each long stretch."""
    rest, place = residual.copy(), stretch[views.body]
    for number in range(place.max(initial=-1) + 1):
        for tag in np.unique(views.tag[place == number]):
            rows = (place == number) & (views.tag == tag)
            rest[rows] -= residual[rows].mean(axis=0)
    return rest


def staying_errors(noise: FloatArray, stretch: IntArray) -> tuple[FloatArray, FloatArray]:
    """What of the noise (n, 6, 6) stays in each long stretch, as errors (k, n, 6), and the rest of the noise."""
    rest, errors = noise.copy(), []
    for number in range(stretch.max(initial=-1) + 1):
        inside = stretch == number
        values, axes = np.linalg.eigh(corner_errors().staying_ratio * noise[inside].mean(axis=0))
        rest[inside] *= 1 - corner_errors().staying_ratio
        for size, axis in zip(values, axes.T, strict=True):
            errors.append(np.where(inside[:, None], np.sqrt(max(size, 0.0)) * axis, 0.0))
    return np.array(errors).reshape(-1, len(noise), 6), rest
