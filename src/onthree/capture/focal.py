"""Whether the focal length changes while a film runs: the lens hunts for focus, or somebody zooms.

Camera and layout were fitted with one focal length. For every stretch of the film the score test (Rao 1948) asks
whether another one inside it would fit better: its numerator is the slope of the fit by a focal length of the stretch,
poses of the segments taken out; its denominator what the stretch tells, less what camera and layout can make up for.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

from onthree.capture.bundle import CAMERA_COUNT, slow_ratio
from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.layout import Layout, views_of
from onthree.capture.poses import Poses, Views, slopes, summed_by_body, view_weights
from onthree.capture.standing import body_weights, stretches
from onthree.capture.tags import Sightings
from onthree.capture.tracks import Track

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

CELL_S, MOST_CELLS = 0.25, 120
"""Moments of a change are told to a quarter of a second, in long films to a hundred-and-twentieth of their length."""
SHORTEST_S = 1.0
CLEARLY = 6.0
"""Standard deviations from which on a change is said: many stretches are looked at, and no lens is quite the model."""
LEAST_CHANGE_RATIO = 0.005
"""A smaller change moves angles by less than what is said about the focal length itself."""
LEAST_LEFT_RATIO = 0.05
"""Share of what a stretch tells that must be left after camera and layout have made up for it."""
LEAST_VIEWS = 20.0
"""Own trial on 14 rendered films: views of segments that a stretch and the rest of the film must have, what stands
still counting as hardly more than one: its corners are off by the same from frame to frame, which looks like another
focal length."""
MOST_BODIES = 1000
"""Frames times segments that are asked; more are thinned out evenly."""
LEAST_SD, LAYOUT_SD = 1e-9, 0.1
"""For a camera's parameter that is held; and in metres and radians for a layout, of which the film knows far more."""


@dataclass(frozen=True)
class FocalChange:
    """Between two moments the focal length differs from that of the rest by a ratio, known to a standard deviation."""

    start_s: float
    end_s: float
    change_ratio: float
    sd_ratio: float


def focal_flags(
    sightings: Sightings, layout: Layout, tracks: Mapping[str, Track], camera: Camera | None = None
) -> tuple[str, ...]:
    """What is to be said about a focal length that changes; nothing if none is seen to.

    ``camera`` is what was known of it beforehand; without one, what is believed of any phone.
    """
    found = focal_change(sightings, layout, tracks, camera)
    if found is None:
        return ()
    is_for_good = found.end_s >= sightings.time_s[-1]
    when = f"from {found.start_s:.1f} s on" if is_for_good else f"from {found.start_s:.1f} to {found.end_s:.1f} s"
    given = f"the focal length differs {when} by {found.change_ratio:+.1%} (give or take {2 * found.sd_ratio:.1%})"
    return (f"{given}: the bands do not hold that; lock focus and zoom, and film again",)


def focal_change(
    sightings: Sightings, layout: Layout, tracks: Mapping[str, Track], camera: Camera | None = None
) -> FocalChange | None:
    """The stretch whose focal length differs most clearly from that of the rest, if one does clearly."""
    every = _changes(sightings, layout, tracks, camera)
    if not every:
        return None
    found = max(every, key=lambda each: abs(each.change_ratio) / each.sd_ratio)
    is_clear = abs(found.change_ratio) > max(CLEARLY * found.sd_ratio, LEAST_CHANGE_RATIO)
    return found if is_clear else None


def least_told_ratio(
    sightings: Sightings, layout: Layout, tracks: Mapping[str, Track], camera: Camera | None = None
) -> float | None:
    """The least change for good that would be told clearly, a ratio to the focal length; None where none would be."""
    every = _changes(sightings, layout, tracks, camera)
    ends_s = max((each.end_s for each in every), default=0.0)
    for_good = [each.sd_ratio for each in every if each.end_s == ends_s]
    return max(CLEARLY * min(for_good), LEAST_CHANGE_RATIO) if for_good else None


