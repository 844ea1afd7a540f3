"""Stretches in which nothing turns: where neutral can be taken from, and what a start is told from."""

from collections.abc import Sequence

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.segment_motion import BoolArray, FloatArray

MOST_TURNED_DEG = 0.5
"""Own choice: what stays this near to one pose is still; hands that hold a head sway by about as much."""
LEAST_STILL_S = 0.3
"""Own choice: a shorter stop is none."""
BEFORE_A_START_S = 0.1
"""Own choice: left off before a motion, whose slow beginning still looks like rest."""
NEAR_S = 1.0
"""Own choice: a still stretch that ends longer than this before a phase says nothing about its start."""

Stretch = tuple[float, float]


def still_stretches_s(time_s: FloatArray, is_seen: BoolArray, rotations: Sequence[Rotation]) -> tuple[Stretch, ...]:
    """Stretches (start, end) [s] of n moments in which each of the rotations (n) stays near one pose, and all are seen.

    Each goes on from its first moment until one rotation has left its pose there, or is lost.
    """
    found = []
    seen = np.flatnonzero(is_seen)
    place = 0
    while place < len(seen):
        count = _still_count(rotations, seen[place:])
        start_s = float(time_s[seen[place]])
        is_to_the_end = place + count == len(seen)
        end_s = float(time_s[seen[place + count - 1]]) - (0.0 if is_to_the_end else BEFORE_A_START_S)
        is_long = end_s - start_s >= LEAST_STILL_S
        if is_long:
            found.append((start_s, end_s))
        place += count if is_long else max(1, count // 4)
    return tuple(found)


def still_before_s(stretches_s: Sequence[Stretch], start_s: float) -> Stretch | None:
    """The last still stretch that had begun when a phase did and ends a second before that or later; None if none.

    One that lasts beyond the end of the phase says that nothing moves in it.
    """
    near = [one for one in stretches_s if one[0] < start_s + LEAST_STILL_S and start_s - NEAR_S <= one[1]]
    return near[-1] if near else None


def is_still(stretch_s: Stretch, time_s: FloatArray, is_seen: BoolArray, rotations: Sequence[Rotation]) -> bool:
    """Whether each of the rotations stays near one pose in a stretch, as far as it is seen there."""
    inside = is_seen & (time_s >= stretch_s[0]) & (time_s <= stretch_s[1])
    turned = [(rotation[inside].mean().inv() * rotation[inside]).magnitude() for rotation in rotations if inside.any()]
    return bool(turned) and np.degrees(np.max(turned)) <= MOST_TURNED_DEG


def stretch_said(stretch_s: Stretch) -> str:
    """A stretch of time in words."""
    return f"{stretch_s[0]:.2f} to {stretch_s[1]:.2f} s"


def _still_count(rotations: Sequence[Rotation], seen: np.ndarray[tuple[int], np.dtype[np.intp]]) -> int:
    """How many of the seen moments, from the first on, follow each other near one pose of each rotation."""
    count = int(np.argmin(np.append(np.diff(seen) == 1, False))) + 1
    for rotation in rotations:
        here = rotation[seen[:count]]
        is_near = np.degrees((here[: min(3, count)].mean().inv() * here).magnitude()) <= MOST_TURNED_DEG
        count = count if is_near.all() else max(1, int(np.argmin(is_near)))
    return count
