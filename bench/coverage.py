"""How often the stated 95 % of a tagged film holds the truth: per moment, ranges, peaks, other measures, start lag.

Invented films of corners without pictures, each with its own motion, distance, noise and hand-measured rig. Shares are
pooled; the interval is clustered by film. ``judged`` takes any film with its truth, so that rendered films can be
counted in the same way. First argument: how many of them (40). Second: how many rendered films besides (4; up to 48:
docs/accuracy.md tells of 31, of the start lag of all; each takes ten to thirty seconds of processor time).
"""

import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

sys.path.insert(0, str(Path(__file__).parent.parent))

from onthree.actions.measured_lags import phase_lags
from onthree.capture.camera import guessed_camera
from onthree.capture.poses import Poses, cross_matrices
from onthree.capture.rig import Rig
from onthree.capture.tagged_video import TaggedVideo, read_tagged_video, video_from_sightings
from onthree.demo.hard_cases import ordinary_scene
from onthree.demo.staging import movements
from onthree.kinematics.angles import HeadOnTrunk, about_neutral
from onthree.kinematics.bands import bands
from onthree.kinematics.choices import choices
from onthree.kinematics.measures import NAMES, Phase, measures
from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty, SegmentMotion
from onthree.kinematics.start_lag import By

FILMS, RENDERED = 40, 4
LENGTH_S = 5.5
SEEDS = (
    *range(100, 108),
    *(110, 113, 121, 122, 123, 124, 125, 127, 130, 131, 133, 134),
    *(136, 138, 139, 140, 142, 146, 147, 150, 153, 159, 165),
    *(200, 204, 207, 215, 219, 226, 234, 239, 241, 243, 244, 245, 250, 252, 257, 258, 263),
)
"""Rendered ordinary films: the first eight as they come, then those of 720 lines, which are quicker to draw.

The last 17 are those of a phone on a stand: in a hand the start lag is not told.
"""
ROUNDS = 5
GROUPS = {
    "ranges": [name for name in NAMES if name.startswith("range_") and name.endswith("_deg")],
    "peaks": [name for name in NAMES if name.startswith(("peak_", "largest_")) and name.endswith("_deg")],
    "root mean squares": [name for name in NAMES if name.startswith("rms_")],
    "path": ["path_deg"],
    "peak speed": ["peak_speed_deg_s"],
    "translations": [name for name in NAMES if name.endswith("_m")],
}
FIRST, LATER = "start lag (first degree)", "lag at the later size"
WITH_BREATH, OF_THE_SCENE = "start lag, with breath", "lag of the scene"
MANNERS = ("axes by hand", "axes laid on the true ones", "raw, axes laid on the true ones")


@dataclass(frozen=True, eq=False)
class Truth:
    """What a film really shows: head on trunk in each frame, rotation (n) and place (n, 3) [m]; the start lag [s].

    ``starts`` are the lags by the first degree and the later size, by the first centimetre and the later shift, without
    breath and trembling; ``seen_starts`` the same with them.
    """

    rig: Rig
    relative: Rotation
    place_m: FloatArray
    lag_s: float
    starts: Mapping[By, tuple[float, float]]
    seen_starts: Mapping[By, tuple[float, float]]
    still_s: tuple[float, float]
    phase: Phase


Held = Mapping[str, FloatArray]


def judged(video: TaggedVideo, truth: Truth, rng: np.random.Generator) -> dict[str, Held]:
    """Whether each number of a film was held by its band (1 or 0), by manner and group; empty where unknown."""
    laid = [laid_on_the_true_axes(video, motion, truth.rig) for motion in (video.motion, video.raw)]
    errors, raw_errors = (_without_axes(each[0]) for each in (video.uncertainty, video.raw_uncertainty))
    cases = ((video.motion, video.uncertainty[0]), (laid[0], errors), (laid[1], raw_errors))
    held = {
        manner: _held(motion, uncertainty, truth, rng)
        for manner, (motion, uncertainty) in zip(MANNERS, cases, strict=True)
    }
    return {**held, "start lag of the raw track": _lags_held(video, truth)}