def _changes(
    sightings: Sightings, layout: Layout, tracks: Mapping[str, Track], camera: Camera | None = None
) -> list[FocalChange]:
    """The change in every stretch that tells one, the first stretches told as changes for good after them."""
    cell_s = max(CELL_S, float(sightings.time_s[-1]) / MOST_CELLS)
    start, end = _stretches(int(sightings.time_s[-1] // cell_s) + 1, int(np.ceil(SHORTEST_S / cell_s)))
    with threadpool_limits(1):
        evidence = _evidence(sightings, layout, tracks, camera, cell_s)
    score, told, mixed = (each[end] - each[start] for each in (evidence.score, evidence.told, evidence.mixed))
    left = told - np.einsum("ki,ij,kj->k", mixed, evidence.covariance, mixed)
    is_told = left > np.maximum(LEAST_LEFT_RATIO * np.minimum(told, evidence.told[-1] - told), 1e-12)
    inside_count = evidence.views_count[end] - evidence.views_count[start]
    is_told &= np.minimum(inside_count, evidence.views_count[-1] - inside_count) >= LEAST_VIEWS
    changes = []
    for row in np.flatnonzero(is_told):
        change_ratio, sd_ratio = float(score[row] / left[row]), float(1 / np.sqrt(left[row]))
        edges_s = float(start[row] * cell_s), float(end[row] * cell_s)
        if start[row] == 0:
            edges_s, change_ratio = (edges_s[1], float((len(evidence.told) - 1) * cell_s)), -change_ratio
        changes.append(FocalChange(*edges_s, change_ratio, sd_ratio))
    return changes


def _stretches(cell_count: int, shortest: int) -> tuple[IntArray, IntArray]:
    """First and last edge of every stretch that is long enough, and leaves enough of the film outside."""
    start, end = np.triu_indices(cell_count + 1, shortest)
    is_some = end - start <= cell_count - shortest
    return start[is_some].astype(np.int64), end[is_some].astype(np.int64)


@dataclass(frozen=True, eq=False)
class _Evidence:
    """What is told up to each edge of c cells, errors that go along from frame to frame counted once: the slope of the
    fit by the logarithm of focal length (c + 1), what is told of it (c + 1), and of it together with camera and layout
    (c + 1, 8 + 6 t); the covariance of these after the whole film; and how many views of segments that are not the
    same again there are up to each edge (c + 1).
    """

    score: FloatArray
    told: FloatArray
    mixed: FloatArray
    covariance: FloatArray
    views_count: FloatArray


def _evidence(
    sightings: Sightings, layout: Layout, tracks: Mapping[str, Track], camera: Camera | None, cell_s: float
) -> _Evidence:
    frames, size = len(sightings.time_s), CAMERA_COUNT + 6 * len(layout.tags)
    step = int(np.ceil(frames * len(layout.segments) / MOST_BODIES))
    cell = (sightings.time_s // cell_s).astype(np.int64)
    sums, shared, slow = np.zeros((int(cell.max()) + 2, 1 + size)), np.zeros((size, size)), 1.0
    views, views_count = views_of(sightings, layout.tags, layout.segments), np.zeros(len(sums))
    for index, segment in enumerate(layout.segments):
        track = tracks[segment]
        is_used = track.is_valid & (np.arange(frames) % step == 0)
        inside = views.of((views.body >= index * frames) & (views.body < (index + 1) * frames))
        inside = Views(inside.corners_px, inside.corner_m, inside.tag, inside.body - index * frames)
        inside = inside.of(is_used[inside.body])
        weights, seen = body_weights(stretches(inside, frames)), np.unique(inside.body)
        np.add.at(views_count, cell[seen] + 1, weights[seen])
        by_view, told = _by_view(inside, track.raw.poses, layout, weights[inside.body])
        np.add.at(sums, cell[inside.body] + 1, by_view)
        shared += told
        step_s = step * float(np.median(np.diff(sightings.time_s)))
        slow = max(slow, slow_ratio(float(np.exp(-step_s / track.raw.correlation_s))))
    sums = sums.cumsum(axis=0) / slow
    camera = camera or guessed_camera(1, 1, layout.fit.camera[0])
    known = np.concatenate([np.maximum(camera.sd, LEAST_SD), np.full(size - CAMERA_COUNT, LAYOUT_SD)]) ** -2.0
    covariance: FloatArray = np.linalg.inv(shared / slow + np.diag(known)).astype(float)
    focal_px = layout.fit.camera[0]
    counted = views_count.cumsum()
    return _Evidence(sums[:, 0] * focal_px, sums[:, 1] * focal_px**2, sums[:, 1:] * focal_px, covariance, counted)


def _by_view(views: Views, bodies: Poses, layout: Layout, counted: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Of each view (n, 1 + 8 + 6 t) the slope of the fit by the focal length, and what is told of it with everything
    shared; and what all views tell of everything shared (8 + 6 t, 8 + 6 t). Poses of the bodies are taken out;
    ``counted`` (n) is what each view counts, as in the fit: frames that repeat each other less than one each.
    """
    fit, count = layout.fit, len(bodies.place_m)
    now = slopes(fit.camera, fit.layout, bodies, views)
    by_shared = np.zeros((len(views), 8, CAMERA_COUNT + 6 * len(layout.tags)))
    by_shared[:, :, :CAMERA_COUNT] = now.by_camera
    place = CAMERA_COUNT + 6 * views.tag[:, None, None] + np.arange(6)
    np.put_along_axis(by_shared, np.broadcast_to(place, now.by_tag.shape), now.by_tag, axis=2)
    weight = (counted * view_weights(now.residual, fit.sd_px) / fit.sd_px**2)[:, None, None]
    across = now.by_body.transpose(0, 2, 1) * weight
    information = summed_by_body(across @ now.by_body, views.body, count) + 1e-9 * np.eye(6)
    pose = np.linalg.solve(information, summed_by_body(across @ by_shared, views.body, count))
    own = by_shared - now.by_body @ pose[views.body]
    by_focal = own[:, :, :1] * weight
    with_shared = (by_focal.transpose(0, 2, 1) @ own)[:, 0]
    score = (by_focal[..., 0] * now.residual).sum(axis=1, keepdims=True)
    flat = (own * np.sqrt(weight)).reshape(-1, own.shape[2])
    return np.concatenate([score, with_shared], axis=1), flat.T @ flat
