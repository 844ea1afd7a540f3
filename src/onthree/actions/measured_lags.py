"""The start lag of each phase, or why it is not known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.capture.tagged_video import TaggedVideo
from onthree.capture.two_films import TwoFilms
from onthree.kinematics.choices import choices
from onthree.kinematics.measures import Phase
from onthree.kinematics.segment_motion import BoolArray, FloatArray, SegmentMotion
from onthree.kinematics.start_lag import By, StartLag, start_lag
from onthree.kinematics.start_noise import MeasuringNoise
from onthree.kinematics.still import Stretch, is_still, still_before_s, still_stretches_s

MOVING, REFERENCE, GROUND = "head", "trunk", "ground"
_MARKED_IN_MOTION = (
    "start lag not known, neutral is marked while head or trunk moves in this phase: mark a stretch in which both lie "
    "still, and check that the marks belong to this film"
)


@dataclass(frozen=True)
class PhaseLag:
    """The start lag of a phase, and why it is not known, or an empty text."""

    lag: StartLag
    why_not: str


def phase_lags(
    read: TaggedVideo,
    phases: Sequence[Phase],
    pair: tuple[str, str] = (MOVING, REFERENCE),
    marked_neutral_s: Stretch | None = None,
) -> tuple[PhaseLag, ...]:
    """The start lags of phases, of the first of a ``pair`` of segments after the second.

    Where the rig has tags on the ground, starts are told against the ground. None is told of a phase in whose motion
    neutral was marked: marks that are off by so much may belong to another film.

    A still stretch is the rest before one phase only, the first that begins in it or soon after.
    """
    motion, raw = against_ground(read.motion), against_ground(read.raw)
    noise_of = {name: _measuring(read, name) for name in pair}
    both = motion.is_seen(pair[0]) & motion.is_seen(pair[1])
    stills = still_stretches_s(motion.time_s, both, [motion.frame_from_segment[name] for name in pair])
    found = {}
    for number in sorted(range(len(phases)), key=lambda one: phases[one].start_s):
        still_s = still_before_s(stills, phases[number].start_s)
        stills = tuple(one for one in stills if one != still_s or one[1] >= phases[number].end_s)
        if marked_neutral_s is not None and _is_in_motion(motion, marked_neutral_s, phases[number], pair):
            found[number] = PhaseLag(StartLag(by=_told_by(motion, phases[number], pair[1])), _MARKED_IN_MOTION)
            continue
        found[number] = _lag(read, (motion, raw), noise_of, phases[number], still_s, pair)
    return tuple(found[number] for number in range(len(phases)))


def _is_in_motion(motion: SegmentMotion, neutral_s: Stretch, phase: Phase, pair: tuple[str, str]) -> bool:
    """Whether a neutral stretch touches a phase, and one of the pair turns or shifts in it."""
    if neutral_s[1] < phase.start_s or neutral_s[0] > phase.end_s:
        return False
    for segment in pair:
        is_seen = motion.is_seen(segment)
        inside = is_seen & (motion.time_s >= neutral_s[0]) & (motion.time_s <= neutral_s[1])
        if not is_still(neutral_s, motion.time_s, is_seen, [motion.frame_from_segment[segment]]):
            return True
        if motion.position_m is not None and inside.any():
            place_m = motion.position_m[inside, motion.column(segment)]
            if np.linalg.norm(place_m - place_m.mean(axis=0), axis=1).max() > choices().first_shift_m:
                return True
    return False


def against_ground(motion: SegmentMotion) -> SegmentMotion:
    """The motion in the axes of the tags on the ground, so that a camera that moves does no harm; as it is without."""
    if GROUND not in motion.segments:
        return motion
    there = motion.is_seen(GROUND)
    back = motion.frame_from_segment[GROUND].inv()
    turned, place_m = {}, None if motion.position_m is None else np.full_like(motion.position_m, np.nan)
    valid = motion.is_valid & there[:, None]
    for column, segment in enumerate(motion.segments):
        known = valid[:, column, None, None]
        matrices = np.where(known, (back * motion.frame_from_segment[segment]).as_matrix(), np.eye(3))
        turned[segment] = Rotation.from_matrix(matrices)
        if place_m is not None and motion.position_m is not None:
            apart_m = motion.position_m[:, column] - motion.position_m[:, motion.column(GROUND)]
            seen = valid[:, column]
            place_m[seen, column] = back[seen].apply(apart_m[seen])
    return replace(motion, frame_from_segment=turned, position_m=place_m, is_valid=valid)


def _measuring(read: TaggedVideo, segment: str) -> Mapping[By, MeasuringNoise]:
    """What measuring a segment frame by frame is off by, against the ground where there are tags on it."""
    noise, back = read.bodies[segment].raw.noise, np.eye(3)
    if GROUND in read.bodies:
        noise = noise + read.bodies[GROUND].raw.noise
        back = read.bodies[GROUND].raw.poses.rotation.transpose(0, 2, 1)
    turned = (back @ noise[:, at, at] @ np.swapaxes(back, -1, -2) for at in (slice(0, 3), slice(3, 6)))
    rotation, position = (MeasuringNoise((each + each.transpose(0, 2, 1)) / 2) for each in turned)
    return {"rotation": rotation, "position": position}


def _lag(
    read: TaggedVideo,
    smoothed_and_raw: tuple[SegmentMotion, SegmentMotion],
    noise_of: Mapping[str, Mapping[By, MeasuringNoise]],
    phase: Phase,
    still_s: Stretch | None,
    pair: tuple[str, str],
) -> PhaseLag:
    motion, raw = smoothed_and_raw
    by = _told_by(motion, phase, pair[1])
    if still_s is not None and still_s[1] >= phase.end_s:
        return PhaseLag(StartLag(by=by), "no start to tell, head and trunk stand still throughout")
    rest_s = None if still_s is None else _rest_s(motion, still_s, by, pair)
    if rest_s is None or rest_s[1] - rest_s[0] < choices().rest_least_s:
        what = "against the ground" if GROUND in motion.segments else "in the picture"
        why_not = (
            f"start lag not known, head and trunk do not stand still {what} for {choices().rest_least_s:g} s before "
            "its start (hold still before the count, and stand the phone on a tripod)"
        )
        return PhaseLag(StartLag(by=by), why_not)
    clocks_s = 0.0
    if isinstance(read, TwoFilms):
        clocks_s = read.between_clocks_sd_s(rest_s[0], phase.end_s, *pair)
    try:
        noise = {name: every[by] for name, every in noise_of.items()}
        lag = start_lag(raw, rest_s, phase.end_s, clocks_s, *pair, by, noise)
    except ValueError as error:
        return PhaseLag(StartLag(by=by), f"start lag not known, {error}")
    return PhaseLag(lag, "" if np.isfinite(lag.lag_s) else lag.said)


def _rest_s(motion: SegmentMotion, still_s: Stretch, by: By, pair: tuple[str, str]) -> Stretch:
    """The still stretch without a slow beginning of the motion that it may have let in.

    What does not turn may shift all the same: by shift it is also without the slow end of the motion before.
    """
    left_s = choices().rest_left_s
    from_s, end_s = still_s
    for segment in pair:
        inside = motion.is_seen(segment) & (motion.time_s >= still_s[0]) & (motion.time_s <= still_s[1])
        time_s, apart = motion.time_s[inside], _displacement(motion, segment, inside, by)
        if (gone := _gone(apart)) is not None:
            end_s = min(end_s, float(time_s[gone]) - left_s)
        if by == "position" and (gone := _gone(apart[::-1])) is not None:
            from_s = max(from_s, float(time_s[::-1][gone]) + left_s)
    return from_s, end_s


def _gone(apart: FloatArray) -> int | None:
    """From which moment on displacements (n, 3) stay beyond those of their first half; None: they do not."""
    chosen, half = choices(), len(apart) // 2
    lasts_count = int(chosen.rest_beyond_lasts_count)
    usual = np.linalg.norm(apart[:half].std(axis=0))
    is_beyond = np.linalg.norm(apart - apart[:half].mean(axis=0), axis=1) > chosen.rest_beyond_ratio * usual
    stays = np.convolve(is_beyond, np.ones(lasts_count), mode="valid") == lasts_count
    stays[:half] = False
    return int(stays.argmax()) if stays.any() else None


def _displacement(motion: SegmentMotion, segment: str, inside: BoolArray, by: By) -> FloatArray:
    """Rotation vectors from the first pose [rad], or places [m], (n, 3)."""
    if by == "position" and motion.position_m is not None:
        place_m: FloatArray = motion.position_m[inside, motion.column(segment)]
        return place_m
    rotation = motion.frame_from_segment[segment][inside]
    turned: FloatArray = (rotation[0].inv() * rotation).as_rotvec()
    return turned


def _told_by(motion: SegmentMotion, phase: Phase, body: str) -> By:
    inside = motion.is_seen(body) & (motion.time_s >= phase.start_s) & (motion.time_s <= phase.end_s)
    if not inside.any() or motion.position_m is None:
        return "rotation"
    rotation = motion.frame_from_segment[body][inside]
    turned_deg = np.degrees((rotation[0].inv() * rotation).magnitude().max())
    return "rotation" if turned_deg >= choices().told_by_turn_deg else "position"
