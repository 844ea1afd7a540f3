"""How far the head moved on the trunk in one phase: range, peaks, path and the rest, over what was seen of it.

Nothing is filled in: a measure over a gap is one of what was seen, and says so. Nothing here is a limit.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import HeadOnTrunk
from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import BoolArray, FloatArray

PLANE_NAMES = ("flexion_extension", "lateral_bending", "axial_rotation")
WAY_NAMES = (
    ("extension", "flexion"),
    ("right_lateral_bending", "left_lateral_bending"),
    ("left_axial_rotation", "right_axial_rotation"),
)
AXIS_NAMES = ("anterior", "cranial", "right")
NAMES = (
    *(f"range_{plane}_deg" for plane in PLANE_NAMES),
    *(f"peak_{way}_deg" for ways in WAY_NAMES for way in ways),
    "peak_total_deg",
    "largest_total_deg",
    *(f"rms_{plane}_deg" for plane in (*PLANE_NAMES, "total")),
    "path_deg",
    "peak_speed_deg_s",
    *(f"beyond_{plane}_s" for plane in (*PLANE_NAMES, "total")),
    *(f"range_{axis}_m" for axis in AXIS_NAMES),
    "peak_distance_m",
)
"""Every measure, its unit last. Peaks and distance count from the first seen moment of the phase, each way from 0; root
mean square, largest total and time beyond the bound count from neutral; a range is the largest less the smallest."""


@dataclass(frozen=True)
class Phase:
    """A named stretch of a recording, such as one technique of a rehearsal."""

    name: str
    start_s: float
    end_s: float

    def __post_init__(self) -> None:
        """Refuse a phase without length."""
        if not self.start_s < self.end_s:
            raise ValueError(f"{self.name}: {self.start_s} to {self.end_s} s given, a start before the end expected")


@dataclass(frozen=True, eq=False, kw_only=True)
class PhaseMeasures:
    """The measures (in the order of ``NAMES``) of one phase, NaN where unknown, and the moment of each that has one.

    ``seen_ratio`` is the share of the phase outside of ``gaps_s``, in which both segments were seen from one frame to
    the next: 1 where every moment of it was seen. ``measured_as`` is what was measured.
    """

    phase: Phase
    values: FloatArray
    moments_s: FloatArray
    seen_ratio: float
    gaps_s: tuple[tuple[float, float], ...]
    measured_as: str

    def of(self, name: str) -> np.float64:
        """One measure. Raises ValueError for a name that is not in ``NAMES``."""
        value: np.float64 = self.values[NAMES.index(name)]
        return value

    def moment_s(self, name: str) -> float:
        """When a peak was reached; NaN for a measure without a moment."""
        return float(self.moments_s[NAMES.index(name)])

    @property
    def said(self) -> str:
        """What stands beside the numbers: what was measured, and which part of the phase."""
        if not self.gaps_s:
            return f"{self.measured_as}; seen throughout"
        start_s, end_s = max(self.gaps_s, key=lambda gap: gap[1] - gap[0])
        share = f"{min(self.seen_ratio, 0.99):.0%}"
        return (
            f"{self.measured_as}; seen for {share} of the phase, longest gap {end_s - start_s:.2f} s "
            f"at {start_s:.2f} s: ranges, peaks, path and times are of what was seen, the true ones may be larger"
        )


def measures(track: HeadOnTrunk, phase: Phase, bound_deg: float | None = None) -> PhaseMeasures:
    """The measures of a phase; ``bound_deg`` is the bound that the lead set for the times beyond it, or None."""
    values = np.full(len(NAMES), np.nan)
    moments_s = np.full(len(NAMES), np.nan)
    inside = (track.time_s >= phase.start_s) & (track.time_s <= phase.end_s)
    seen = np.flatnonzero(inside & track.is_seen)
    is_step = _is_step(track, seen)
    steps_s = np.where(is_step, np.diff(track.time_s[seen]), 0.0)
    if len(seen):
        found = {
            **_from_start(track, seen),
            **_from_neutral(track, seen, steps_s, bound_deg),
            **_along(track, seen, steps_s),
            **_moved(track, seen),
        }
        for name, (value, moment_s) in found.items():
            values[NAMES.index(name)], moments_s[NAMES.index(name)] = value, moment_s
    gaps_s = _gaps_s(track, np.flatnonzero(inside), seen, is_step, phase)
    return PhaseMeasures(
        phase=phase,
        values=values,
        moments_s=moments_s,
        seen_ratio=max(1 - sum(until_s - from_s for from_s, until_s in gaps_s) / (phase.end_s - phase.start_s), 0.0),
        gaps_s=gaps_s,
        measured_as=track.measured_as,
    )


def noise_floor(track: HeadOnTrunk, phase: PhaseMeasures, still_s: tuple[float, float]) -> FloatArray:
    """What the measures (in the order of ``NAMES``) are where nothing moves: those of a still stretch.

    The path is that of as long a time as was seen of the phase. NaN where the still stretch shows nothing.
    """
    still = measures(track, Phase("still", *still_s))
    seen_s = phase.seen_ratio * (phase.phase.end_s - phase.phase.start_s)
    still_seen_s = still.seen_ratio * (still_s[1] - still_s[0])
    floor = still.values.copy()
    floor[NAMES.index("path_deg")] *= seen_s / still_seen_s if still_seen_s else np.nan
    return floor


Places = NDArray[np.intp]

_Found = dict[str, tuple[np.float64, np.float64]]
_NO_MOMENT = np.float64(np.nan)


def _is_step(track: HeadOnTrunk, seen: Places) -> BoolArray:
    """Whether two seen moments follow each other with nothing lost in between (seen - 1)."""
    follows: BoolArray = (np.diff(seen) == 1) & (np.diff(track.time_s[seen]) <= choices().longest_step_s)
    return follows


def _from_start(track: HeadOnTrunk, seen: Places) -> _Found:
    angles, time_s = track.angles_deg[seen], track.time_s[seen]
    moved = angles - angles[0]
    turned = np.degrees((track.rotation[seen] * track.rotation[seen[0]].inv()).magnitude())
    found: _Found = {"peak_total_deg": _largest(turned, time_s)}
    for column, (plane, (up, down)) in enumerate(zip(PLANE_NAMES, WAY_NAMES, strict=True)):
        found[f"range_{plane}_deg"] = (np.ptp(angles[:, column]), _NO_MOMENT)
        found[f"peak_{up}_deg"] = _largest(moved[:, column], time_s)
        found[f"peak_{down}_deg"] = _largest(-moved[:, column], time_s)
    return found


def _from_neutral(
    track: HeadOnTrunk,
    seen: Places,
    steps_s: FloatArray,
    bound_deg: float | None,
) -> _Found:
    angles = np.column_stack([track.angles_deg[seen], track.total_deg[seen]])
    weights_s = (np.append(steps_s, 0.0) + np.append(0.0, steps_s)) / 2
    found: _Found = {"largest_total_deg": _largest(angles[:, 3], track.time_s[seen])}
    for column, plane in enumerate((*PLANE_NAMES, "total")):
        if weights_s.any():
            square = np.average(angles[:, column] ** 2, weights=weights_s)
            found[f"rms_{plane}_deg"] = (np.sqrt(square), _NO_MOMENT)
        if bound_deg is not None:
            beyond = _beyond_ratios(np.abs(angles[:, column]) - bound_deg)
            found[f"beyond_{plane}_s"] = ((beyond * steps_s).sum(), _NO_MOMENT)
    return found


def _beyond_ratios(over_deg: FloatArray) -> FloatArray:
    """The share of each step (n - 1) that is above zero, along a straight line from one moment to the next."""
    above = np.maximum(over_deg, 0.0)[1:] + np.maximum(over_deg, 0.0)[:-1]
    apart = np.abs(over_deg)[1:] + np.abs(over_deg)[:-1]
    ratios: FloatArray = np.divide(above, apart, out=np.zeros_like(apart), where=apart > 0)
    return ratios


def _along(track: HeadOnTrunk, seen: Places, steps_s: FloatArray) -> _Found:
    """Path and speed of the rotation itself, from one frame to the next; across a gap there is neither."""
    if not steps_s.any():
        return {}
    rotation: Rotation = track.rotation[seen]
    turned_deg = np.degrees((rotation[1:] * rotation[:-1].inv()).magnitude())
    is_step = steps_s > 0
    time_s = track.time_s[seen]
    middles_s = (time_s[1:] + time_s[:-1]) / 2
    return {
        "path_deg": (turned_deg[is_step].sum(), _NO_MOMENT),
        "peak_speed_deg_s": _largest(turned_deg[is_step] / steps_s[is_step], middles_s[is_step]),
    }


def _moved(track: HeadOnTrunk, seen: Places) -> _Found:
    if track.position_m is None:
        return {}
    position_m = track.position_m[seen]
    found: _Found = {
        f"range_{axis}_m": (np.ptp(position_m[:, column]), _NO_MOMENT) for column, axis in enumerate(AXIS_NAMES)
    }
    found["peak_distance_m"] = _largest(np.linalg.norm(position_m - position_m[0], axis=1), track.time_s[seen])
    return found


def _largest(values: FloatArray, time_s: FloatArray) -> tuple[np.float64, np.float64]:
    place = int(np.argmax(values))
    return values[place], time_s[place]


def _gaps_s(
    track: HeadOnTrunk, inside: Places, seen: Places, is_step: BoolArray, phase: Phase
) -> tuple[tuple[float, float], ...]:
    """The stretches of a phase in which a segment was not seen; less than a step at either end of what was is none."""
    if not len(seen):
        return ((phase.start_s, phase.end_s),)
    time_s, longest_s = track.time_s[seen], choices().longest_step_s
    gaps = [(float(time_s[place]), float(time_s[place + 1])) for place in np.flatnonzero(~is_step)]
    is_late = seen[0] > inside[0] or time_s[0] - phase.start_s > longest_s
    is_early = seen[-1] < inside[-1] or phase.end_s - time_s[-1] > longest_s
    before = [(phase.start_s, float(time_s[0]))] if is_late else []
    after = [(float(time_s[-1]), phase.end_s)] if is_early else []
    return (*before, *gaps, *after)
