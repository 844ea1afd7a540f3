"""Stretches in which nothing turns: where neutral can be taken from, and what a start is told from."""

from collections.abc import Sequence

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.segment_motion import BoolArray, FloatArray
from onthree.kinematics.stretch_choices import stretch_choices

Stretch = tuple[float, float]


def still_stretches_s(time_s: FloatArray, is_seen: BoolArray, rotations: Sequence[Rotation]) -> tuple[Stretch, ...]:
    """Stretches (start, end) [s] of n moments in which each of the rotations (n) stays near one pose, and all are seen.

    Each goes on from its first moment until one rotation has left its pose there, or is lost.
    """
    found, choices = [], stretch_choices()
    seen = np.flatnonzero(is_seen)
    place = 0
    while place < len(seen):
        count = _still_count(rotations, seen[place:])
        start_s = float(time_s[seen[place]])
        is_to_the_end = place + count == len(seen)
        end_s = float(time_s[seen[place + count - 1]]) - (0.0 if is_to_the_end else choices.still_left_off_s)
        is_long = end_s - start_s >= choices.still_least_s
        if is_long:
            found.append((start_s, end_s))
        place += count if is_long else max(1, count // 4)
    return tuple(found)


def still_before_s(stretches_s: Sequence[Stretch], start_s: float) -> Stretch | None:
    """The last still stretch that had begun when a phase did and ends not long before that or later; None if none.

    One that lasts beyond the end of the phase says that nothing moves in it.
    """
    least_s, near_s = stretch_choices().still_least_s, stretch_choices().still_near_s
    near = [one for one in stretches_s if one[0] < start_s + least_s and start_s - near_s <= one[1]]
    return near[-1] if near else None


def is_still(stretch_s: Stretch, time_s: FloatArray, is_seen: BoolArray, rotations: Sequence[Rotation]) -> bool:
    """Whether each of the rotations stays near one pose in a stretch, as far as it is seen there."""
    inside = is_seen & (time_s >= stretch_s[0]) & (time_s <= stretch_s[1])
    turned = [(rotation[inside].mean().inv() * rotation[inside]).magnitude() for rotation in rotations if inside.any()]
    return bool(turned) and np.degrees(np.max(turned)) <= stretch_choices().still_most_turned_deg


def stretch_said(stretch_s: Stretch) -> str:
    """A stretch of time in words."""
    return f"{stretch_s[0]:.2f} to {stretch_s[1]:.2f} s"


def _still_count(rotations: Sequence[Rotation], seen: np.ndarray[tuple[int], np.dtype[np.intp]]) -> int:
    """How many of the seen moments, from the first on, follow each other near one pose of each rotation."""
    count = int(np.argmin(np.append(np.diff(seen) == 1, False))) + 1
    for rotation in rotations:
        here = rotation[seen[:count]]
        is_near = (
            np.degrees((here[: min(3, count)].mean().inv() * here).magnitude())
            <= stretch_choices().still_most_turned_deg
        )
        count = count if is_near.all() else max(1, int(np.argmin(is_near)))
    return count
