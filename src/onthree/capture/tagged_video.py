"""From a film of printed tags to the motion of the segments: measured, smoothed, with what is not known about it."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.film import Film, open_film
from onthree.capture.layout import Layout, calibrated_layout, views_of
from onthree.capture.poses import Poses, Views, residuals
from onthree.capture.readings import Read, read_bodies
from onthree.capture.rig import Rig
from onthree.capture.shared_errors import SharedErrors, body_errors, shared_errors
from onthree.capture.smoothing import Smoothed, smoothed
from onthree.capture.tags import Sightings, find_tags
from onthree.kinematics.segment_motion import RelativeUncertainty, SegmentMotion

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

LEAST_SMOOTHED = 8
"""Moments that a segment must be seen in before it is smoothed."""
CHUNK_BYTES = 1 << 20


@dataclass(frozen=True, eq=False)
class TaggedVideo:
    """What a film of printed tags shows: the smoothed motion, the raw one, and how sure each pair of segments is.

    ``uncertainty`` and ``raw_uncertainty`` hold one entry for each pair, the later segment of the rig as the reference;
    ``seen_ratio`` is the share of frames in which each segment is known.
    """

    motion: SegmentMotion
    raw: SegmentMotion
    uncertainty: tuple[RelativeUncertainty, ...]
    raw_uncertainty: tuple[RelativeUncertainty, ...]
    layout: Layout
    seen_ratio: dict[str, float]


def read_tagged_video(
    path: Path, rig: Rig, camera: Camera | None = None, neutral_s: tuple[float, float] | None = None
) -> TaggedVideo:
    """Read a film of the tags of a rig; without a camera it is calibrated from the film itself.

    Raises FilmError if the film cannot be read, LayoutError if its tags cannot be used.
    """
    film = open_film(path)
    camera = camera or guessed_camera(film.width, film.height)
    with threadpool_limits(1):
        sightings = find_tags(film.frames(), rig.family, {tag.id: tag.segment for tag in rig.tags})
        layout = calibrated_layout(sightings, rig, camera)
        tracks = _tracks(sightings, layout)
        raw = _raw_motion(sightings, layout, film, rig, neutral_s, tracks)
        turned = {name: Rotation.from_matrix(track.rotations(True)) for name, track in tracks.items()}
        return TaggedVideo(
            motion=replace(raw, frame_from_segment=turned),
            raw=raw,
            uncertainty=_uncertainties(tracks, True),
            raw_uncertainty=_uncertainties(tracks, False),
            layout=layout,
            seen_ratio={segment: float(track.is_valid.mean()) for segment, track in tracks.items()},
        )


@dataclass(frozen=True, eq=False)
class _Track:
    """One segment over the film: valid moments, poses, noise of the rotation in camera axes, shared errors there."""

    is_valid: BoolArray
    raw: Poses
    raw_noise_rad2: FloatArray
    raw_correlation_s: float
    smoothed: Smoothed | None
    shared_rad: FloatArray
    shared_names: tuple[str, ...]

    def rotations(self, is_smoothed: bool) -> FloatArray:
        """Rotations (n, 3, 3), the identity where the segment is not known."""
        matrices = np.tile(np.eye(3), (len(self.is_valid), 1, 1))
        matrices[self.is_valid] = self.raw.rotation[self.is_valid]
        if is_smoothed and self.smoothed is not None:
            matrices[self.is_valid] = self.smoothed.rotation.as_matrix()
        return matrices

    def noise_rad2(self, is_smoothed: bool) -> FloatArray:
        """Covariance of the noise (n, 3, 3), zero where the segment is not known."""
        if not is_smoothed or self.smoothed is None:
            return self.raw_noise_rad2
        noise = np.zeros_like(self.raw_noise_rad2)
        noise[self.is_valid] = self.smoothed.covariance_rad2
        return noise

    def correlation_s(self, is_smoothed: bool) -> float:
        """The correlation time of the noise."""
        return self.smoothed.correlation_s if is_smoothed and self.smoothed is not None else self.raw_correlation_s


def _tracks(sightings: Sightings, layout: Layout) -> dict[str, _Track]:
    time_s, count = sightings.time_s, len(sightings.time_s)
    views = views_of(sightings, layout.tags, layout.segments)
    errors = shared_errors(layout)
    tracks = {}
    for index, segment in enumerate(layout.segments):
        inside = views.of((views.body >= index * count) & (views.body < (index + 1) * count))
        inside = Views(inside.corners_px, inside.corner_m, inside.tag, inside.body - index * count)
        read = read_bodies(layout.fit.camera, layout.fit.layout, inside, time_s, layout.fit.sd_px)
        tracks[segment] = _track(time_s, inside, layout, read, errors)
    return tracks


def _track(time_s: FloatArray, views: Views, layout: Layout, read: Read, errors: SharedErrors) -> _Track:
    fit, is_valid = layout.fit, read.is_decided
    correlation_ratio = _corner_correlation_ratio(residuals(fit.camera, fit.layout, read.bodies, views), views)
    covariance = np.zeros((len(time_s), 6, 6))
    covariance[is_valid] = np.linalg.inv(read.information[is_valid])
    turned = read.bodies.rotation
    noise_rad2 = turned @ covariance[:, :3, :3] @ turned.transpose(0, 2, 1)
    smooth = None
    if is_valid.sum() >= LEAST_SMOOTHED:
        slow = (1 + correlation_ratio) / (1 - correlation_ratio)
        smooth = smoothed(time_s[is_valid], Rotation.from_matrix(turned[is_valid]), noise_rad2[is_valid] * slow)
    step_s = float(np.median(np.diff(time_s)))
    shared_rad = np.zeros((len(errors.names), len(time_s), 3))
    own = body_errors(fit.camera, fit.layout, read.bodies, views, errors, fit.sd_px)
    shared_rad[:, is_valid] = np.einsum("nij,njk->kni", turned, own)[:, is_valid]
    correlation_s = -step_s / np.log(correlation_ratio)
    return _Track(is_valid, read.bodies, noise_rad2, correlation_s, smooth, shared_rad, errors.names)


def _corner_correlation_ratio(residual: FloatArray, views: Views) -> float:
    """How much of the error of a corner is still there in the next frame, from the residuals of the same tag."""
    order = np.lexsort((views.body, views.tag))
    body, tag = views.body[order], views.tag[order]
    first = np.flatnonzero((np.diff(body) == 1) & (np.diff(tag) == 0))
    if not len(first):
        return 0.5
    now, later = residual[order[first]], residual[order[first + 1]]
    size = np.sqrt((now**2).sum(axis=1) * (later**2).sum(axis=1))
    usual = size <= 9 * np.median(size)
    return float(np.clip((now * later)[usual].sum() / size[usual].sum(), 0.01, 0.95))


def _raw_motion(
    sightings: Sightings,
    layout: Layout,
    film: Film,
    rig: Rig,
    neutral_s: tuple[float, float] | None,
    tracks: dict[str, _Track],
) -> SegmentMotion:
    is_valid = np.stack([track.is_valid for track in tracks.values()], axis=1)
    places_m = np.stack([track.raw.place_m for track in tracks.values()], axis=1)
    return SegmentMotion(
        time_s=sightings.time_s,
        segments=layout.segments,
        frame="camera",
        frame_from_segment={name: Rotation.from_matrix(track.rotations(False)) for name, track in tracks.items()},
        is_valid=is_valid,
        position_m=np.where(is_valid[..., None], places_m, np.nan),
        measured_as=rig.measured_as,
        neutral_s=neutral_s,
        source_sha256=_sha256(film.path),
        flags=tuple(_flags(film, layout, is_valid)),
    )


def _flags(film: Film, layout: Layout, is_valid: BoolArray) -> Iterator[str]:
    yield from layout.flags
    if film.broke_at_s is not None:
        yield f"the film breaks off at {film.broke_at_s:.2f} s: {film.announced_count} frames were announced"
    for column, segment in enumerate(layout.segments):
        lost = int((~is_valid[:, column]).sum())
        if lost:
            why = "hidden, or a single tag that can be read both ways"
            yield f"{segment} is not known in {lost} of {len(is_valid)} frames: {why}"


def _uncertainties(tracks: dict[str, _Track], is_smoothed: bool) -> tuple[RelativeUncertainty, ...]:
    """One uncertainty for each pair of segments; the error of the pair stands in the axes of the reference."""
    found = []
    for moving, reference in combinations(tracks, 2):
        pair = tracks[moving], tracks[reference]
        is_both = pair[0].is_valid & pair[1].is_valid
        back = tracks[reference].rotations(is_smoothed).transpose(0, 2, 1)
        noises = [track.noise_rad2(is_smoothed) for track in pair]
        noise = back @ (noises[0] + noises[1]) @ back.transpose(0, 2, 1)
        shared = np.einsum("nij,knj->kni", back, pair[0].shared_rad - pair[1].shared_rad)
        found.append(
            RelativeUncertainty(
                reference=reference,
                moving=moving,
                noise_cov_rad2=np.where(is_both[:, None, None], (noise + noise.transpose(0, 2, 1)) / 2, 0),
                noise_correlation_s=max(track.correlation_s(is_smoothed) for track in pair),
                shared_rad=np.where(is_both[:, None], shared, 0),
                shared_names=pair[0].shared_names,
                is_smoothed=is_smoothed,
            )
        )
    return tuple(found)


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(CHUNK_BYTES):
            digest.update(chunk)
    return digest.hexdigest()
