"""When a segment first had turned by one degree from its rest, or shifted by one centimetre, and how sure that is.

Other than the moment of a start it does not depend on how the motion grows. It is the first passing, in whichever
direction, of the motion itself: what measuring adds, and breath and trembling, count as noise.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import FloatArray
from onthree.kinematics.start_noise import RestNoise

_WITHIN_SDS = float(norm.ppf(0.975))
_SEARCHED_S = 0.5
"""A first passing is looked for from this long before the start is seen: what is noisy is seen late."""
_LEAST_NEAR = 4
"""Moments that a parabola is laid through."""
_MOST_NOISE_RATIO = 0.8
"""Noise that may add so much of the first degree leaves its passing unknown."""
_LASTING_RATIO = 3.0
"""Variance of unrest at the passing, in that of the rest: that of the level of rest comes on top, and a short rest
shows too little; set so that the band holds in invented starts."""
_BETWEEN_RATIO = 0.1
"""A passing is known no better than this share of the step between moments."""


@dataclass(frozen=True)
class LagBand:
    """A lag of the head after the body [s] with its 95 % band; NaN: unknown."""

    lag_s: float = np.nan
    low_s: float = np.nan
    high_s: float = np.nan

    @property
    def said(self) -> str:
        """The lag and its band."""
        return f"{1000 * self.lag_s:.0f} ms (95 % band {1000 * self.low_s:.0f} to {1000 * self.high_s:.0f} ms"


NOT_PASSED = LagBand()


@dataclass(frozen=True)
class Passing:
    """When a segment first passed its first degree or centimetre, and the ends of the 95 % band [s]; NaN: unknown."""

    at_s: float = np.nan
    low_s: float = np.nan
    high_s: float = np.nan


def lag_between(head: Passing, body: Passing, between_clocks_sd_s: float) -> LagBand:
    """The head's first passing less the body's, with its 95 % band."""
    lag_s = head.at_s - body.at_s
    clocks_s = _WITHIN_SDS * between_clocks_sd_s
    low_s = lag_s - np.linalg.norm([head.at_s - head.low_s, body.high_s - body.at_s, clocks_s])
    high_s = lag_s + np.linalg.norm([head.high_s - head.at_s, body.at_s - body.low_s, clocks_s])
    return LagBand(lag_s, float(low_s), float(high_s))


def first_passing(
    time_s: FloatArray, displacement: FloatArray, noise: RestNoise, seen_at_s: float, first_rad_or_m: float
) -> Passing:
    """When displacements (n, 3) [rad or m] from rest first were as large as asked, near where a start was seen.

    The ends of the band are where they were as large less, and more, what noise may add. Unknown where that is nearly
    as large as ``first_rad_or_m``, and where the passing lies in a gap.
    """
    searched = np.flatnonzero(time_s >= seen_at_s - _SEARCHED_S)
    level, near_count = _smoothed(time_s, displacement, searched, 2 * first_rad_or_m)
    sizes = np.linalg.norm(level, axis=1)
    passed = int(np.argmax(sizes >= first_rad_or_m))
    if not sizes[passed] >= first_rad_or_m:
        return Passing()
    unit = float(np.linalg.norm(noise.root.T @ level[passed]) / sizes[passed])
    independent = 9 / 4 * noise.independent_ratio / near_count[passed]
    may_add = _WITHIN_SDS * unit * float(np.sqrt(independent + _LASTING_RATIO * noise.lasting.sum()))
    if may_add > _MOST_NOISE_RATIO * first_rad_or_m:
        return Passing()
    at_s, low_s, high_s = (
        _crossing_s(time_s[searched], sizes, first_rad_or_m + added) for added in (0.0, -may_add, may_add)
    )
    between_s = _BETWEEN_RATIO * float(np.median(np.diff(time_s)))
    found = Passing(
        at_s, at_s - float(np.hypot(at_s - low_s, between_s)), at_s + float(np.hypot(high_s - at_s, between_s))
    )
    return found if np.isfinite([at_s, low_s, high_s]).all() else Passing()


def _smoothed(
    time_s: FloatArray, displacement: FloatArray, places: NDArray[np.intp], most_rad_or_m: float
) -> tuple[FloatArray, FloatArray]:
    """Displacements (m, 3) at some moments by a parabola through those near, and how many; NaN where too few are.

    NaN also after the first that is larger than ``most_rad_or_m``.
    """
    level, count = np.full((len(places), 3), np.nan), np.zeros(len(places))
    for row, place in enumerate(places):
        near = np.abs(time_s - time_s[place]) <= choices().first_turn_within_s
        count[row] = near.sum()
        if count[row] >= _LEAST_NEAR:
            level[row] = np.polyfit(time_s[near] - time_s[place], displacement[near], 2)[-1]
            if np.linalg.norm(level[row]) > most_rad_or_m:
                break
    return level, count


def _crossing_s(time_s: FloatArray, sizes: FloatArray, size_rad_or_m: float) -> float:
    """When sizes first reach a size, between two moments in proportion; NaN where never, or in a gap."""
    after = int(np.argmax(sizes >= size_rad_or_m))
    if not sizes[after] >= size_rad_or_m:
        return np.nan
    if after == 0:
        return float(time_s[0])
    step_s = time_s[after] - time_s[after - 1]
    if np.isnan(sizes[: after + 1]).any() or (np.diff(time_s[: after + 1]) > choices().longest_step_s).any():
        return np.nan
    share = (size_rad_or_m - sizes[after - 1]) / (sizes[after] - sizes[after - 1])
    return float(time_s[after - 1] + share * step_s)
