"""One segment over a film: its poses in camera axes, measured and smoothed, their noise, and the errors they share.

Two of them give how sure the pose of one segment on the other is.
"""

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.bundle import corner_correlation_ratio, slow_ratio
from onthree.capture.layout import Layout, views_of
from onthree.capture.poses import Poses, Views, cross_matrices, residuals, view_weights
from onthree.capture.readings import Read, read_bodies
from onthree.capture.shared_errors import SharedErrors, body_errors, shared_errors
from onthree.capture.smoothing import smoothed
from onthree.capture.standing import long_stretches, staying_errors, stretches, without_staying
from onthree.capture.tags import Sightings
from onthree.kinematics.segment_motion import RelativeUncertainty

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

NEAR_S, USUAL_COUNT = 0.25, 40
"""Frames this near tell the noise of one, besides so many numbers of the usual noise of the film."""
LEAST_SMOOTHED = 8
"""Moments that a segment must be seen in before it is smoothed."""


@dataclass(frozen=True, eq=False)
class Estimate:
    """Poses of a segment in camera axes, one for each of n frames, and their noise.

    The noise (n, 6, 6) is that of a small rotation vector [rad] and of the place [m], both in camera axes; ``speed``
    (n, 6) [rad/s, m/s]. Identity, zero and no noise where the segment is not known.
    """

    poses: Poses
    noise: FloatArray
    correlation_s: float
    place_correlation_s: float
    speed: FloatArray


@dataclass(frozen=True, eq=False)
class Track:
    """A segment over the n frames of a film: raw as measured frame by frame, smoothed as the likeliest motion.

    ``shared`` (k, n, 6) is what one standard deviation of each named error does [rad, m]; ``sightings_count`` (n) how
    many tags show the segment; ``apart_rad`` (n) how far two readings that stay undecided are apart, NaN elsewhere.
    """

    is_valid: BoolArray
    raw: Estimate
    smoothed: Estimate
    shared: FloatArray
    shared_names: tuple[str, ...]
    sightings_count: NDArray[np.int64]
    apart_rad: FloatArray

    def estimate(self, is_smoothed: bool) -> Estimate:
        """The smoothed poses, or the raw ones."""
        return self.smoothed if is_smoothed else self.raw


def tracks_of(sightings: Sightings, layout: Layout, errors: SharedErrors | None = None) -> dict[str, Track]:
    """The track of each segment of a layout; its errors are those of this film alone unless others are given."""
    time_s, count = sightings.time_s, len(sightings.time_s)
    views = views_of(sightings, layout.tags, layout.segments)
    is_alone = errors is None
    errors = errors or shared_errors(layout)
    tracks = {}
    for index, segment in enumerate(layout.segments):
        inside = views.of((views.body >= index * count) & (views.body < (index + 1) * count))
        inside = Views(inside.corners_px, inside.corner_m, inside.tag, inside.body - index * count)
        read = read_bodies(layout.fit.camera, layout.fit.layout, inside, time_s, layout.fit.sd_px)
        tracks[segment] = _track(segment, time_s, inside, layout, read, errors, is_alone)
    return _of_all_names(tracks) if is_alone else tracks


def _of_all_names(tracks: dict[str, Track]) -> dict[str, Track]:
    """The tracks with the errors of the others besides their own, which do nothing to them."""
    names = tuple(dict.fromkeys(name for track in tracks.values() for name in track.shared_names))
    filled = {}
    for segment, track in tracks.items():
        shared = np.zeros((len(names), *track.shared.shape[1:]))
        shared[[names.index(name) for name in track.shared_names]] = track.shared
        filled[segment] = replace(track, shared=shared, shared_names=names)
    return filled


def _track(
    segment: str, time_s: FloatArray, views: Views, layout: Layout, read: Read, errors: SharedErrors, is_alone: bool
) -> Track:
    fit, is_valid, count = layout.fit, read.is_decided, len(time_s)
    residual = residuals(fit.camera, fit.layout, read.bodies, views)
    stretch = long_stretches(stretches(views, count), time_s, is_valid & is_alone)
    correlation_ratio = corner_correlation_ratio(without_staying(residual, views, stretch), views)
    turn = np.tile(np.eye(6), (count, 1, 1))
    turn[:, :3, :3] = read.bodies.rotation
    noise = np.zeros((count, 6, 6))
    noise[is_valid] = np.linalg.inv(read.information[is_valid])
    noise = turn @ noise @ turn.transpose(0, 2, 1) * _noise_ratios(residual, views, time_s, fit.sd_px)[:, None, None]
    standing, noise = staying_errors(noise, stretch)
    step_s = float(np.median(np.diff(time_s)))
    correlation_s = -step_s / np.log(correlation_ratio)
    poses = Poses(
        np.where(is_valid[:, None, None], read.bodies.rotation, np.eye(3)),
        np.where(is_valid[:, None], read.bodies.place_m, 0),
    )
    raw = Estimate(poses, noise, correlation_s, correlation_s, np.zeros((count, 6)))
    shared = np.zeros((len(errors.names), count, 6))
    own = body_errors(fit.camera, fit.layout, read.bodies, views, errors, fit.sd_px)
    shared[:, is_valid] = (turn @ own)[is_valid].transpose(2, 0, 1)
    seen = np.bincount(views.body, minlength=count)
    return Track(
        is_valid,
        raw,
        smoothed_estimate(time_s, is_valid, raw, slow_ratio(correlation_ratio)),
        np.concatenate([shared, standing]),
        (*errors.names, *(f"standing of {segment} {part + 1}" for part in range(len(standing)))),
        seen,
        read.apart_rad,
    )


