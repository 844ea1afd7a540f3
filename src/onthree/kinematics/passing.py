"""When a segment first had turned, or shifted, by some size from its rest, and how sure that is.

It is the first passing, in whichever direction, of the motion itself: what measuring adds, and breath and trembling,
count as noise. Other than the moment of a start it does not depend on how the motion grows.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import BoolArray, FloatArray
from onthree.kinematics.start_noise import RestNoise

_WITHIN_SDS = float(norm.ppf(0.975))
_APART_S = 0.005
"""Moments at which displacements are smoothed."""
_LEAST_NEAR, _LEAST_STEPS = 4, 2.5
"""Moments that a parabola is laid through at least, and the steps between moments on either side that give them."""


@dataclass(frozen=True)
class LagBand:
    """A lag of the head after the body [s] with its 95 % band; NaN: unknown."""

    lag_s: float = np.nan
    low_s: float = np.nan
    high_s: float = np.nan


@dataclass(frozen=True)
class Passing:
    """When a segment first passed a size, and the ends of the 95 % band [s]; NaN: unknown."""

    at_s: float = np.nan
    low_s: float = np.nan
    high_s: float = np.nan


NO_LAG, NOT_PASSED = LagBand(), Passing()


@dataclass(frozen=True, eq=False)
class Way:
    """Displacements (n, 3) [rad or m] of a segment at moments (n) [s]; which are its rest, and the noise of that."""

    time_s: FloatArray
    displacement: FloatArray
    is_still: BoolArray
    noise: RestNoise


def lag_between(head: Passing, body: Passing, between_clocks_sd_s: float) -> LagBand:
    """The head's passing less the body's, with its 95 % band."""
    lag_s = head.at_s - body.at_s
    clocks_s = _WITHIN_SDS * between_clocks_sd_s
    low_s = lag_s - np.linalg.norm([head.at_s - head.low_s, body.high_s - body.at_s, clocks_s])
    high_s = lag_s + np.linalg.norm([head.high_s - head.at_s, body.at_s - body.low_s, clocks_s])
    return LagBand(lag_s, float(low_s), float(high_s))


def pace(first: LagBand, later: LagBand) -> str:
    """Whether the lag grows or shrinks from one size to a later one by more than the bands allow; empty: not told."""
    apart_s = later.lag_s - first.lag_s
    near_s = (first.high_s - first.lag_s, later.lag_s - later.low_s)
    if apart_s < 0:
        near_s = (first.lag_s - first.low_s, later.high_s - later.lag_s)
    if not abs(apart_s) > np.hypot(*near_s):
        return ""
    return f"the head went on more {'slowly' if apart_s > 0 else 'quickly'} than the body"


def first_passing(way: Way, seen_at_s: float, size_rad_or_m: float) -> Passing:
    """When displacements from rest first were as large as asked, near where a start was seen.

    The ends of the band are where they were as large less, and more, what noise may add: that of the parabola there and
    of the level of rest, however alike the two are. Unknown where that is nearly as large as the size, where that size
    is not passed within the time in which a start goes on, and where the passing lies in a gap.
    """
    time_s, chosen = way.time_s, choices()
    step_s = float(np.median(np.diff(time_s)))
    near_s = max(chosen.passing_within_s, _LEAST_STEPS * step_s)
    from_s = max(float(time_s[0]), seen_at_s - chosen.start_searched_s)
    at_s = np.arange(from_s, min(float(time_s[-1]), seen_at_s + chosen.start_goes_on_s), _APART_S)
    is_used = time_s >= from_s - near_s
    weights = _parabola_weights(time_s[is_used], at_s, near_s)
    level = weights @ way.displacement[is_used]
    sizes = np.linalg.norm(level, axis=1)
    passed = int(np.argmax(sizes >= size_rad_or_m)) if len(sizes) else 0
    if not len(sizes) or not sizes[passed] >= size_rad_or_m:
        return NOT_PASSED
    from_rest = np.where(way.is_still, -1 / way.is_still.sum(), 0.0)
    from_rest[is_used] += weights[passed]
    may_add = _WITHIN_SDS * way.noise.sd_rad_or_m(level[passed], time_s, from_rest)
    if may_add > chosen.passing_noise_ratio * size_rad_or_m:
        return NOT_PASSED
    passed_s, low_s, high_s = (_crossing_s(at_s, sizes, size_rad_or_m + added) for added in (0.0, -may_add, may_add))
    around_s = time_s[(time_s >= from_s - near_s) & (time_s <= high_s + near_s)]
    if not np.isfinite(high_s) or (np.diff(around_s) > chosen.longest_step_s).any():
        return NOT_PASSED
    between_s = chosen.passing_between_ratio * step_s
    return Passing(
        passed_s,
        passed_s - float(np.hypot(passed_s - low_s, between_s)),
        passed_s + float(np.hypot(high_s - passed_s, between_s)),
    )


def _parabola_weights(time_s: FloatArray, at_s: FloatArray, near_s: float) -> FloatArray:
    """Weights (m, n) of moments (n) in the value at each of ``at_s`` (m) of a parabola laid through those near.

    The nearer the more (Epanechnikov's weights); NaN where too few are near.
    """
    apart = (time_s - at_s[:, None]) / near_s
    nearness = np.clip(1 - apart**2, 0.0, None)
    terms = np.stack([np.ones_like(apart), apart, apart**2], axis=-1)
    sums = np.einsum("mn,mni,mnj->mij", nearness, terms, terms)
    is_few = (nearness > 0).sum(axis=1) < _LEAST_NEAR
    sums[is_few] = np.eye(3)
    weights: FloatArray = nearness * np.einsum("mi,mni->mn", np.linalg.inv(sums)[:, 0], terms)
    weights[is_few] = np.nan
    return weights


def _crossing_s(at_s: FloatArray, sizes: FloatArray, size_rad_or_m: float) -> float:
    """When sizes first reach a size, between two moments in proportion; NaN where never."""
    after = int(np.argmax(sizes >= size_rad_or_m))
    if not sizes[after] >= size_rad_or_m:
        return np.nan
    if after == 0:
        return float(at_s[0])
    share = (size_rad_or_m - sizes[after - 1]) / (sizes[after] - sizes[after - 1])
    return float(at_s[after - 1] + share * (at_s[after] - at_s[after - 1]))
