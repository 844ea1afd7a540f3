"""Two phones on opposite sides of one run: their films laid upon each other in time and space, and made one motion."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

from onthree.capture import clocks
from onthree.capture.against_file import camera_file_flags
from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.clocks import Agreement, ClockError, agreement, clock_beliefs
from onthree.capture.film import Film, open_film
from onthree.capture.film_check import check_seen
from onthree.capture.flash import Brightness, clap_clock, flash_clock
from onthree.capture.focal import focal_flags
from onthree.capture.layout import LayoutError, calibrated_layout
from onthree.capture.progress import Listener
from onthree.capture.rig import Rig
from onthree.capture.rig_check import missing_flags
from onthree.capture.shutter import at_frame_moments
from onthree.capture.tagged_video import Movements, TaggedVideo, motion_of, sha256_of, unsure_flags, with_axes_of
from onthree.capture.tags import Sightings, find_tags
from onthree.capture.tracks import LEAST_SMOOTHED, Track, pair_uncertainties, tracks_of
from onthree.capture.two_film_axes import separate_layouts
from onthree.capture.two_film_layout import OneFilm, Shared, shared_layout
from onthree.capture.two_film_tracks import Pairs, Placed, brought, brought_by, merged, paired
from onthree.kinematics.segment_motion import Clock

FloatArray = NDArray[np.float64]

By = Literal["motion", "flash", "clap"]
WHICH = ("first", "second")
SAME_TURN_RAD, SAME_PLACE_M, SAME_CLOCK_S = 0.003, 0.01, 0.001
"""Two cameras closer to each other than this, with one clock, are one camera: the film was given twice."""
HELD_SD_S = 1e-6
"""How far the motion may move a clock that is held."""
LITTLE_OVERLAP_RATIO = 0.9
UNLIKELY = 3.0
"""Two routes to a clock that differ by more standard deviations than this disagree."""


@dataclass(frozen=True, eq=False)
class TwoFilms(TaggedVideo):
    """What two films of one run show together, at the frames of the first and in its camera's axes.

    ``agreed`` holds the second film's clock on the first's and how the cameras stand; ``is_steady`` is False where a
    phone was moved, and only how segments stand on each other was taken from the second film (then ``agreed`` speaks of
    that). ``second_share_ratio`` (n) by segment: how much of the rotation the second film tells at each frame.
    """

    agreed: Agreement
    is_steady: bool
    second_share_ratio: Mapping[str, FloatArray]

    def between_clocks_sd_s(self, from_s: float, until_s: float, head: str = "head", body: str = "trunk") -> float:
        """How well the clocks behind head and body agree between two moments; 0 where one film shows both alike."""
        time_s = self.motion.time_s
        inside = (time_s >= from_s) & (time_s <= until_s)
        apart = self.second_share_ratio[head] - self.second_share_ratio[body]
        inside &= self.motion.is_seen(head) & self.motion.is_seen(body)
        sd_s = self.agreed.sd_s(time_s[inside] - self.agreed.clock.offset_s)
        return float((np.abs(apart[inside]) * sd_s).max(initial=0.0))


def read_two_films(
    paths: tuple[Path, Path],
    rig: Rig,
    cameras: tuple[Camera | None, Camera | None] = (None, None),
    neutral_s: tuple[float, float] | None = None,
    by: By = "motion",
    on_progress: Listener | None = None,
    movements: Movements | None = None,
    readouts_s: tuple[float, float] = (0.0, 0.0),
) -> TwoFilms:
    """Read two films of one run with the tags of a rig; times, ``neutral_s`` too, are those of the first film.

    ``by``: how the clocks are laid upon each other; what the motion says is compared in any case. ``on_progress`` is
    told of each film in turn; ``movements`` and ``readouts_s`` as for one film. Raises FilmError, LayoutError or
    ClockError, each with what to do, and ValueError for movements that show no axes.
    """
    if sha256_of(paths[0]) == sha256_of(paths[1]):
        raise ClockError(f"{paths[0].name} and {paths[1].name} are one and the same film: give those of both phones")
    films = [open_film(path) for path in paths]
    given_cameras = [
        camera or guessed_camera(film.width, film.height) for camera, film in zip(cameras, films, strict=True)
    ]
    sightings, lights = [], []
    with threadpool_limits(1):
        for film in films:
            light = Brightness()
            frames = light.watched(film.frames()) if by == "flash" else film.frames()
            segment_of = {tag.id: tag.segment for tag in rig.tags}
            sightings.append(find_tags(frames, rig.family, segment_of, on_progress, film.duration_s))
            lights.append(light)
            check_seen(film.path, rig, sightings[-1])
    shown = two_films_from_sightings(
        (sightings[0], sightings[1]),
        rig,
        (given_cameras[0], given_cameras[1]),
        neutral_s,
        _given(by, paths, lights, readouts_s),
        by,
        readouts_s,
        (films[0].height, films[1].height),
    )
    shown = _with_sources(shown, films, paths, rig, _against_files(films, sightings, cameras, rig))
    return shown if movements is None else with_axes_of(shown, movements)


def _given(by: By, paths: tuple[Path, Path], lights: list[Brightness], readouts_s: tuple[float, float]) -> Clock | None:
    """The clock by flash or clap; without a read-out it is not known how long a frame gathers light."""
    if by == "motion":
        return None
    if by == "clap":
        return clap_clock(paths[0], paths[1])
    gathered_s = (abs(readouts_s[0]) or None, abs(readouts_s[1]) or None)
    return flash_clock(lights[0], lights[1], gathered_s)


def _against_files(
    films: list[Film], sightings: list[Sightings], cameras: tuple[Camera | None, Camera | None], rig: Rig
) -> tuple[str, ...]:
    """Of each film, that it contradicts the camera file given with it, where it does."""
    return tuple(
        f"{which} film: {flag}"
        for which, film, seen, camera in zip(WHICH, films, sightings, cameras, strict=True)
        for flag in camera_file_flags(seen, rig, camera, (film.width, film.height))
    )


def _with_sources(
    shown: TwoFilms, films: list[Film], paths: tuple[Path, Path], rig: Rig, off: tuple[str, ...]
) -> TwoFilms:
    broken = [f"{which} film: {flag}" for which, film in zip(WHICH, films, strict=True) for flag in film.flags()]
    missing = missing_flags(rig, shown.layout, shown.bodies, (films[0].width, films[0].height))
    flags = (*broken, *missing, *off, *shown.motion.flags)
    sha256 = sha256_of(paths[0])
    motion, raw = (replace(each, source_sha256=sha256, flags=flags) for each in (shown.motion, shown.raw))
    return replace(shown, motion=motion, raw=raw)


def two_films_from_sightings(
    sightings: tuple[Sightings, Sightings],
    rig: Rig,
    cameras: tuple[Camera, Camera],
    neutral_s: tuple[float, float] | None = None,
    given: Clock | None = None,
    by: By = "motion",
    readouts_s: tuple[float, float] = (0.0, 0.0),
    heights_px: tuple[int, int] = (0, 0),
) -> TwoFilms:
    """What the sightings of two films show together; ``given`` is the second film's clock by flash or clap.

    With read-outs, the heights of the frames are needed.
    """
    with threadpool_limits(1):
        films = (
            _alone(sightings[0], rig, cameras[0], WHICH[0], readouts_s[0], heights_px[0]),
            _alone(sightings[1], rig, cameras[1], WHICH[1], readouts_s[1], heights_px[1]),
        )
        agreed, is_steady, flags = _agreed(films, given, by)
        clock = agreed.clock
        second_s = clock.offset_s + films[1].sightings.time_s * (1 + 1e-6 * clock.rate_ppm)
        pairs = paired(films[0].sightings.time_s, second_s)
        base = _base(films[0].tracks, films[1].tracks)
        if is_steady or base is None:
            shared = shared_layout(films, rig, agreed, pairs)
        else:
            shared = separate_layouts(films, rig, agreed, pairs, base)
        _refuse_same(shared, agreed)
        tracks = _merged(films, shared, pairs, base)
    return _said(films, rig, neutral_s, shared, tracks, agreed, is_steady, flags)


def _alone(sightings: Sightings, rig: Rig, camera: Camera, which: str, readout_s: float, height_px: int) -> OneFilm:
    try:
        layout = calibrated_layout(sightings, rig, camera)
        tracks = tracks_of(sightings, layout)
        if readout_s:
            sightings = at_frame_moments(sightings, layout, tracks, readout_s, height_px)
            layout = calibrated_layout(sightings, rig, camera)
            tracks = tracks_of(sightings, layout)
    except LayoutError as error:
        raise LayoutError(f"{which} film: {error}") from None
    return OneFilm(sightings, camera, layout, tracks)


def _agreed(films: tuple[OneFilm, OneFilm], given: Clock | None, by: By) -> tuple[Agreement, bool, tuple[str, ...]]:
    """The clocks, whether both cameras stood still, and what is to be said about that."""
    turning = (_turning(films[0]), _turning(films[1]))
    relative = _relative(films)
    is_held, flags = _compared((turning, relative), given, by) if given else (False, ())
    try:
        found = _by_tracks(turning, given, is_held)
        if np.degrees(found.unsteady_rad) <= clock_beliefs().most_unsteady_deg:
            return found, True, flags
    except ClockError as error:
        try:
            found = _by_tracks(relative, given, is_held)
        except ClockError:
            raise error from None
    else:
        found = _by_tracks(relative, given, is_held)
    why = "with that offset the films do not fit as if both stood still" if is_held else "a phone was moved"
    moved = f"{why}: only how segments stand on each other was taken from the second film"
    return found, False, (*flags, moved)


Tracks = tuple[dict[str, clocks.Track], dict[str, clocks.Track]]


def _compared(routes: tuple[Tracks, Tracks], given: Clock, by: By) -> tuple[bool, tuple[str, ...]]:
    """Whether the motion says something else than the clock given, and what there is to say."""
    for tracks in routes:
        try:
            motion = agreement(tracks[0], tracks[1]).clock
        except ClockError:
            continue
        sd_s = float(np.hypot(motion.offset_sd_s or 0.0, given.offset_sd_s or 0.0))
        if abs(motion.offset_s - given.offset_s) <= UNLIKELY * sd_s:
            return False, ()
        says = f"{given.offset_s:.3f} s by the {by}, {motion.offset_s:.3f} s by the motion"
        return True, (f"the offset of the clocks is {says}: they disagree, the {by} was used; check it",)
    return True, (f"the offset of the clocks is that of the {by} alone: the motion does not tell it",)


def _by_tracks(tracks: Tracks, given: Clock | None, is_held: bool) -> Agreement:
    """The agreement by the motion with a clock that was given; held there if the motion shall not move it."""
    if given is None or not is_held:
        return agreement(tracks[0], tracks[1], given)
    found = agreement(tracks[0], tracks[1], replace(given, offset_sd_s=HELD_SD_S))
    covariance = found.covariance + np.diag([(given.offset_sd_s or 0.0) ** 2, 0.0])
    return replace(found, clock=replace(found.clock, offset_sd_s=given.offset_sd_s), covariance=covariance)


def _turning(film: OneFilm) -> dict[str, clocks.Track]:
    """How each segment turns in the camera."""
    tracks = {}
    for name, track in film.tracks.items():
        known = track.is_valid
        if known.sum() >= LEAST_SMOOTHED:
            raw, smooth = (Rotation.from_matrix(track.estimate(each).poses.rotation[known]) for each in (False, True))
            noises = [track.estimate(each).noise[known, :3, :3] for each in (False, True)]
            tracks[name] = clocks.Track(film.sightings.time_s[known], raw, noises[0], smooth, noises[1])
    return tracks


def _relative(films: tuple[OneFilm, OneFilm]) -> Tracks:
    """How segments turn on the last one that both films know."""
    base = _base(films[0].tracks, films[1].tracks)
    found: list[dict[str, clocks.Track]] = [{}, {}]
    for number, film in enumerate(films):
        for name, track in film.tracks.items():
            if base is None or name == base:
                continue
            ground = film.tracks[base]
            known = track.is_valid & ground.is_valid
            if known.sum() < LEAST_SMOOTHED:
                continue
            turns, noises = [], []
            for is_smoothed in (False, True):
                on, below = track.estimate(is_smoothed), ground.estimate(is_smoothed)
                back = below.poses.rotation[known].transpose(0, 2, 1)
                turns.append(Rotation.from_matrix(back @ on.poses.rotation[known]))
                noises.append(back @ (on.noise + below.noise)[known, :3, :3] @ back.transpose(0, 2, 1))
            time_s = film.sightings.time_s[known]
            found[number][name] = clocks.Track(time_s, turns[0], noises[0], turns[1], noises[1])
    return found[0], found[1]


def _base(first: Mapping[str, Track], second: Mapping[str, Track]) -> str | None:
    """The last segment that both films know."""
    both = [name for name in first if name in second and first[name].is_valid.any() and second[name].is_valid.any()]
    return both[-1] if both else None


def _refuse_same(shared: Shared, agreed: Agreement) -> None:
    if not isinstance(shared.placed, Placed):
        return
    pose = shared.placed.pose
    turned_rad = float(Rotation.from_matrix(pose.rotation[0]).magnitude())
    is_one = turned_rad < SAME_TURN_RAD and np.linalg.norm(pose.place_m) < SAME_PLACE_M
    if is_one and abs(agreed.clock.offset_s) < SAME_CLOCK_S:
        raise ClockError("both films are of one camera: give one film, or those of two phones")


def _merged(
    films: tuple[OneFilm, OneFilm], shared: Shared, pairs: Pairs, base: str | None
) -> tuple[dict[str, Track], dict[str, FloatArray]]:
    """One track of each segment from both films, and the second film's share in it."""
    first, second = (
        tracks_of(film.sightings, layout, errors)
        for film, layout, errors in zip(films, shared.layouts, shared.errors, strict=True)
    )
    time_s, other_s = (film.sightings.time_s for film in films)
    tracks, shares = {}, {}
    for name, track in first.items():
        if isinstance(shared.placed, Placed):
            there = brought(second[name], other_s, pairs, shared.placed)
        elif base is not None and name in second and len(first) > 1:
            ground = base if name != base else next(other for other in first if other != base and other in second)
            there = brought_by(name, ground, (first, second), other_s, pairs, shared.placed)
            there = there.of(~track.is_valid[there.frame]) if name == base else there
        else:
            tracks[name], shares[name] = track, np.zeros(len(time_s))
            continue
        step_s, correlation_s = float(np.median(np.diff(other_s))), second[name].raw.correlation_s
        both, shares[name] = merged(track, there, time_s, step_s, correlation_s)
        apart_rad = both.apart_rad.copy()
        np.fmax.at(apart_rad, pairs.first, second[name].apart_rad[pairs.second])
        tracks[name] = replace(both, apart_rad=np.where(both.is_valid, np.nan, apart_rad))
    return tracks, shares