def _lags_held(video: TaggedVideo, truth: Truth) -> dict[str, FloatArray]:
    lag = phase_lags(video, [truth.phase])[0].lag
    (first_s, later_s), seen_s = truth.starts[lag.by], truth.seen_starts[lag.by][0]
    pairs = (
        (FIRST, lag, first_s),
        (WITH_BREATH, lag, seen_s),
        (LATER, lag.later, later_s),
        (OF_THE_SCENE, lag, truth.lag_s if lag.by == "rotation" else np.nan),
    )
    return {
        name: np.array([told.low_s <= true_s <= told.high_s], dtype=float)
        if np.isfinite([told.lag_s, true_s]).all()
        else np.zeros(0)
        for name, told, true_s in pairs
    }


def lag_errors_s(video: TaggedVideo, truth: Truth) -> dict[str, float]:
    """How far off the lag of a film is, NaN where it is not known, and against the start itself where that turns."""
    lag = phase_lags(video, [truth.phase])[0].lag
    first_s, later_s = truth.starts[lag.by]
    return {
        FIRST: lag.lag_s - first_s,
        WITH_BREATH: lag.lag_s - truth.seen_starts[lag.by][0],
        LATER: lag.later.lag_s - later_s,
        OF_THE_SCENE: lag.lag_s - truth.lag_s if lag.by == "rotation" else np.nan,
        "its band, wide": lag.high_s - lag.low_s,
    }


def true_starts(
    poses_at: Mapping[str, Callable[[FloatArray], Poses]], still_s: tuple[float, float], until_s: float
) -> dict[By, tuple[float, float]]:
    """The lags by the first size and the later one, by turn and by shift, from the mean pose of a rest."""
    at_s, chosen = np.arange(0.0, until_s, 0.0005), choices()
    is_still = (at_s >= still_s[0]) & (at_s <= still_s[1])
    passed: dict[By, list[FloatArray]] = {"rotation": [], "position": []}
    for segment in ("head", "trunk"):
        poses = poses_at[segment](at_s)
        turned = Rotation.from_matrix(poses.rotation)
        turned_deg = np.degrees((turned * turned[is_still].mean().inv()).magnitude())
        shifted_m = np.linalg.norm(poses.place_m - poses.place_m[is_still].mean(axis=0), axis=1)
        passed["rotation"].append(_passed_s(at_s, turned_deg, (chosen.first_turn_deg, chosen.later_turn_deg)))
        passed["position"].append(_passed_s(at_s, shifted_m, (chosen.first_shift_m, chosen.later_shift_m)))
    lags = {by: head_s - trunk_s for by, (head_s, trunk_s) in passed.items()}
    return {by: (float(both[0]), float(both[1])) for by, both in lags.items()}


def _passed_s(at_s: FloatArray, gone: FloatArray, sizes: tuple[float, float]) -> FloatArray:
    return np.array([at_s[np.argmax(gone >= size)] if (gone >= size).any() else np.nan for size in sizes])


def _held(
    motion: SegmentMotion, uncertainty: RelativeUncertainty, truth: Truth, rng: np.random.Generator
) -> dict[str, FloatArray]:
    still = replace(motion, neutral_s=truth.still_s)
    # the truth is known wherever the film was read: a gap is one for both
    true_track = about_neutral(still, truth.relative, truth.place_m, "head", "trunk")
    true = _numbers(true_track, truth.phase)
    found = bands(still, uncertainty, lambda track: _numbers(track, truth.phase), rng)
    inside = ((found.low <= true) & (true <= found.high)).astype(float)
    is_known = np.isfinite(true)
    count = len(true_track.time_s)
    angles, places, rest = np.split(np.arange(len(true)), [3 * count, 6 * count])
    moments = (true_track.time_s >= truth.phase.start_s) & (true_track.time_s <= truth.phase.end_s)
    groups = {
        "angles at each moment": angles[np.repeat(moments, 3)],
        "places at each moment": places[np.repeat(moments, 3)],
        **{group: rest[[NAMES.index(name) for name in names]] for group, names in GROUPS.items()},
        "moment of the peak": rest[-1:],
    }
    return {group: inside[rows[is_known[rows]]] for group, rows in groups.items()}


def _numbers(track: HeadOnTrunk, phase: Phase) -> FloatArray:
    assert track.position_m is not None
    found = measures(track, phase)
    moment_s = found.moment_s("peak_total_deg")
    return np.concatenate([track.angles_deg.ravel(), track.position_m.ravel(), found.values, [moment_s]])