def _noise_ratios(residual: FloatArray, views: Views, time_s: FloatArray, sd_px: float) -> FloatArray:
    """How many times the variance of the usual corner that of each of n frames is, from those of the time around it."""
    seen = np.bincount(views.body, minlength=len(time_s))
    bounded = view_weights(residual, sd_px) * (residual**2).sum(axis=1) / sd_px**2
    sums = np.zeros((len(time_s) + 1, 2))
    sums[1:, 0] = np.bincount(views.body, bounded, len(time_s)).cumsum()
    sums[1:, 1] = np.where(seen > 0, 8 * seen - 6, 0).cumsum()
    around = sums[np.searchsorted(time_s, time_s + NEAR_S, "right")] - sums[np.searchsorted(time_s, time_s - NEAR_S)]
    ratios: FloatArray = (around[:, 0] + USUAL_COUNT) / (around[:, 1] + USUAL_COUNT)
    return ratios


def smoothed_estimate(time_s: FloatArray, is_valid: BoolArray, raw: Estimate, inflation_ratio: float) -> Estimate:
    """The smoothed poses; errors that go along from frame to frame count ``inflation_ratio`` times their variance."""
    if is_valid.sum() < LEAST_SMOOTHED:
        return raw
    turned = Rotation.from_matrix(raw.poses.rotation[is_valid])
    found = smoothed(time_s[is_valid], turned, raw.poses.place_m[is_valid], raw.noise[is_valid] * inflation_ratio)
    rotation, place_m = raw.poses.rotation.copy(), raw.poses.place_m.copy()
    noise, speed = np.zeros_like(raw.noise), np.zeros_like(raw.speed)
    rotation[is_valid], place_m[is_valid] = found.rotation.as_matrix(), found.place_m
    noise[is_valid], speed[is_valid] = found.covariance, found.speed
    return Estimate(Poses(rotation, place_m), noise, found.correlation_s, found.place_correlation_s, speed)


def pair_uncertainties(tracks: dict[str, Track], is_smoothed: bool) -> tuple[RelativeUncertainty, ...]:
    """How sure each pair of segments is, the later one as the reference; errors stand in the axes of the reference."""
    return tuple(
        _pair_uncertainty(moving, reference, tracks, is_smoothed) for moving, reference in combinations(tracks, 2)
    )


def _pair_uncertainty(moving: str, reference: str, tracks: dict[str, Track], is_smoothed: bool) -> RelativeUncertainty:
    """A rotation of the reference by error e shifts what it sees at distance d by d x e, besides turning it."""
    pair = tracks[moving], tracks[reference]
    is_both = pair[0].is_valid & pair[1].is_valid
    estimates = [track.estimate(is_smoothed) for track in pair]
    back = estimates[1].poses.rotation.transpose(0, 2, 1)
    apart_m = estimates[0].poses.place_m - estimates[1].poses.place_m
    of_moving, of_reference = np.zeros((2, len(back), 6, 6))
    of_moving[:, :3, :3] = of_moving[:, 3:, 3:] = back
    of_reference[:, :3, :3] = of_reference[:, 3:, 3:] = -back
    of_reference[:, 3:, :3] = back @ cross_matrices(apart_m)
    noise = of_moving @ estimates[0].noise @ of_moving.transpose(0, 2, 1)
    noise += of_reference @ estimates[1].noise @ of_reference.transpose(0, 2, 1)
    noise = np.where(is_both[:, None, None], (noise + noise.transpose(0, 2, 1)) / 2, 0)
    shared = np.einsum("nij,knj->kni", of_moving, pair[0].shared)
    shared += np.einsum("nij,knj->kni", of_reference, pair[1].shared)
    shared = np.where(is_both[:, None], shared, 0)
    return RelativeUncertainty(
        reference=reference,
        moving=moving,
        noise_cov_rad2=noise[:, :3, :3],
        noise_correlation_s=max(estimate.correlation_s for estimate in estimates),
        shared_rad=shared[..., :3],
        shared_names=pair[0].shared_names,
        is_smoothed=is_smoothed,
        position_cov_m2=noise[:, 3:, 3:],
        position_correlation_s=max(estimate.place_correlation_s for estimate in estimates),
        position_shared_m=shared[..., 3:],
    )
