"""How long a camera reads the rows of a frame, where nobody has said: what the film tells of it, and what it costs.

The corners of what moves are seen early or late by up to half of that time. To the first order the film errs in
proportion to it: corners that are late by one standard deviation are put through the adjustment of camera, layout and
poses. What they leave in the residuals tells how much of that is in the film (a score test, Rao 1948; from memory); so
much is taken off, and what stays unknown is one more error that all frames share.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.bundle import CAMERA_COUNT, LEAST_DAMPING, by_shared, damped_step, slow_ratio, system_of
from onthree.capture.camera import Camera
from onthree.capture.layout import Layout, views_of
from onthree.capture.poses import Poses, Views, joined, slopes, view_weights
from onthree.capture.shared_errors import SharedErrors, body_errors
from onthree.capture.shutter import at_frame_moments
from onthree.capture.standing import body_weights, stretches
from onthree.capture.tags import Sightings
from onthree.capture.tracks import Estimate, Track
from onthree.sources import table

FloatArray = NDArray[np.float64]

READOUT = "readout"
"""The name of the error."""
LAYOUT_SD = 0.1
"""In metres and radians: of the layout the film knows far more, save which way the axes of a segment point."""
MOST_BODIES = 600
"""Frames times segments that are asked; more are thinned out evenly."""


@dataclass(frozen=True, eq=False)
class _Late:
    """Corners late by one standard deviation of the time: how camera and layout (8 + 6 t) follow; how much of it is in
    the film, and how sure that is, both in standard deviations.
    """

    column: FloatArray
    told_ratio: float
    unknown_ratio: float


def with_readout_told(
    tracks: Mapping[str, Track], sightings: Sightings, layout: Layout, camera: Camera, height_px: int
) -> tuple[dict[str, Track], Layout]:
    """Tracks and layout less what late rows of a frame of ``height_px`` did to them, with the error that is left."""
    believed_s = next(float(row["sd"]) for row in table("film_beliefs") if row["name"] == "readout")
    moved = at_frame_moments(sightings, layout, dict(tracks), believed_s, height_px)
    late = replace(sightings, corners_px=sightings.corners_px - moved.corners_px)
    views, shifts = (views_of(each, layout.tags, layout.segments) for each in (sightings, late))
    bodies = joined([track.raw.poses for track in tracks.values()])
    is_known = np.concatenate([track.is_valid for track in tracks.values()])[views.body]
    views, late_px = views.of(is_known), shifts.corners_px[is_known].reshape(-1, 8)
    if not len(views):
        return dict(tracks), layout
    step_s = float(np.median(np.diff(sightings.time_s)))
    lasts_s = max(track.raw.correlation_s for track in tracks.values() if track.is_valid.any())
    late_rows, fit = _told(views, late_px, bodies, layout, camera, step_s / lasts_s), layout.fit
    errors = SharedErrors(late_rows.column[:, None], (READOUT,))
    change = body_errors(fit.camera, fit.layout, bodies, views, errors, fit.sd_px, late_px)[..., 0]
    found, count = {}, len(sightings.time_s)
    for index, (segment, track) in enumerate(tracks.items()):
        own = change[index * count : (index + 1) * count]
        own[:, :3] = np.einsum("nij,nj->ni", track.raw.poses.rotation, own[:, :3])
        found[segment] = _track_less(track, np.where(track.is_valid[:, None], own, 0.0), late_rows)
    less = -late_rows.told_ratio * late_rows.column
    values, places = fit.camera + less[:CAMERA_COUNT], fit.layout.moved(less[CAMERA_COUNT:].reshape(-1, 6))
    return found, replace(layout, fit=replace(fit, camera=values, layout=places))


def _told(views: Views, late_px: FloatArray, bodies: Poses, layout: Layout, camera: Camera, step_ratio: float) -> _Late:
    """What corners (n, 8) that are late do to camera and layout, and what the film tells of them.

    ``step_ratio`` is a frame in units of the time that errors last.
    """
    seen = np.unique(views.body)
    kept = seen[np.linspace(0, len(seen) - 1, min(len(seen), MOST_BODIES)).astype(int)]
    is_kept = np.isin(views.body, kept)
    some, late_px, fit, tag_count = views.of(is_kept), late_px[is_kept], layout.fit, len(layout.tags)
    some = replace(some, body=np.searchsorted(kept, some.body))
    now = slopes(fit.camera, fit.layout, bodies[kept], some)
    counted = body_weights(stretches(some, len(kept)))[some.body]
    weight = counted * view_weights(now.residual, fit.sd_px) / fit.sd_px**2
    system = system_of(replace(now, residual=late_px), some, len(kept), tag_count, weight)
    camera_sd = np.where(camera.sd > 0, camera.sd, np.inf)
    known = np.concatenate([camera_sd, np.full(6 * tag_count, LAYOUT_SD)]) ** -2.0
    is_free = np.concatenate([camera.sd > 0, np.ones(6 * tag_count, dtype=bool)])
    column, pose, _ = damped_step(system, system.shared + np.diag(known), system.gradient, is_free, LEAST_DAMPING)
    left = late_px - np.einsum("nij,nj->ni", now.by_body, pose[some.body])
    left -= by_shared(now, some, tag_count) @ column
    slow = slow_ratio(float(np.exp(-step_ratio * len(seen) / len(kept))))
    known_of_it = float((weight[:, None] * late_px * left).sum()) / slow + 1.0
    told_ratio = float((weight[:, None] * now.residual * left).sum()) / slow / known_of_it
    return _Late(column, told_ratio, float(known_of_it**-0.5))


def _track_less(track: Track, error: FloatArray, late_rows: _Late) -> Track:
    """The track without its part of an error (n, 6), and with what is left of it unknown."""
    return replace(
        track,
        raw=_less(track.raw, late_rows.told_ratio * error),
        smoothed=_less(track.smoothed, late_rows.told_ratio * error),
        shared=np.concatenate([track.shared, late_rows.unknown_ratio * error[None]]),
        shared_names=(*track.shared_names, READOUT),
    )


def _less(estimate: Estimate, error: FloatArray) -> Estimate:
    turned = Rotation.from_rotvec(-error[:, :3]).as_matrix() @ estimate.poses.rotation
    return replace(estimate, poses=Poses(turned, estimate.poses.place_m - error[:, 3:]))
