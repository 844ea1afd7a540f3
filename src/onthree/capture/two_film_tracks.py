"""Brings what the second film saw to the moments and into the axes of the first, and makes one track of both.

Frames of two films fall at different moments. A frame of the second film counts for the nearest frame of the first,
carried there by the smoothed speed of its own film; a frame of the first film without such a neighbour takes the
nearest of the second within half its step. A frame that counts twice has half the weight each time.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.poses import Poses, cross_matrices
from onthree.capture.tracks import Estimate, Track, smoothed_estimate
from onthree.kinematics.choices import choices

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Pairs:
    """Frames (p) of the first and second film that show one moment, how much later the first is [s], and weights."""

    first: IntArray
    second: IntArray
    later_s: FloatArray
    weight: FloatArray

    def of(self, is_kept: BoolArray) -> "Pairs":
        """Some of the pairs, weights for these alone."""
        first, second = self.first[is_kept], self.second[is_kept]
        return Pairs(first, second, self.later_s[is_kept], 1 / np.bincount(second, minlength=1)[second])


def paired(first_s: FloatArray, second_s: FloatArray) -> Pairs:
    """Frames that belong together, both times on the first film's clock; sorted by the second film's frame."""
    steps_s = [min(float(np.median(np.diff(time_s))), choices().longest_step_s) for time_s in (first_s, second_s)]
    of_second = _nearest(first_s, second_s)
    is_near = np.abs(first_s[of_second] - second_s) <= 0.6 * steps_s[0]
    alone = np.setdiff1d(np.arange(len(first_s)), of_second[is_near])
    of_first = _nearest(second_s, first_s[alone])
    is_close = np.abs(second_s[of_first] - first_s[alone]) <= 0.6 * steps_s[1]
    first = np.concatenate([of_second[is_near], alone[is_close]])
    second = np.concatenate([np.flatnonzero(is_near), of_first[is_close]])
    order = np.lexsort((first, second))
    first, second = first[order], second[order]
    every = np.ones(len(first), dtype=bool)
    return Pairs(first, second, first_s[first] - second_s[second], np.ones(len(first))).of(every)


def _nearest(sorted_s: FloatArray, wanted_s: FloatArray) -> IntArray:
    after = np.clip(np.searchsorted(sorted_s, wanted_s), 1, len(sorted_s) - 1)
    is_before = wanted_s - sorted_s[after - 1] < sorted_s[after] - wanted_s
    return np.where(is_before, after - 1, after)


def speeds_between(track: Track, time_s: FloatArray, rows: IntArray, later_s: FloatArray) -> FloatArray:
    """The smoothed speed (p, 6) halfway between the frames ``rows`` and moments ``later_s`` after them."""
    known = np.flatnonzero(track.is_valid)
    if not len(rows):
        return np.zeros((0, 6))
    halfway_s = time_s[rows] + later_s / 2
    speed = track.smoothed.speed[known]
    return np.stack([np.interp(halfway_s, time_s[known], speed[:, axis]) for axis in range(6)], axis=1)


def carried(estimate: Estimate, rows: IntArray, speed: FloatArray, later_s: FloatArray) -> Poses:
    """The poses of frames ``rows`` (p), ``later_s`` after them."""
    way = speed * later_s[:, None]
    turned = Rotation.from_rotvec(way[:, :3]).as_matrix() @ estimate.poses.rotation[rows]
    return Poses(turned, estimate.poses.place_m[rows] + way[:, 3:])


@dataclass(frozen=True, eq=False)
class Brought:
    """A segment as the second film saw it, in the first camera's axes at moments of the first film (p).

    ``noise`` (p, 6, 6) and ``shared`` (p, 6, k), rotation vector [rad] and place [m] in these axes; ``tags_count`` (p).
    """

    frame: IntArray
    poses: Poses
    noise: FloatArray
    shared: FloatArray
    weight: FloatArray
    tags_count: IntArray

    def of(self, is_kept: BoolArray) -> "Brought":
        """Some of the moments."""
        kept = np.flatnonzero(is_kept)
        return Brought(
            self.frame[kept],
            self.poses[kept],
            self.noise[kept],
            self.shared[kept],
            self.weight[kept],
            self.tags_count[kept],
        )


@dataclass(frozen=True, eq=False)
class Placed:
    """The second camera in the first's axes, and what each named error does to it (6, k) and to the clock (2, k)."""

    pose: Poses
    pose_errors: FloatArray
    clock_errors: FloatArray


@dataclass(frozen=True, eq=False)
class Turned:
    """What each named error does to the axes that the second film gave each segment (3, k), and to the clock (2, k)."""

    axes_errors: Mapping[str, FloatArray]
    clock_errors: FloatArray


def brought(track: Track, time_s: FloatArray, pairs: Pairs, placed: Placed) -> Brought:
    """A segment of the second film, its camera standing still."""
    pairs = pairs.of(track.is_valid[pairs.second])
    rows = pairs.second
    speed = speeds_between(track, time_s, rows, pairs.later_s)
    there = carried(track.raw, rows, speed, pairs.later_s)
    turn = placed.pose.rotation[0]
    both = np.kron(np.eye(2), turn)
    shared = both @ track.shared[:, rows].transpose(1, 2, 0)
    shared[:, :3] += turn @ placed.pose_errors[:3]
    shared[:, 3:] += placed.pose_errors[3:] - turn @ cross_matrices(there.place_m) @ placed.pose_errors[:3]
    clock = placed.clock_errors[0] + time_s[rows, None] * placed.clock_errors[1]
    shared -= (speed @ both.T)[:, :, None] * clock[:, None]
    poses = placed.pose[np.zeros(len(rows), int)].after(there)
    noise = both @ track.raw.noise[rows] @ both.T
    return Brought(pairs.first, poses, noise, shared, pairs.weight, track.sightings_count[rows])