def _said(
    films: tuple[OneFilm, OneFilm],
    rig: Rig,
    neutral_s: tuple[float, float] | None,
    shared: Shared,
    merged_tracks: tuple[dict[str, Track], dict[str, FloatArray]],
    agreed: Agreement,
    is_steady: bool,
    flags: tuple[str, ...],
) -> TwoFilms:
    sightings, layout, (tracks, shares) = films[0].sightings, shared.layouts[0], merged_tracks
    time_s = sightings.time_s
    from_s, until_s = agreed.overlap_s
    if until_s - from_s < LITTLE_OVERLAP_RATIO * (time_s[-1] - time_s[0]):
        flags = (*flags, f"both films show the run from {from_s:.2f} to {until_s:.2f} s of the first film only")
    flags = (*(f"second film: {flag}" for flag in films[1].sightings.flags), *flags)
    for which, film in zip(WHICH, films, strict=True):
        focal = focal_flags(film.sightings, film.layout, film.tracks, film.camera)
        flags = (*flags, *(f"{which} film: {flag}" for flag in focal))
    motion, raw = (motion_of(sightings, layout, rig, neutral_s, tracks, each) for each in (True, False))
    uncertainty = pair_uncertainties(tracks, True)
    unsure = tuple(unsure_flags(motion, uncertainty))
    return TwoFilms(
        motion=replace(motion, flags=(*flags, *motion.flags, *unsure)),
        raw=replace(raw, flags=(*flags, *raw.flags, *unsure)),
        uncertainty=uncertainty,
        raw_uncertainty=pair_uncertainties(tracks, False),
        layout=layout,
        seen_ratio={segment: float(track.is_valid.mean()) for segment, track in tracks.items()},
        bodies=tracks,
        sightings=sightings,
        agreed=agreed,
        is_steady=is_steady,
        second_share_ratio=shares,
    )
