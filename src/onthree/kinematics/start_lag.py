"""When head and body start to move, how far apart, and how sure that is.

A start is a change point: still until then, and after it a displacement that grows as a power of the time since. A
smooth start at constant jerk grows as the cube (Botzer and Karniel 2009); the power is not known, so every one from 2
to 4 counts by how well it fits, under the noise of the still stretch and its correlation from one moment to the next.
The moment of one start is therefore vague, and stands without a band; the lag between two that start in nearly the same
manner is known much better.

**Sign: a positive lag means that the body moved first and the head after it.**
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.stats import norm

from onthree.kinematics.angles import mean_rotation
from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import BoolArray, FloatArray, SegmentMotion

_TAILS = (0.025, 0.5, 0.975)
_POWERS = 17
_COARSE, _FINE = 200, 240
_MOST_CORRELATED_RATIO = 0.95
_UNLIKELY = 12.0
"""Moments whose log likelihood is this far below the best are left out of the finer search."""

By = Literal["rotation", "position"]


@dataclass(frozen=True)
class Onset:
    """About when a segment started, and when that was first seen [s]; NaN: no start found."""

    at_s: float
    seen_at_s: float


@dataclass(frozen=True)
class StartLag:
    """By how much the head started after the body [s], with its 95 % band; positive: the body first. NaN: unknown."""

    lag_s: float
    low_s: float
    high_s: float
    head: Onset
    body: Onset

    @property
    def said(self) -> str:
        """The lag as a sentence, which of the two moved first only if the band tells."""
        if np.isnan(self.lag_s):
            return "start lag unknown: no start found after the still stretch, or the start was not seen"
        band = f"95 % band {1000 * self.low_s:.0f} to {1000 * self.high_s:.0f} ms; positive: the body first"
        first = "the body first" if self.low_s > 0 else "the head first" if self.high_s < 0 else "not told apart"
        return f"head after body {1000 * self.lag_s:.0f} ms ({band}): {first}"


@dataclass(frozen=True, eq=False)
class _Starts:
    """Log likelihoods (moments, powers) of the start at each moment (moments), growing as each power."""

    moments_s: FloatArray
    log_likelihood: FloatArray
    seen_at_s: float


def start_lag(
    motion: SegmentMotion,
    still_s: tuple[float, float],
    until_s: float,
    between_clocks_sd_s: float,
    head: str = "head",
    body: str = "trunk",
    by: By = "rotation",
) -> StartLag:
    """How much later the head starts than the body, between the end of a still stretch and ``until_s``.

    Both are taken to start in nearly the same manner, as nearly the same power of time. ``between_clocks_sd_s`` is how
    well the clocks of the two segments agree, 0 for segments seen in one film. In the camera's frame a camera that
    starts to move looks like a start of both. Raises ValueError where a segment is not seen in the still stretch, or
    has no position.
    """
    starts = [_starts(motion, segment, still_s, until_s, by) for segment in (head, body)]
    unknown = Onset(np.nan, np.nan)
    onsets = [_onset(each) if each else unknown for each in starts]
    if starts[0] is None or starts[1] is None:
        return StartLag(np.nan, np.nan, np.nan, *onsets)
    low_s, lag_s, high_s = _lag_s(starts[0], starts[1])
    clocks_s = float(norm.ppf(_TAILS[2])) * between_clocks_sd_s
    low_s = lag_s - float(np.hypot(lag_s - low_s, clocks_s))
    high_s = lag_s + float(np.hypot(high_s - lag_s, clocks_s))
    return StartLag(lag_s, low_s, high_s, *onsets)


def onset(
    motion: SegmentMotion, segment: str, still_s: tuple[float, float], until_s: float, by: By = "rotation"
) -> Onset:
    """When one segment starts to turn, or to shift, after a still stretch."""
    starts = _starts(motion, segment, still_s, until_s, by)
    return _onset(starts) if starts else Onset(np.nan, np.nan)


def _starts(
    motion: SegmentMotion, segment: str, still_s: tuple[float, float], until_s: float, by: By
) -> _Starts | None:
    used = motion.is_seen(segment) & (motion.time_s >= still_s[0]) & (motion.time_s <= until_s)
    time_s = motion.time_s[used]
    is_still = time_s <= still_s[1]
    if is_still.sum() < 2 * 3 + 1:
        raise ValueError(f"{segment} is seen at {is_still.sum()} moments of the still stretch, at least 7 expected")
    noise_units = in_noise_units(_displacement(motion, segment, used, is_still, by), is_still)
    correlation = lag_one_ratio(noise_units[is_still])
    span = _span(time_s, np.linalg.norm(noise_units, axis=1), is_still)
    if span is None:
        return None
    seen, end = span
    time_s, noise_units, seen_at_s = time_s[:end], noise_units[:end], float(time_s[seen])
    steps = np.diff(time_s) / np.median(np.diff(time_s[: is_still.sum()]))
    whitened = _Whitened(time_s, noise_units, correlation**steps)
    first_s = max(float(time_s[0]), seen_at_s - choices().start_searched_s)
    coarse_s = np.linspace(first_s, seen_at_s, _COARSE)
    best = whitened.log_likelihood(coarse_s).max(axis=1)
    likely_s = coarse_s[best >= best.max() - _UNLIKELY]
    step_s = coarse_s[1] - coarse_s[0]
    fine_s = np.linspace(max(first_s, likely_s[0] - step_s), min(seen_at_s, likely_s[-1] + step_s), _FINE)
    return _Starts(fine_s, whitened.log_likelihood(fine_s), seen_at_s)


def _displacement(motion: SegmentMotion, segment: str, used: BoolArray, is_still: BoolArray, by: By) -> FloatArray:
    """Rotation vectors from the still pose [rad], or positions [m], (n, 3)."""
    if by == "rotation":
        rotation = motion.frame_from_segment[segment][used]
        vectors: FloatArray = (mean_rotation(rotation[is_still]).inv() * rotation).as_rotvec()
        return vectors
    if motion.position_m is None:
        raise ValueError("no positions given: ask for the start by rotation")
    positions: FloatArray = motion.position_m[used, motion.column(segment)]
    return positions


def in_noise_units(displacement: FloatArray, is_still: BoolArray) -> FloatArray:
    """Displacement from the still mean (n, 3), in units of the still noise and along axes where it is alike."""
    still = displacement[is_still]
    floor = np.finfo(float).eps * max(1.0, float(np.abs(displacement).max() ** 2)) * np.eye(3)
    root = np.linalg.cholesky(np.cov(still, rowvar=False) + floor)
    units: FloatArray = np.linalg.solve(root, (displacement - still.mean(axis=0)).T).T
    return units


def lag_one_ratio(noise: FloatArray) -> float:
    """The correlation of noise (n, d) in units of itself from one moment to the next, 0 to 0.95.

    What n moments of d axes show is too low, by (1 + (2 + d) correlation) / n for noise that is alike along each
    (Nicholls and Pope 1988); that is put right.
    """
    count, axes = noise.shape
    found = float((noise[1:] * noise[:-1]).sum() / (noise**2).sum()) * count / (count - 1)
    unbiased = (found + 1 / count) / (1 - (2 + axes) / count)
    return float(np.clip(unbiased, 0.0, _MOST_CORRELATED_RATIO))


def _span(time_s: FloatArray, size: FloatArray, is_still: BoolArray) -> tuple[int, int] | None:
    """Where a start is first seen to last, and one past the last moment to fit; None where there is none, or a gap."""
    chosen = choices()
    is_far = size > chosen.start_seen_ratio
    for seen in np.flatnonzero(is_far & ~is_still):
        lasting = (time_s >= time_s[seen]) & (time_s <= time_s[seen] + chosen.start_lasts_s)
        if is_far[lasting].all() and lasting.sum() > 1:
            break
    else:
        return None
    fitted = min(chosen.start_fitted_ratio, chosen.start_fitted_share_ratio * size.max())
    end = int(seen) + int(np.argmax(size[seen:] >= fitted)) + 1
    searched = (time_s >= time_s[seen] - chosen.start_searched_s) & (time_s <= time_s[end - 1])
    is_lost = (np.diff(time_s[searched]) > chosen.longest_step_s).any()
    return None if is_lost else (int(seen), end)


class _Whitened:
    """A displacement whose noise was made independent from moment to moment, its still mean left free."""

    def __init__(self, time_s: FloatArray, noise_units: FloatArray, correlation: FloatArray) -> None:
        self.time_s, self.correlation = time_s, correlation
        level = self._white(np.ones((len(time_s), 1)))[:, 0]
        self.level = level / np.linalg.norm(level)
        self.displacement = self._levelled(self._white(noise_units))

    def log_likelihood(self, moments_s: FloatArray) -> FloatArray:
        """Log likelihood (moments, powers), with size and direction of the motion and the noise's size fitted."""
        since_s = np.clip(self.time_s[:, None] - moments_s, 0.0, None)
        shapes = np.stack([since_s**power for power in _powers()], axis=-1).reshape(len(self.time_s), -1)
        shapes = self._levelled(self._white(shapes))
        lengths = (shapes**2).sum(axis=0)
        along = ((shapes.T @ self.displacement) ** 2).sum(axis=1)
        explained = np.divide(along, lengths, out=np.zeros_like(along), where=lengths > 0)
        left = (self.displacement**2).sum() - explained
        freedom = self.displacement.size - 2 * 3 - 2
        likelihood: FloatArray = -freedom / 2 * np.log(np.maximum(left, np.finfo(float).tiny))
        return likelihood.reshape(len(moments_s), _POWERS)

    def _white(self, series: FloatArray) -> FloatArray:
        share = self.correlation[:, None]
        return np.concatenate([series[:1], (series[1:] - share * series[:-1]) / np.sqrt(1 - share**2)])

    def _levelled(self, series: FloatArray) -> FloatArray:
        levelled: FloatArray = series - np.multiply.outer(self.level, self.level @ series)
        return levelled