def brought_by(
    segment: str,
    base: str,
    tracks: tuple[Mapping[str, Track], Mapping[str, Track]],
    time_s: FloatArray,
    pairs: Pairs,
    turned: Turned,
) -> Brought:
    """A segment of the second film by how it stands on another one that both films see: cameras may move."""
    first, second = tracks[0][base], tracks[1][base]
    moving = tracks[1][segment]
    known = first.is_valid[pairs.first] & second.is_valid[pairs.second] & moving.is_valid[pairs.second]
    pairs = pairs.of(known)
    rows = pairs.second
    speeds = [speeds_between(track, time_s, rows, pairs.later_s) for track in (moving, second)]
    there, ground = (
        carried(track.raw, rows, speed, pairs.later_s) for track, speed in zip((moving, second), speeds, strict=True)
    )
    here = first.raw.poses[pairs.first]
    poses = here.after(ground.inverse().after(there))
    turn = here.rotation @ ground.rotation.transpose(0, 2, 1)
    of_moving, of_ground, of_here = (np.zeros((len(rows), 6, 6)) for _ in range(3))
    of_moving[:, :3, :3] = of_moving[:, 3:, 3:] = turn
    of_ground[:, :3, :3] = of_ground[:, 3:, 3:] = -turn
    of_ground[:, 3:, :3] = turn @ cross_matrices(there.place_m - ground.place_m)
    of_here[:] = np.eye(6)
    of_here[:, 3:, :3] = -cross_matrices(poses.place_m - here.place_m)
    noise = of_moving @ moving.raw.noise[rows] @ of_moving.transpose(0, 2, 1)
    noise += of_ground @ second.raw.noise[rows] @ of_ground.transpose(0, 2, 1)
    noise += of_here @ first.raw.noise[pairs.first] @ of_here.transpose(0, 2, 1)
    shared = of_moving @ moving.shared[:, rows].transpose(1, 2, 0)
    shared += of_ground @ second.shared[:, rows].transpose(1, 2, 0)
    shared += of_here @ first.shared[:, pairs.first].transpose(1, 2, 0)
    speed = np.einsum("nij,nj->ni", of_moving, speeds[0]) + np.einsum("nij,nj->ni", of_ground, speeds[1])
    shared -= speed[:, :, None] * (turned.clock_errors[0] + time_s[rows, None] * turned.clock_errors[1])[:, None]
    shared[:, :3] += poses.rotation @ turned.axes_errors[segment] - here.rotation @ turned.axes_errors[base]
    return Brought(pairs.first, poses, noise, shared, pairs.weight, moving.sightings_count[rows])


def merged(
    track: Track, other: Brought, time_s: FloatArray, other_step_s: float, other_correlation_s: float
) -> tuple[Track, FloatArray]:
    """One track of both by information, and the share (n) of it that the second film has in the rotation.

    Frames of the second film, ``other_step_s`` apart, that count for one frame of the first err alike in part.
    """
    count, names = len(time_s), track.shared_names
    start = np.full(count, -1)
    start[other.frame[::-1]] = np.arange(len(other.frame))[::-1]
    is_valid = track.is_valid | (start >= 0)
    only = ~track.is_valid & (start >= 0)
    rotation, place_m = track.raw.poses.rotation.copy(), track.raw.poses.place_m.copy()
    rotation[only], place_m[only] = other.poses.rotation[start[only]], other.poses.place_m[start[only]]
    own = np.zeros((count, 6, 6))
    own[track.is_valid] = np.linalg.inv(track.raw.noise[track.is_valid])
    times = np.bincount(other.frame, minlength=count)[other.frame]
    weight = other.weight / (1 + (times - 1) * np.exp(-other_step_s / other_correlation_s))
    added = np.linalg.inv(other.noise) * weight[:, None, None]
    turned = Rotation.from_matrix(other.poses.rotation @ rotation[other.frame].transpose(0, 2, 1)).as_rotvec()
    off = np.concatenate([turned, other.poses.place_m - place_m[other.frame]], axis=1)
    theirs, pull = np.zeros((count, 6, 6)), np.zeros((count, 6))
    shared = own @ track.shared.transpose(1, 2, 0)
    np.add.at(theirs, other.frame, added)
    np.add.at(pull, other.frame, np.einsum("nij,nj->ni", added, off))
    np.add.at(shared, other.frame, added @ other.shared)
    noise = np.zeros((count, 6, 6))
    noise[is_valid] = np.linalg.inv((own + theirs)[is_valid])
    change = np.einsum("nij,nj->ni", noise, pull)
    poses = Poses(Rotation.from_rotvec(change[:, :3]).as_matrix() @ rotation, place_m + change[:, 3:])
    tags_count = track.sightings_count.copy()
    np.add.at(tags_count, other.frame, other.tags_count)
    lasting_s = max(track.raw.correlation_s, other_correlation_s)
    raw = Estimate(poses, (noise + noise.transpose(0, 2, 1)) / 2, lasting_s, lasting_s, track.raw.speed)
    step_s = float(np.median(np.diff(time_s)))
    ratio = float(np.exp(-step_s / raw.correlation_s))
    smooth = smoothed_estimate(time_s, is_valid, raw, (1 + ratio) / (1 - ratio))
    share: FloatArray = np.clip(np.einsum("nii->n", (noise @ theirs)[:, :3, :3]) / 3, 0.0, 1.0)
    apart_rad = np.where(is_valid, np.nan, track.apart_rad)
    return Track(is_valid, raw, smooth, (noise @ shared).transpose(2, 0, 1), names, tags_count, apart_rad), share
