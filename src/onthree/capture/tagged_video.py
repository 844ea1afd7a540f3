"""From a film of printed tags to the motion of the segments: measured, smoothed, with what is not known about it."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

from onthree.capture.against_file import camera_file_flags
from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.film import open_film
from onthree.capture.film_check import check_seen
from onthree.capture.focal import focal_flags
from onthree.capture.layout import Layout, calibrated_layout
from onthree.capture.lost import lost_flags
from onthree.capture.progress import Listener
from onthree.capture.readout import with_readout_told
from onthree.capture.rig import Rig
from onthree.capture.rig_check import missing_flags
from onthree.capture.shared_errors import AXES, ORIGIN
from onthree.capture.shutter import at_frame_moments
from onthree.capture.tags import Sightings, find_tags
from onthree.capture.tracks import Track, pair_uncertainties, tracks_of
from onthree.kinematics.functional_axes import axes_from_movements, with_axes
from onthree.kinematics.segment_motion import RelativeUncertainty, SegmentMotion
from onthree.kinematics.untold import Untold

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

CHUNK_BYTES = 1 << 20
LEAST_SAID_DEG = 0.05
MOST_PIECES = 3
ORIGIN_UNKNOWN = "origin of {} is that of a tag: no place was measured by hand; its shifts are not told"
UNSURE_DEG, UNSURE_SDS = 2.0, 3.0
"""Moments that may be off by more than so many degrees are said: by three standard deviations, one in four hundred."""


@dataclass(frozen=True, eq=False)
class TaggedVideo:
    """What a film of printed tags shows: the smoothed motion, the raw one, and how sure each pair of segments is.

    ``uncertainty`` and ``raw_uncertainty`` hold one entry for each pair, the later segment of the rig as the reference;
    ``seen_ratio`` is the share of frames in which each segment is known. ``bodies`` holds the poses of each segment in
    camera axes, raw and smoothed, and ``sightings`` the corners by frame: what is needed to draw them into the film.
    """

    motion: SegmentMotion
    raw: SegmentMotion
    uncertainty: tuple[RelativeUncertainty, ...]
    raw_uncertainty: tuple[RelativeUncertainty, ...]
    layout: Layout
    seen_ratio: dict[str, float]
    bodies: dict[str, Track]
    sightings: Sightings

    @property
    def film_times_s(self) -> FloatArray:
        """The presentation time of each frame since the first [s]."""
        return self.sightings.time_s

    def untold(self, moving: str, reference: str) -> Untold:
        """What of a segment on another is not known, for no tag's place was measured by hand and no movement marked."""
        return Untold(axes=are_of_a_tag(self.motion.flags, reference), origin=are_of_a_tag(self.layout.flags, moving))


def are_of_a_tag(flags: tuple[str, ...], segment: str) -> bool:
    """Whether flags say that the axes and the origin of a segment are those of one of its tags."""
    return any(flag.startswith(f"axes of {segment} are those of tag") for flag in flags)


Video = TypeVar("Video", bound=TaggedVideo)


@dataclass(frozen=True)
class Movements:
    """A marked stretch of pure nodding and one of pure turning (start, end) [s], each there and back at least twice."""

    nod_s: tuple[float, float]
    turn_s: tuple[float, float]
    moving: str = "head"
    reference: str = "trunk"