def _without_axes(uncertainty: RelativeUncertainty) -> RelativeUncertainty:
    kept = np.array([not name.startswith(("axes of", "origin of")) for name in uncertainty.shared_names])
    place = uncertainty.position_shared_m
    return replace(
        uncertainty,
        shared_rad=uncertainty.shared_rad[kept],
        shared_names=tuple(name for name, is_kept in zip(uncertainty.shared_names, kept, strict=True) if is_kept),
        position_shared_m=None if place is None else place[kept],
    )


def laid_on_the_true_axes(video: TaggedVideo, motion: SegmentMotion, rig: Rig) -> SegmentMotion:
    """The motion in the true axes: the found tags of each segment laid as a whole upon the true ones."""
    assert motion.position_m is not None
    position_m, turned = motion.position_m.copy(), dict(motion.frame_from_segment)
    for column, segment in enumerate(motion.segments):
        turn, shift_m = _laid_on(video, rig, segment)
        is_valid = motion.is_seen(segment)
        rotation = motion.frame_from_segment[segment]
        position_m[is_valid, column] += rotation[is_valid].apply(turn.inv().apply(-shift_m))
        quaternions = Rotation.identity(len(is_valid)).as_quat()
        quaternions[is_valid] = (rotation[is_valid] * turn.inv()).as_quat()
        turned[segment] = Rotation.from_quat(quaternions)
    return replace(motion, frame_from_segment=turned, position_m=position_m)


def _laid_on(video: TaggedVideo, rig: Rig, segment: str) -> tuple[Rotation, FloatArray]:
    """The turn and shift that lay the found tags of a segment upon the true ones, each as far as it was believed.

    It is the change of axes whose uncertainty the axes' own errors hold: what is left is that of the layout.
    """
    layout, fit = video.layout, video.layout.fit.layout
    turn, shift_m = Rotation.identity(), np.zeros(3)
    true = {tag.id: tag for tag in rig.tags}
    used = [row for row, tag in enumerate(layout.tags) if tag.segment == segment]
    wanted = [true[layout.tags[row].id] for row in used]
    wanted_turn = Rotation.from_rotvec(np.array([tag.rotvec_rad for tag in wanted]))
    wanted_m = np.array([tag.centre_m for tag in wanted])
    for _ in range(ROUNDS):
        turned = turn * Rotation.from_matrix(fit.rotation[used])
        moved_m = turn.apply(fit.place_m[used]) + shift_m
        off_rad, off_m = (wanted_turn * turned.inv()).as_rotvec(), wanted_m - moved_m
        weigh = np.concatenate([np.full(3, rig.by_hand_rad), np.full(3, rig.by_hand_m)])
        by_turn = np.concatenate([np.tile(np.eye(3), (len(used), 1, 1)), -cross_matrices(moved_m)], axis=1)
        by_shift = np.concatenate([np.zeros((len(used), 3, 3)), np.tile(np.eye(3), (len(used), 1, 1))], axis=1)
        slope = np.concatenate([by_turn, by_shift], axis=2) / weigh[:, None]
        off = np.concatenate([off_rad, off_m], axis=1) / weigh
        change = np.linalg.lstsq(slope.reshape(-1, 6), off.ravel(), rcond=None)[0]
        more = Rotation.from_rotvec(change[:3])
        turn, shift_m = more * turn, more.apply(shift_m) + change[3:]
    return turn, shift_m


def row(held: Sequence[FloatArray]) -> str:
    """The share that was held, pooled, and its 95 % interval, clustered by film."""
    told = [each for each in held if len(each)]
    if not told:
        return "not known in any film"
    counts, sums = np.array([len(each) for each in told]), np.array([each.sum() for each in told])
    share_ratio = sums.sum() / counts.sum()
    off = sums - share_ratio * counts
    half_ratio = 1.96 * np.sqrt(len(told) / max(len(told) - 1, 1) * (off**2).sum()) / counts.sum()
    return f"{100 * share_ratio:5.1f} % (+- {100 * half_ratio:4.1f}) of {counts.sum():6d} in {len(told)} films"


