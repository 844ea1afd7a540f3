"""Whether the focal length changes while a film runs: the lens hunts for focus, or somebody zooms.

Camera and layout were fitted with one focal length. For every stretch of the film the score test (Rao 1948) asks
whether another one inside it would fit better: its numerator is the slope of the fit by a focal length of the stretch,
poses of the segments taken out; its denominator what the stretch tells, less what camera and layout can make up for.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onthree.capture.bundle import CAMERA_COUNT
from onthree.capture.layout import Layout, views_of
from onthree.capture.poses import Poses, Views, joined, slopes, summed_by_body, view_weights
from onthree.capture.tags import Sightings
from onthree.capture.tracks import Track

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

CELL_S, MOST_CELLS = 0.25, 120
"""Moments of a change are told to a quarter of a second, in long films to a hundred-and-twentieth of their length."""
SHORTEST_S = 1.0
CLEARLY = 5.0
"""Standard deviations from which on a change is said; many stretches are looked at."""
LEAST_CHANGE_RATIO = 0.005
"""A smaller change moves angles by less than what is said about the focal length itself."""
LEAST_LEFT_RATIO = 0.05
"""Share of what a stretch tells that must be left after camera and layout have made up for it."""
BODIES_AT_ONCE = 1000


@dataclass(frozen=True)
class FocalChange:
    """Between two moments the focal length differs from that of the rest by a ratio, known to a standard deviation."""

    start_s: float
    end_s: float
    change_ratio: float
    sd_ratio: float


def focal_flags(sightings: Sightings, layout: Layout, tracks: Mapping[str, Track]) -> tuple[str, ...]:
    """What is to be said about a focal length that changes; nothing if none is seen to."""
    found = focal_change(sightings, layout, tracks)
    if found is None:
        return ()
    is_for_good = found.end_s >= sightings.time_s[-1]
    when = f"from {found.start_s:.1f} s on" if is_for_good else f"from {found.start_s:.1f} to {found.end_s:.1f} s"
    given = f"the focal length differs {when} by {found.change_ratio:+.1%} (give or take {2 * found.sd_ratio:.1%})"
    return (f"{given}: the bands do not hold that; lock focus and zoom, and film again",)


def focal_change(sightings: Sightings, layout: Layout, tracks: Mapping[str, Track]) -> FocalChange | None:
    """The stretch whose focal length differs most clearly from that of the rest, if one does clearly."""
    cell_s = max(CELL_S, float(sightings.time_s[-1]) / MOST_CELLS)
    start, end = _stretches(int(sightings.time_s[-1] // cell_s) + 1, int(np.ceil(SHORTEST_S / cell_s)))
    evidence = _evidence(sightings, layout, tracks, cell_s)
    if not len(start) or not evidence.told.any():
        return None
    score, told, mixed = (each[end] - each[start] for each in (evidence.score, evidence.told, evidence.mixed))
    left = told - np.einsum("ki,ij,kj->k", mixed, evidence.covariance, mixed)
    is_told = left > LEAST_LEFT_RATIO * np.minimum(told, evidence.told[-1] - told)
    left = np.where(is_told, left, np.inf)
    change_ratio, sd_ratio = score / left, np.sqrt(evidence.slow_ratio / left)
    best = int(np.argmax(np.where(is_told, np.abs(change_ratio) / np.maximum(sd_ratio, 1e-12), 0)))
    first_s, last_s, by_ratio = float(start[best] * cell_s), float(end[best] * cell_s), float(change_ratio[best])
    if first_s == 0:
        first_s, last_s, by_ratio = last_s, (len(evidence.told) - 1) * cell_s, -by_ratio
    found = FocalChange(first_s, last_s, by_ratio, float(sd_ratio[best]))
    is_clear = abs(found.change_ratio) > max(CLEARLY * found.sd_ratio, LEAST_CHANGE_RATIO)
    return found if is_told.any() and is_clear else None


def _stretches(cell_count: int, shortest: int) -> tuple[IntArray, IntArray]:
    """First and last edge of every stretch that is long enough, and leaves enough of the film outside."""
    start, end = np.triu_indices(cell_count + 1, shortest)
    is_some = end - start <= cell_count - shortest
    return start[is_some].astype(np.int64), end[is_some].astype(np.int64)


@dataclass(frozen=True, eq=False)
class _Evidence:
    """Sums up to each edge of the cells: slope of the fit by the logarithm of focal length (c + 1), what is told of it
    (c + 1), and with camera and layout (c + 1, 8 + 6 t); covariance of these; what errors that go along cost.
    """

    score: FloatArray
    told: FloatArray
    mixed: FloatArray
    covariance: FloatArray
    slow_ratio: float


def _evidence(sightings: Sightings, layout: Layout, tracks: Mapping[str, Track], cell_s: float) -> _Evidence:
    used = [tracks[segment] for segment in layout.segments]
    is_valid = np.concatenate([track.is_valid for track in used])
    bodies = joined([track.raw.poses for track in used])
    views = views_of(sightings, layout.tags, layout.segments)
    views = views.of(is_valid[views.body])
    cell = np.tile((sightings.time_s // cell_s).astype(np.int64), len(used))
    sums = np.zeros((int(cell.max()) + 2, 2 + CAMERA_COUNT + 6 * len(layout.tags)))
    for first in range(0, len(bodies.place_m), BODIES_AT_ONCE):
        part = views.of((views.body >= first) & (views.body < first + BODIES_AT_ONCE))
        part = Views(part.corners_px, part.corner_m, part.tag, part.body - first)
        np.add.at(sums, cell[part.body + first] + 1, _by_view(part, bodies[first : first + BODIES_AT_ONCE], layout))
    sums = sums.cumsum(axis=0)
    step_s = float(np.median(np.diff(sightings.time_s)))
    along = float(np.exp(-step_s / max(track.raw.correlation_s for track in used)))
    fitted_ratio = min(len(layout.fit.bodies.place_m) / max(is_valid.sum(), 1), 1.0)
    slow_ratio = (1 + along) / (1 - along)
    return _Evidence(sums[:, 0], sums[:, 1], sums[:, 2:], layout.fit.covariance * fitted_ratio, slow_ratio)


def _by_view(views: Views, bodies: Poses, layout: Layout) -> FloatArray:
    """Of each view (n, 2 + 8 + 6 t): slope of the fit by log focal, what is told of it, and of it with the rest."""
    fit = layout.fit
    now = slopes(fit.camera, fit.layout, bodies, views)
    weight = (view_weights(now.residual, fit.sd_px) / fit.sd_px**2)[:, None]
    by_focal = now.by_camera[:, :, 0] * fit.camera[0]
    across = now.by_body.transpose(0, 2, 1) * weight[:, :, None]
    count = len(bodies.place_m)
    information = summed_by_body(across @ now.by_body, views.body, count) + 1e-9 * np.eye(6)
    mixed = summed_by_body(across @ by_focal[..., None], views.body, count)
    pose = np.linalg.solve(information, mixed)[..., 0]
    own = (by_focal - np.einsum("nki,ni->nk", now.by_body, pose[views.body])) * weight
    columns = np.zeros((len(views), 2 + CAMERA_COUNT + 6 * len(layout.tags)))
    columns[:, 0] = (own * now.residual).sum(axis=1)
    columns[:, 1] = (own * by_focal).sum(axis=1)
    columns[:, 2 : 2 + CAMERA_COUNT] = np.einsum("nk,nki->ni", own, now.by_camera)
    place = 2 + CAMERA_COUNT + 6 * views.tag[:, None] + np.arange(6)
    np.put_along_axis(columns, place, np.einsum("nk,nki->ni", own, now.by_tag), axis=1)
    return columns