def read_tagged_video(
    path: Path,
    rig: Rig,
    camera: Camera | None = None,
    neutral_s: tuple[float, float] | None = None,
    on_progress: Listener | None = None,
    movements: Movements | None = None,
    readout_s: float = 0.0,
) -> TaggedVideo:
    """Read a film of the tags of a rig; without a camera it is calibrated from the film itself.

    ``on_progress`` is told now and then how far the reading is, and may raise Cancelled. ``movements`` are a marked nod
    and turn of the stand-in; the axes are then theirs instead of those the tags were measured in. ``readout_s`` is the
    time in which the camera reads the rows of a frame, from the first to the last.
    Raises FilmError if the film cannot be read, LayoutError if its tags cannot be used, ValueError for movements that
    show no axes.
    """
    film = open_film(path)
    size_px = film.width, film.height
    used = camera or guessed_camera(*size_px)
    with threadpool_limits(1):
        sightings = find_tags(
            film.frames(), rig.family, {tag.id: tag.segment for tag in rig.tags}, on_progress, film.duration_s
        )
    check_seen(path, rig, sightings)
    shown = video_from_sightings(sightings, rig, used, neutral_s, readout_s, film.height)
    focal = focal_flags(shown.sightings, shown.layout, shown.bodies, used)
    missing = missing_flags(rig, shown.layout, shown.bodies, size_px)
    off = camera_file_flags(shown.sightings, rig, camera, size_px)
    flags = (*film.flags(), *missing, *off, *focal, *shown.motion.flags)
    sha256 = sha256_of(path)
    motion, raw = (replace(each, source_sha256=sha256, flags=flags) for each in (shown.motion, shown.raw))
    shown = replace(shown, motion=motion, raw=raw)
    return shown if movements is None else with_axes_of(shown, movements)


def with_axes_of(video: Video, movements: Movements) -> Video:
    """The same in the axes of a marked nod and turn. Raises ValueError where they show none, or a segment is missing.

    Where no tag of the reference was measured by hand, nothing tells forward from back: there the first nod must go
    forward, the first turn to the left. ``bodies`` stay in the axes of the tags.
    """
    segments = movements.moving, movements.reference
    is_unmeasured = are_of_a_tag(video.layout.flags, movements.reference)
    axes = axes_from_movements(video.motion, movements.nod_s, movements.turn_s, *segments, is_unmeasured)
    place = [(each.moving, each.reference) for each in video.uncertainty].index(segments)
    before = tuple(f"axes of {segment} are those" for segment in segments)
    left = (ORIGIN_UNKNOWN.format(movements.moving),) if video.untold(*segments).origin else ()
    bare, bare_raw = (
        replace(each, flags=(*(flag for flag in each.flags if not flag.startswith(before)), *left))
        for each in (video.motion, video.raw)
    )
    motion, uncertainty = with_axes(bare, video.uncertainty[place], axes)
    raw, raw_uncertainty = with_axes(bare_raw, video.raw_uncertainty[place], axes)
    return replace(
        video,
        motion=motion,
        raw=raw,
        uncertainty=_with(video.uncertainty, place, uncertainty),
        raw_uncertainty=_with(video.raw_uncertainty, place, raw_uncertainty),
    )


def _with(
    every: tuple[RelativeUncertainty, ...], place: int, one: RelativeUncertainty
) -> tuple[RelativeUncertainty, ...]:
    return (*every[:place], one, *every[place + 1 :])


def video_from_sightings(
    sightings: Sightings,
    rig: Rig,
    camera: Camera,
    neutral_s: tuple[float, float] | None = None,
    readout_s: float = 0.0,
    height_px: int = 0,
) -> TaggedVideo:
    """What the sightings of a film show, however they were come by. Raises LayoutError if they cannot be used.

    With a read-out, rows are put right in a second pass by the velocities of the first; the frames' height is needed.
    Without one but with the height, the film tells how long the rows take, and what stays unknown is in the errors.
    """
    with threadpool_limits(1):
        layout = calibrated_layout(sightings, rig, camera)
        tracks = tracks_of(sightings, layout)
        if readout_s:
            sightings = at_frame_moments(sightings, layout, tracks, readout_s, height_px)
            layout = calibrated_layout(sightings, rig, camera)
            tracks = tracks_of(sightings, layout)
        elif height_px:
            tracks, layout = with_readout_told(tracks, sightings, layout, camera, height_px)
        motion, raw = (
            motion_of(sightings, layout, rig, neutral_s, tracks, is_smoothed) for is_smoothed in (True, False)
        )
        uncertainty = pair_uncertainties(tracks, True)
        unsure = tuple(unsure_flags(motion, uncertainty))
        return TaggedVideo(
            motion=replace(motion, flags=(*motion.flags, *unsure)),
            raw=replace(raw, flags=(*raw.flags, *unsure)),
            uncertainty=uncertainty,
            raw_uncertainty=pair_uncertainties(tracks, False),
            layout=layout,
            seen_ratio={segment: float(track.is_valid.mean()) for segment, track in tracks.items()},
            bodies=tracks,
            sightings=sightings,
        )