def invented(seed: int) -> tuple[TaggedVideo, Truth]:
    """An invented film of corners, read, and its truth."""
    from tests.invented_film import CAMERA, HEIGHT, WIDTH, measured_by_hand, true_rig
    from tests.invented_rehearsal import STILL_S, rehearsal

    rng = np.random.default_rng(seed)
    film = rehearsal(
        rng,
        distance_m=rng.uniform(1.8, 3.6),
        sd_px=rng.uniform(0.04, 0.15),
        correlation_ratio=rng.uniform(0.0, 0.6),
        sway_deg=6.0,
    )
    camera = guessed_camera(WIDTH, HEIGHT, CAMERA[0] * rng.normal(1.0, 0.05))
    video = video_from_sightings(film.sightings, measured_by_hand(true_rig(), rng), camera, STILL_S)
    last_s = float(film.sightings.time_s[-1])
    phase = Phase("roll", STILL_S[1], last_s)
    starts = true_starts(film.poses_at, STILL_S, last_s)
    return video, Truth(film.rig, film.relative(), film.relative_place_m(), film.lag_s, starts, starts, STILL_S, phase)


def rendered(seed: int) -> tuple[TaggedVideo, Truth]:
    """An ordinary rendered film, read as a user does: no camera, no read-out given."""
    case = ordinary_scene(seed, LENGTH_S)
    known = case.truths[0]
    still_s = (0.1, known.facts["still_s"] - 0.15)
    with tempfile.TemporaryDirectory() as folder:
        video = read_tagged_video(case.film(Path(folder))[0], case.by_hand, neutral_s=still_s)
    phase = Phase("roll", known.facts["still_s"] - 0.1, float(video.film_times_s[-1]))
    assert case.handling is not None
    calm = movements(replace(case.handling, unrest_deg=0.0), LENGTH_S)
    starts, seen_starts = (
        true_starts({name: each.at for name, each in moved.items()}, still_s, LENGTH_S)
        for moved in (calm, case.scene.movements)
    )
    lag_s = known.facts["lag_s"]
    return video, Truth(known.rig, known.rotation, known.place_m, lag_s, starts, seen_starts, still_s, phase)


def error_deg(video: TaggedVideo, truth: Truth) -> FloatArray:
    """Root-mean-square error (3) of the smoothed rotation of head on trunk, axes laid on the true ones."""
    laid = laid_on_the_true_axes(video, video.motion, truth.rig)
    turned = laid.frame_from_segment["trunk"].inv() * laid.frame_from_segment["head"] * truth.relative.inv()
    off_deg = np.degrees(turned.as_rotvec())[laid.is_valid.all(axis=1)]
    root: FloatArray = np.sqrt((off_deg**2).mean(axis=0))
    return root


def count(title: str, films: Iterable[tuple[TaggedVideo, Truth]]) -> None:
    """Judge each film, then print the shares over all of them."""
    found, errors_deg, lags_s, focal_count = [], [], [], 0
    for number, (video, truth) in enumerate(films):
        found.append(judged(video, truth, np.random.default_rng(number)))
        errors_deg.append(error_deg(video, truth))
        lags_s.append(lag_errors_s(video, truth))
        focal_count += any("focal length differs" in flag for flag in video.motion.flags)
    if not found:
        return
    usual, most = np.median(errors_deg, axis=0).round(3), np.max(errors_deg, axis=0).round(3)
    print(f"{title}: {len(found)}")
    print(f"root-mean-square error, degrees: median film {usual}, worst film {most}")
    print(f"a focal length that stays is said to change in {focal_count}")
    for manner, groups in found[0].items():
        print(manner)
        for group in groups:
            print(f"  {group:24} {row([film[manner][group] for film in found])}")
    for name in lags_s[0]:
        off_ms = 1000 * np.abs([each[name] for each in lags_s])
        off_ms = off_ms[np.isfinite(off_ms)]
        if len(off_ms):
            usual, most = np.quantile(off_ms, (0.5, 0.9))
            print(f"  {name}: median {usual:.1f} ms, 9 in 10 {most:.1f} ms, {len(off_ms)} films")


def main() -> None:
    """Read the films, count, print."""
    counts = [int(given) for given in sys.argv[1:]] + [FILMS, RENDERED][len(sys.argv) - 1 :]
    count("invented films of corners", (invented(seed) for seed in range(counts[0])))
    count("rendered films", (rendered(seed) for seed in SEEDS[: counts[1]]))


if __name__ == "__main__":
    main()
