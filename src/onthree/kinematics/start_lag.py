"""By how much the head starts after the body, and how sure that is.

The start of each is told by its own first degree of turn from its rest, or its first centimetre of shift, in whichever
direction. That does not depend on how the motion grows, as the moment of a start would. The same at a later size stands
beside: where both agree the head was late, otherwise it also turned more slowly, or faster, than the body.

**Sign: a positive lag means that the body moved first and the head after it.**
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from onthree.kinematics.angles import mean_rotation
from onthree.kinematics.choices import choices
from onthree.kinematics.passing import NO_LAG, NOT_PASSED, LagBand, Passing, Way, first_passing, lag_between, pace
from onthree.kinematics.segment_motion import BoolArray, FloatArray, SegmentMotion
from onthree.kinematics.start_noise import MeasuringNoise, rest_noise

_SMOOTHED_S = 0.08
"""Sizes are smoothed over so long to see a start."""
_LEAST_REST = 7
_LEAST_BEGUN = 3
"""Moments of a rest that tell its noise; moments whose mean tells which way a start goes."""

TURNED_BACK = "one of them began the other way than it went on"

By = Literal["rotation", "position"]


@dataclass(frozen=True)
class StartLag:
    """By how much the head started after the body [s], with its 95 % band; positive: the body first. NaN: unknown.

    It is the head's first passing of one degree of turn, or one centimetre of shift, from its rest, less the body's.
    ``later`` is the same at a later size. ``is_turned_back``: one of them began the other way than it went on.
    """

    lag_s: float = np.nan
    low_s: float = np.nan
    high_s: float = np.nan
    head: Passing = NOT_PASSED
    body: Passing = NOT_PASSED
    later: LagBand = NO_LAG
    by: By = "rotation"
    is_turned_back: bool = False

    @property
    def said(self) -> str:
        """The lag as a sentence, which of the two moved first only if the band tells."""
        if np.isnan(self.lag_s):
            return "start lag unknown: no start found after the still stretch, it was not seen, or noise hides it"
        late_ms, low_ms, high_ms = (1000 * each_s for each_s in (self.lag_s, self.low_s, self.high_s))
        if self.low_s > 0:
            first = f"the body first, the head {late_ms:.0f} ms later"
        elif self.high_s < 0:
            first = f"the head first, the body {-late_ms:.0f} ms later"
            low_ms, high_ms = -high_ms, -low_ms
        else:
            first = f"who was first is not told apart, the head is {late_ms:.0f} ms after the body".replace("-0 ", "0 ")
        band = f"95 % band {low_ms:.0f} to {high_ms:.0f} ms, by the {first_size(self.by)}"
        more = f"; {TURNED_BACK}" if self.is_turned_back else ""
        return f"{first} ({band}){more}{f'; {self.pace}' if self.pace else ''}"

    @property
    def pace(self) -> str:
        """Whether the head went on at another pace than the body, as far as the bands tell; empty: not told."""
        return pace(LagBand(self.lag_s, self.low_s, self.high_s), self.later)


def first_size(by: By) -> str:
    """The size that tells a start, in words."""
    return "first degree" if by == "rotation" else "first centimetre"


def later_size(by: By) -> str:
    """The later size at which the lag is told again, in words."""
    chosen = choices()
    return f"{chosen.later_turn_deg:g} degrees" if by == "rotation" else f"{100 * chosen.later_shift_m:g} centimetres"


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
    heads, bodies = (_start(motion, each, still_s, until_s, by, known.get(each)) for each in (head, body))
    first, later = (
        lag_between(of_head, of_body, between_clocks_sd_s)
        for of_head, of_body in zip(heads.passings, bodies.passings, strict=True)
    )
    return StartLag(
        lag_s=first.lag_s,
        low_s=first.low_s,
        high_s=first.high_s,
        head=heads.passings[0],
        body=bodies.passings[0],
        later=later,
        by=by,
        is_turned_back=heads.is_turned_back or bodies.is_turned_back,
    )


@dataclass(frozen=True)
class _Start:
    """When a segment passed the first size and the later one, and whether it began the other way than it went on."""

    passings: tuple[Passing, Passing] = (NOT_PASSED, NOT_PASSED)
    is_turned_back: bool = False


def _start(
    motion: SegmentMotion,
    segment: str,
    still_s: tuple[float, float],
    until_s: float,
    by: By,
    measuring: MeasuringNoise | None,
) -> _Start:
    from_s = max(still_s[0], still_s[1] - choices().start_rest_s)
    used = motion.is_seen(segment) & (motion.time_s >= from_s) & (motion.time_s <= until_s)
    time_s = motion.time_s[used]
    is_still = time_s <= still_s[1]
    if is_still.sum() < _LEAST_REST:
        raise ValueError(
            f"{segment} is seen at {is_still.sum()} moments of the still stretch, at least {_LEAST_REST} expected"
        )
    displacement = _displacement(motion, segment, used, is_still, by)
    floor = None if measuring is None else measuring.covariance[used].mean(axis=0)
    way = Way(time_s, displacement, is_still, rest_noise(time_s[is_still], displacement[is_still], floor))
    seen_at_s = _seen_at_s(way, by)
    if seen_at_s is None:
        return _Start()
    first, later = (first_passing(way, seen_at_s, size_rad_or_m) for size_rad_or_m in _sizes_rad_or_m(by))
    return _Start((first, later), _is_turned_back(way, seen_at_s))


def _sizes_rad_or_m(by: By) -> tuple[float, float]:
    chosen = choices()
    if by == "position":
        return chosen.first_shift_m, chosen.later_shift_m
    return float(np.radians(chosen.first_turn_deg)), float(np.radians(chosen.later_turn_deg))


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


def _seen_at_s(way: Way, by: By) -> float | None:
    """When a start is first seen to last [s]; None where there is none.

    A start goes on: what never comes as far as a start must within its time is unrest.
    """
    chosen, time_s = choices(), way.time_s
    least = np.radians(chosen.start_least_deg) if by == "rotation" else chosen.start_least_m
    gone = np.linalg.norm(way.displacement, axis=1)
    is_far = (_smoothed_sizes(way) > chosen.start_seen_ratio * way.noise.sd_ratio) & ~way.is_still
    for seen in np.flatnonzero(is_far):
        since_s = time_s - time_s[seen]
        lasting = (since_s >= 0) & (since_s <= chosen.start_lasts_s)
        goes_on = (since_s >= 0) & (since_s <= chosen.start_goes_on_s)
        if is_far[lasting].all() and lasting.sum() > 1 and gone[goes_on].max() > least:
            return float(time_s[seen])
    return None


def _smoothed_sizes(way: Way) -> FloatArray:
    """Sizes (n) of displacements in units of their noise, smoothed over a few moments."""
    count = max(1, round(_SMOOTHED_S / float(np.median(np.diff(way.time_s)))))
    axes = way.noise.in_units(way.displacement).T
    mean = np.stack([np.convolve(axis, np.ones(count) / count, mode="same") for axis in axes], axis=1)
    sizes: FloatArray = np.linalg.norm(mean, axis=1)
    return sizes


def _is_turned_back(way: Way, seen_at_s: float) -> bool:
    """Whether a start goes against where the motion gets to within the time in which a start goes on."""
    goes_on = (way.time_s >= seen_at_s) & (way.time_s <= seen_at_s + choices().start_goes_on_s)
    later = way.displacement[goes_on]
    furthest = later[np.linalg.norm(later, axis=1).argmax()]
    return bool(later[:_LEAST_BEGUN].mean(axis=0) @ furthest < 0)