def motion_of(
    sightings: Sightings,
    layout: Layout,
    rig: Rig,
    neutral_s: tuple[float, float] | None,
    tracks: dict[str, Track],
    is_smoothed: bool,
) -> SegmentMotion:
    """Tracks as a motion, smoothed or raw."""
    poses = [track.estimate(is_smoothed).poses for track in tracks.values()]
    is_valid = np.stack([track.is_valid for track in tracks.values()], axis=1)
    places_m = np.stack([each.place_m for each in poses], axis=1)
    return SegmentMotion(
        time_s=sightings.time_s,
        segments=layout.segments,
        frame="camera",
        frame_from_segment={
            name: Rotation.from_matrix(each.rotation) for name, each in zip(tracks, poses, strict=True)
        },
        is_valid=is_valid,
        position_m=np.where(is_valid[..., None], places_m, np.nan),
        measured_as=rig.measured_as,
        neutral_s=neutral_s,
        source_sha256="",
        flags=(*sightings.flags, *layout.flags, *_axes_flags(layout), *lost_flags(sightings.time_s, tracks)),
    )


def _axes_flags(layout: Layout) -> Iterator[str]:
    for index, segment in enumerate(layout.segments):
        turns = layout.gauge_covariance[6 * index : 6 * index + 3, 6 * index : 6 * index + 3]
        sd_deg = np.degrees(np.sqrt(np.linalg.eigvalsh(turns).max()))
        if sd_deg > LEAST_SAID_DEG:
            source = f"axes of {segment} are those its tags were measured in, sure to {sd_deg:.1f} degrees"
            yield f"{source}: mark a stretch of nodding and one of turning to be surer"


def unsure_flags(motion: SegmentMotion, uncertainty: tuple[RelativeUncertainty, ...]) -> Iterator[str]:
    """What is to be said of moments at which a pair of segments is known, but not well."""
    for pair in uncertainty:
        is_unsure = unsure_moments(motion, pair)
        if is_unsure.any():
            pieces = np.split(motion.time_s, np.flatnonzero(np.diff(is_unsure)) + 1)[int(not is_unsure[0]) :: 2]
            when = ", ".join(f"{piece[0]:.1f} to {piece[-1]:.1f} s" for piece in pieces[:MOST_PIECES])
            more = f" and {len(pieces) - MOST_PIECES} more stretches" if len(pieces) > MOST_PIECES else ""
            what = f"{pair.moving} on {pair.reference} is not sure to {UNSURE_DEG:.0f} degrees"
            fix = "show more tags of each segment together, larger or nearer"
            yield f"{what} in {is_unsure.sum()} of {len(is_unsure)} frames ({when}{more}): {fix}"


def unsure_moments(motion: SegmentMotion, pair: RelativeUncertainty) -> BoolArray:
    """At which moments (n) a pair is known, but not well, crooked axes aside: each of these has its flag.

    The errors of the neutral stretch are taken off, as the measures do.
    """
    is_known = motion.is_seen(pair.moving) & motion.is_seen(pair.reference)
    shared = pair.shared_rad[[not name.startswith((AXES, ORIGIN)) for name in pair.shared_names]]
    if motion.neutral_s is not None:
        start_s, end_s = motion.neutral_s
        is_neutral = is_known & (motion.time_s >= start_s) & (motion.time_s <= end_s)
        if is_neutral.any():
            shared = shared - shared[:, is_neutral].mean(axis=1, keepdims=True)
    covariance = pair.noise_cov_rad2 + np.einsum("kni,knj->nij", shared, shared)
    sd_deg = np.degrees(np.sqrt(np.maximum(np.linalg.eigvalsh(covariance)[:, -1], 0.0)))
    is_unsure: BoolArray = is_known & (sd_deg * UNSURE_SDS > UNSURE_DEG)
    return is_unsure


def sha256_of(path: Path) -> str:
    """The checksum of a file, by which a recording is known again."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(CHUNK_BYTES):
            digest.update(chunk)
    return digest.hexdigest()