def _powers() -> FloatArray:
    return np.linspace(choices().start_power_least_ratio, choices().start_power_most_ratio, _POWERS)


def _onset(starts: _Starts) -> Onset:
    weights = np.exp(starts.log_likelihood - starts.log_likelihood.max()).sum(axis=1)
    return Onset(_quantiles_s(starts.moments_s, weights)[1], starts.seen_at_s)


def _lag_s(head: _Starts, body: _Starts) -> tuple[float, float, float]:
    """Low end, middle and high end of the lag, both growing as nearly the same power, whichever it is."""
    of_head = np.exp(head.log_likelihood - head.log_likelihood.max())
    of_body = np.exp(body.log_likelihood - body.log_likelihood.max())
    powers = _powers()
    alike = norm.pdf(powers[:, None] - powers, scale=choices().start_powers_apart_ratio)
    weights = of_head @ alike @ of_body.T
    lags_s = head.moments_s[:, None] - body.moments_s
    return _quantiles_s(lags_s.ravel(), weights.ravel())


def _quantiles_s(moments_s: FloatArray, weights: FloatArray) -> tuple[float, float, float]:
    order = np.argsort(moments_s)
    reached = np.cumsum(weights[order])
    low_s, middle_s, high_s = np.interp(_TAILS, (reached - weights[order] / 2) / reached[-1], moments_s[order])
    return float(low_s), float(middle_s), float(high_s)
