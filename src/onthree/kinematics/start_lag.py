"""When head and body start to move, how far apart, and how sure that is.

A start is a change point: still until then, and after it a displacement that grows in some smooth way. How is not
known: as any power of the time since from 1.5 to 4.5 (a smooth start at constant jerk grows as the cube, Botzer and
Karniel 2009), or as an exponential, each counts by how well it fits, and none is held to be exact. Noise is that of the
rest (``start_noise``). Head and body may start alike, or each in its own way; both are allowed for.

The moment of a start depends on how the motion grows. When a segment has turned by its first degree does not; the lag
between the two at that, ``at_first_turn``, stands beside.

**Sign: a positive lag means that the body moved first and the head after it.**
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.linalg import solve_triangular
from scipy.stats import norm

from onthree.kinematics.angles import mean_rotation
from onthree.kinematics.choices import choices
from onthree.kinematics.first_turn import NOT_PASSED, LagBand, Passing, first_passing, lag_between
from onthree.kinematics.segment_motion import BoolArray, FloatArray, SegmentMotion
from onthree.kinematics.start_noise import MeasuringNoise, RestNoise, rest_noise

_TAILS = (0.025, 0.5, 0.975)
_POWERS, _RATES_HZ = 13, np.geomspace(2.0, 20.0, 6)
_COARSE, _FINE = 100, 160
_UNLIKELY = 12.0
"""Moments whose log likelihood is this far below the best are left out of the finer search."""
_SMOOTHED_S, _FALLEN_RATIO, _LEAST_FITTED = 0.08, 0.03, 3
"""Sizes are smoothed over so long to see a turning point: a fall by this share; moments fitted after it is seen."""
_LEAST_REST = 7

By = Literal["rotation", "position"]


@dataclass(frozen=True)
class Onset:
    """About when a segment started, and when that was first seen [s]; NaN: no start found."""

    at_s: float
    seen_at_s: float


@dataclass(frozen=True)
class StartLag:
    """By how much the head started after the body [s], with its 95 % band; positive: the body first. NaN: unknown.

    ``at_first_turn`` is the head's first passing of one degree of turn, or one centimetre of shift, from its rest, less
    the body's. ``is_turned_back``: one of them began the other way than it went on; the band then reaches to
    ``at_first_turn`` and as far to the other side, and who was first is not told.
    """

    lag_s: float
    low_s: float
    high_s: float
    head: Onset
    body: Onset
    at_first_turn: LagBand = NOT_PASSED
    is_turned_back: bool = False

    @property
    def said(self) -> str:
        """The lag as a sentence, which of the two moved first only if the band tells."""
        if np.isnan(self.lag_s):
            return "start lag unknown: no start found after the still stretch, or the start was not seen"
        first = "the body first" if self.low_s > 0 else "the head first" if self.high_s < 0 else "not told apart"
        first = "not told apart" if self.is_turned_back else first
        found = f"head after body {LagBand(self.lag_s, self.low_s, self.high_s).said}; positive: the body first)"
        turned = self.at_first_turn
        beside = "" if np.isnan(turned.lag_s) else f", by the first degree or centimetre {turned.said})"
        return f"{found}{beside}{self._otherwise}: {first}"

    @property
    def _otherwise(self) -> str:
        """That head and body did not start alike, or nothing."""
        if self.is_turned_back:
            return ", one of them began the other way than it went on"
        return ", the head did not start the way the body did" if self.is_otherwise else ""

    @property
    def is_otherwise(self) -> bool:
        """Whether the lag and that at the first turn differ by more than their bands allow."""
        turned, apart_s = self.at_first_turn, self.at_first_turn.lag_s - self.lag_s
        near_s = (self.high_s - self.lag_s, turned.lag_s - turned.low_s)
        if apart_s < 0:
            near_s = (self.lag_s - self.low_s, turned.high_s - turned.lag_s)
        return bool(abs(apart_s) > np.hypot(*near_s))


@dataclass(frozen=True, eq=False)
class _Starts:
    """Log likelihoods (moments, ways) of the start at each moment (moments), growing in each way; the first turn."""

    moments_s: FloatArray
    log_likelihood: FloatArray
    seen_at_s: float
    turned: Passing
    is_turned_back: bool


def start_lag(
    motion: SegmentMotion,
    still_s: tuple[float, float],
    until_s: float,
    between_clocks_sd_s: float,
    head: str = "head",
    body: str = "trunk",
    by: By = "rotation",
    noise_of: Mapping[str, MeasuringNoise] | None = None,
) -> StartLag:
    """How much later the head starts than the body, between the end of a still stretch and ``until_s``.

    ``noise_of`` is what measuring each segment is off by at the moments of the motion: the rest may show less.
    ``between_clocks_sd_s`` is how well the clocks of the two segments agree, 0 for segments seen in one film. In the
    camera's frame a camera that starts to move looks like a start of both. Raises ValueError where a segment is not
    seen in the still stretch, or has no position.
    """
    known = noise_of or {}
    starts = [_starts(motion, segment, still_s, until_s, by, known.get(segment)) for segment in (head, body)]
    unknown = Onset(np.nan, np.nan)
    onsets = [_onset(each) if each else unknown for each in starts]
    if starts[0] is None or starts[1] is None:
        return StartLag(np.nan, np.nan, np.nan, onsets[0], onsets[1])
    low_s, lag_s, high_s = _lag_s(starts[0], starts[1])
    clocks_s = float(norm.ppf(_TAILS[2])) * between_clocks_sd_s
    low_s = lag_s - float(np.hypot(lag_s - low_s, clocks_s))
    high_s = lag_s + float(np.hypot(high_s - lag_s, clocks_s))
    turned = lag_between(starts[0].turned, starts[1].turned, between_clocks_sd_s)
    is_turned_back = starts[0].is_turned_back or starts[1].is_turned_back
    if is_turned_back:
        apart_s = abs(turned.lag_s - lag_s)
        low_s = float(np.nanmin([low_s, turned.low_s, lag_s - apart_s]))
        high_s = float(np.nanmax([high_s, turned.high_s, lag_s + apart_s]))
    return StartLag(lag_s, low_s, high_s, onsets[0], onsets[1], turned, is_turned_back)


def onset(
    motion: SegmentMotion, segment: str, still_s: tuple[float, float], until_s: float, by: By = "rotation"
) -> Onset:
    """When one segment starts to turn, or to shift, after a still stretch."""
    starts = _starts(motion, segment, still_s, until_s, by, None)
    return _onset(starts) if starts else Onset(np.nan, np.nan)


def _starts(
    motion: SegmentMotion,
    segment: str,
    still_s: tuple[float, float],
    until_s: float,
    by: By,
    measuring: MeasuringNoise | None,
) -> _Starts | None:
    from_s = max(still_s[0], still_s[1] - choices().start_rest_s)
    used = motion.is_seen(segment) & (motion.time_s >= from_s) & (motion.time_s <= until_s)
    time_s = motion.time_s[used]
    is_still = time_s <= still_s[1]
    if is_still.sum() < _LEAST_REST:
        raise ValueError(
            f"{segment} is seen at {is_still.sum()} moments of the still stretch, at least {_LEAST_REST} expected"
        )
    displacement = _displacement(motion, segment, used, is_still, by)
    noise = rest_noise(
        time_s[is_still],
        displacement[is_still],
        None if measuring is None else measuring.covariance[used].mean(axis=0),
    )
    units = noise.in_units(displacement)
    sizes = _smoothed_sizes(time_s, units)
    span = _span(time_s, sizes, np.linalg.norm(displacement, axis=1), is_still, noise, by)
    if span is None:
        return None
    seen, end = span
    first_rad_or_m = np.radians(choices().first_turn_deg) if by == "rotation" else choices().first_shift_m
    turned = first_passing(time_s, displacement, noise, float(time_s[seen]), float(first_rad_or_m))
    moved = np.where(is_still, 0.0, np.maximum(sizes - 2 * noise.sd_ratio, 0.0))[:end]
    lasts_s = choices().start_apart_lasts_ratio * (time_s[end - 1] - time_s[seen])
    fit = _Fit(time_s[:end], units[:end], noise, moved, lasts_s)
    first_s = max(float(time_s[0]), float(time_s[seen]) - choices().start_searched_s)
    coarse_s = np.linspace(first_s, time_s[seen], _COARSE)
    best = fit.log_likelihood(coarse_s).max(axis=1)
    likely_s = coarse_s[best >= best.max() - _UNLIKELY]
    step_s = coarse_s[1] - coarse_s[0]
    fine_s = np.linspace(max(first_s, likely_s[0] - step_s), min(time_s[seen], likely_s[-1] + step_s), _FINE)
    return _Starts(
        fine_s, fit.log_likelihood(fine_s), float(time_s[seen]), turned, _is_turned_back(time_s, displacement, seen)
    )


def _displacement(motion: SegmentMotion, segment: str, used: BoolArray, is_still: BoolArray, by: By) -> FloatArray:
    """Rotation vectors from the still pose [rad], or shifts [m], (n, 3), in axes of the frame."""
    if by == "rotation":
        rotation = motion.frame_from_segment[segment][used]
        vectors: FloatArray = (rotation * mean_rotation(rotation[is_still]).inv()).as_rotvec()
    elif motion.position_m is None:
        raise ValueError("no positions given: ask for the start by rotation")
    else:
        vectors = motion.position_m[used, motion.column(segment)]
    apart: FloatArray = vectors - vectors[is_still].mean(axis=0)
    return apart


def _smoothed_sizes(time_s: FloatArray, units: FloatArray) -> FloatArray:
    """Sizes (n) of displacements (n, 3), smoothed over a few moments."""
    count = max(1, round(_SMOOTHED_S / float(np.median(np.diff(time_s)))))
    mean = np.stack([np.convolve(axis, np.ones(count) / count, mode="same") for axis in units.T], axis=1)
    sizes: FloatArray = np.linalg.norm(mean, axis=1)
    return sizes


def _span(
    time_s: FloatArray, sizes: FloatArray, moved: FloatArray, is_still: BoolArray, noise: RestNoise, by: By
) -> tuple[int, int] | None:
    """Where a start is first seen to last, and one past the last moment to fit; None where there is none, or a gap.

    A start goes on: what never comes as far as a start must within its time is unrest. Only what comes before the
    segment first turns back is fitted.
    """
    chosen = choices()
    least = np.radians(chosen.start_least_deg) if by == "rotation" else chosen.start_least_m
    is_far = (sizes > chosen.start_seen_ratio * noise.sd_ratio) & ~is_still
    for seen in np.flatnonzero(is_far):
        since_s = time_s - time_s[seen]
        lasting = (since_s >= 0) & (since_s <= chosen.start_lasts_s)
        goes_on = (since_s >= 0) & (since_s <= chosen.start_goes_on_s)
        if is_far[lasting].all() and lasting.sum() > 1 and moved[goes_on].max() > least:
            break
    else:
        return None
    after = sizes[seen:]
    highest = np.maximum.accumulate(after)
    falls = np.flatnonzero(after < highest - np.maximum(4 * noise.sd_ratio, _FALLEN_RATIO * highest))
    top = int(np.argmax(after[: falls[0] + 1] if len(falls) else after))
    limit = min(chosen.start_fitted_ratio, chosen.start_fitted_share_ratio * after[top])
    end = int(seen) + min(top, max(int(np.argmax(after[: top + 1] >= limit)), _LEAST_FITTED)) + 1
    searched = (time_s >= time_s[seen] - chosen.start_searched_s) & (time_s <= time_s[end - 1])
    is_lost = (np.diff(time_s[searched]) > chosen.longest_step_s).any()
    return None if is_lost else (int(seen), end)


def _is_turned_back(time_s: FloatArray, displacement: FloatArray, seen: int) -> bool:
    """Whether a start goes against where the motion gets to within the time in which a start goes on."""
    later = displacement[(time_s >= time_s[seen]) & (time_s <= time_s[seen] + choices().start_goes_on_s)]
    furthest = later[np.linalg.norm(later, axis=1).argmax()]
    return bool(later[:_LEAST_FITTED].mean(axis=0) @ furthest < 0)


class _Fit:
    """A displacement, its noise made independent from moment to moment, its still mean left free.

    What a way of growing leaves open counts as noise too: a share of how far the segment has moved, that lasts a while.
    """

    def __init__(
        self, time_s: FloatArray, units: FloatArray, noise: RestNoise, moved: FloatArray, lasts_s: float
    ) -> None:
        apart_s = time_s[:, None] - time_s
        lasts_s = max(lasts_s, 2 * float(np.median(np.diff(time_s))))
        apart = choices().start_apart_ratio * moved
        open_to = np.outer(apart, apart) * np.exp(-((apart_s / lasts_s) ** 2) / 2)
        rounding = 1e-6 * noise.sd_ratio**2 * np.eye(len(time_s))
        self.time_s = time_s
        self.lower = np.linalg.cholesky(noise.covariance(time_s) + open_to + rounding)
        level = self._white(np.ones((len(time_s), 1)))[:, 0]
        self.level = level / np.linalg.norm(level)
        self.displacement = self._levelled(self._white(units))

    def log_likelihood(self, moments_s: FloatArray) -> FloatArray:
        """Log likelihood (moments, ways), with size and direction of the motion fitted; noise no less than the rest's.

        Where no way fits within the noise, the noise is taken to be as large as what the best one leaves.
        """
        since_s = np.clip(self.time_s[:, None] - moments_s, 0.0, None)
        ways = [since_s**power for power in _powers()] + [np.expm1(rate * since_s) for rate in _RATES_HZ]
        shapes = np.stack(ways, axis=-1).reshape(len(self.time_s), -1)
        shapes = shapes / np.where(shapes[-1] > 0, shapes[-1], 1.0)
        shapes = self._levelled(self._white(shapes))
        lengths = (shapes**2).sum(axis=0)
        along = ((shapes.T @ self.displacement) ** 2).sum(axis=1)
        explained = np.divide(along, lengths, out=np.zeros_like(along), where=lengths > 0)
        left = (self.displacement**2).sum() - explained
        freedom = self.displacement.size - 2 * 3 - 2
        likelihood: FloatArray = -left / 2 / max(1.0, float(left.min()) / freedom)
        return likelihood.reshape(len(moments_s), -1)

    def _white(self, series: FloatArray) -> FloatArray:
        white: FloatArray = solve_triangular(self.lower, series, lower=True, check_finite=False)
        return white

    def _levelled(self, series: FloatArray) -> FloatArray:
        levelled: FloatArray = series - np.multiply.outer(self.level, self.level @ series)
        return levelled


def _powers() -> FloatArray:
    return np.linspace(choices().start_power_least_ratio, choices().start_power_most_ratio, _POWERS)


def _ways_together() -> FloatArray:
    """How often head and body grow in each pair of ways (ways, ways): alike, or each in its own way."""
    chosen, powers, count = choices(), _powers(), _POWERS + len(_RATES_HZ)
    share = chosen.start_exponential_ratio
    alike, apart = np.zeros((count, count)), np.zeros((count, count))
    near = norm.pdf(powers[:, None] - powers, scale=chosen.start_powers_apart_ratio)
    alike[:_POWERS, :_POWERS] = (1 - share) * near / near.sum()
    alike[_POWERS:, _POWERS:] = share * np.eye(len(_RATES_HZ)) / len(_RATES_HZ)
    each = np.repeat([(1 - share) / _POWERS, share / len(_RATES_HZ)], [_POWERS, len(_RATES_HZ)])
    apart = np.outer(each, each)
    together: FloatArray = chosen.start_alike_ratio * alike + (1 - chosen.start_alike_ratio) * apart
    return together


def _onset(starts: _Starts) -> Onset:
    likelihood = np.exp(starts.log_likelihood - starts.log_likelihood.max())
    return Onset(_quantiles_s(starts.moments_s, likelihood @ _ways_together().sum(axis=1))[1], starts.seen_at_s)


def _lag_s(head: _Starts, body: _Starts) -> tuple[float, float, float]:
    """Low end, middle and high end of the lag, over all ways in which the two may grow."""
    of_head = np.exp(head.log_likelihood - head.log_likelihood.max())
    of_body = np.exp(body.log_likelihood - body.log_likelihood.max())
    weights = of_head @ _ways_together() @ of_body.T
    lags_s = head.moments_s[:, None] - body.moments_s
    return _quantiles_s(lags_s.ravel(), weights.ravel())


def _quantiles_s(moments_s: FloatArray, weights: FloatArray) -> tuple[float, float, float]:
    order = np.argsort(moments_s)
    reached = np.cumsum(weights[order])
    low_s, middle_s, high_s = np.interp(_TAILS, (reached - weights[order] / 2) / reached[-1], moments_s[order])
    return float(low_s), float(middle_s), float(high_s)
