"""Lifts without hand holds between: two people at the ends, hands under the athlete; and what a quick start adds."""

from bisect import bisect_right
from collections.abc import Sequence
from math import sqrt

from onthree.loads.segments import supine_segments
from onthree.units import N_PER_KGF


def dynamic_lift_ratio(height_m: float, time_s: float) -> float:
    """Largest force of a smooth lift as a ratio to the weight: 1 + (10 / sqrt 3) height / (g time^2).

    The lift follows the curve of least jerk, 10 s^3 - 15 s^4 + 6 s^5, from rest to rest. A start that is less smooth,
    or not together, takes more: this is the least to expect, not an upper bound.
    """
    return 1 + 10 / sqrt(3) * height_m / (float(N_PER_KGF) * time_s**2)


def peak_lift_speed_m_s(height_m: float, time_s: float) -> float:
    """Largest speed of the same smooth lift: 15/8 of the mean."""
    return 15 / 8 * height_m / time_s


def end_carry_share_ratio(com_m: float, head_end_m: float, foot_end_m: float) -> tuple[float, float]:
    """The shares of the weight at the head end and at the foot end when two people carry at the ends.

    Places along the device [m]. Raises ValueError where the centre of mass is not between the ends.
    """
    if not head_end_m <= com_m <= foot_end_m or head_end_m == foot_end_m:
        raise ValueError(f"centre of mass at {com_m} m given, between {head_end_m} m and {foot_end_m} m expected")
    foot_ratio = (com_m - head_end_m) / (foot_end_m - head_end_m)
    return 1 - foot_ratio, foot_ratio


def direct_lift_share_ratio(sex: str, places_ratio: Sequence[float]) -> tuple[float, ...]:
    """The share of body mass at each hold of a lift without a device, by the lever rule between neighbouring holds.

    ``places_ratio`` are at least two, in order, as ratios to stature from the top of the head. What lies beyond the
    first or last hold is carried by that hold. A body is no row of levers: take it as a first estimate.
    """
    if len(places_ratio) < 2 or list(places_ratio) != sorted(set(places_ratio)):
        raise ValueError(f"{places_ratio} given, at least two places in order from the head expected")
    shares_ratio = [0.0] * len(places_ratio)
    segments = supine_segments(sex)
    whole_ratio = sum(segment.mass_ratio for segment in segments)
    for segment in segments:
        before = min(max(bisect_right(places_ratio, segment.place_ratio) - 1, 0), len(places_ratio) - 2)
        span_ratio = places_ratio[before + 1] - places_ratio[before]
        beyond_ratio = min(max((segment.place_ratio - places_ratio[before]) / span_ratio, 0.0), 1.0)
        shares_ratio[before] += segment.mass_ratio * (1 - beyond_ratio) / whole_ratio
        shares_ratio[before + 1] += segment.mass_ratio * beyond_ratio / whole_ratio
    return tuple(shares_ratio)
