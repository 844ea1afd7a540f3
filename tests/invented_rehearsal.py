"""Invented films of a rehearsal, as corners without pictures: still, then the trunk starts and the head after it.

Poses are known at every moment, so that each row of a frame can have its own.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.signal import lfilter
from scipy.spatial.transform import Rotation

from onthree.capture.camera import projected
from onthree.capture.poses import SQUARE, Poses
from onthree.capture.rig import Rig
from onthree.capture.tags import Sightings
from tests.invented_film import CAMERA, HEIGHT, LEAST_COSINE, FloatArray, true_rig

STILL_S = (0.0, 1.2)
LIES = Rotation.from_euler("x", 180, degrees=True)
"""Segment axes in those of the camera: cranial up, anterior to the right, right towards the camera."""

PosesAt = Callable[[FloatArray], Poses]


@dataclass(frozen=True, eq=False)
class Rehearsal:
    """A rehearsal: the poses of each segment at any moments, how much later the head starts [s], what was seen."""

    rig: Rig
    poses_at: dict[str, PosesAt]
    lag_s: float
    sightings: Sightings

    def relative(self) -> Rotation:
        """The true rotation of the head on the trunk in each frame."""
        head, trunk = (Rotation.from_matrix(self._poses(name).rotation) for name in ("head", "trunk"))
        return trunk.inv() * head

    def relative_place_m(self) -> FloatArray:
        """The true place (n, 3) of the head's origin in trunk axes in each frame."""
        head, trunk = self._poses("head"), self._poses("trunk")
        place_m: FloatArray = np.einsum("nji,nj->ni", trunk.rotation, head.place_m - trunk.place_m)
        return place_m

    def _poses(self, segment: str) -> Poses:
        return self.poses_at[segment](self.sightings.time_s)


def rehearsal(
    rng: np.random.Generator,
    duration_s: float = 6.0,
    rate_hz: float = 30.0,
    distance_m: float = 2.4,
    sd_px: float = 0.06,
    correlation_ratio: float = 0.0,
    readout_s: float = 0.0,
    rig: Rig | None = None,
    sway_deg: float = 9.0,
) -> Rehearsal:
    """A rehearsal that rolls and shifts, each film in its own way; noise of corners stays by ``correlation_ratio``.

    The head does what the trunk does, only later, and nods, bends and turns on its own by up to ``sway_deg``.
    """
    rig = rig or true_rig()
    time_s = np.arange(int(duration_s * rate_hz)) / rate_hz
    start_s, lag_s = rng.uniform(1.5, 1.9), rng.uniform(-0.1, 0.35)
    lasts_s = rng.uniform(1.8, 3.0)
    roll_rad = rng.choice([-1, 1]) * np.radians(rng.uniform(25, 60))
    tilt_rad, sway = np.radians(rng.uniform(-12, 12, 2)), np.radians(sway_deg * rng.uniform(0.2, 1, 3))
    shift_m, wave_hz = rng.uniform(-0.15, 0.15, 3), rng.uniform(0.2, 0.7, 3)
    begin = LIES * Rotation.from_euler("y", rng.uniform(-40, 40), degrees=True)
    place_m = np.array([0.0, 0.15, distance_m])

    def trunk_at(at_s: FloatArray) -> Poses:
        since = (at_s - start_s) / lasts_s
        moved = _smooth_step(since)
        turned = begin * Rotation.from_euler("YXZ", np.outer(moved, [roll_rad, *tilt_rad]))
        return Poses(turned.as_matrix(), place_m + np.outer(moved, shift_m))

    def head_at(at_s: FloatArray) -> Poses:
        late = trunk_at(at_s - lag_s)
        since_s = np.maximum(at_s - lag_s - start_s, 0)
        angles = sway * _smooth_step(since_s / 2)[:, None] * np.sin(2 * np.pi * np.outer(since_s, wave_hz))
        turned = Rotation.from_matrix(late.rotation) * Rotation.from_euler("ZXY", angles)
        trunk = trunk_at(at_s)
        neck_m = np.array([0.0, 0.36, 0.0]) + 0.02 * angles
        return Poses(turned.as_matrix(), trunk.place_m + np.einsum("nij,nj->ni", trunk.rotation, neck_m))

    poses_at: dict[str, PosesAt] = {"head": head_at, "trunk": trunk_at}
    sightings = seen(rig, poses_at, time_s, sd_px, correlation_ratio, readout_s, rng)
    return Rehearsal(rig, poses_at, lag_s, sightings)


def one_tag_each(rig: Rig, turned_deg: float = 0.0) -> Rig:
    """The rig with a single tag on each segment, the one that faces the camera when it starts."""
    kept = [next(tag for tag in rig.tags if tag.segment == segment) for segment in rig.segments]
    turn = Rotation.from_euler("yx", [turned_deg, turned_deg / 2], degrees=True)
    tags = tuple(replace(tag, rotvec_rad=(Rotation.from_rotvec(tag.rotvec_rad) * turn).as_rotvec()) for tag in kept)
    return replace(rig, tags=tags)


def seen(
    rig: Rig,
    poses_at: dict[str, PosesAt],
    time_s: FloatArray,
    sd_px: float,
    correlation_ratio: float,
    readout_s: float,
    rng: np.random.Generator,
) -> Sightings:
    """The corners of all tags that face the camera; a row's moment is the frame's, and later the lower it lies."""
    frames, tags, corners = [], [], []
    for tag in rig.tags:
        assert tag.centre_m is not None and tag.rotvec_rad is not None
        turn = Rotation.from_rotvec(tag.rotvec_rad)
        inside = turn.apply(SQUARE * tag.size_m) + tag.centre_m
        places = np.stack([_shown(poses_at[tag.segment], corner, time_s, readout_s) for corner in inside], axis=1)
        body = poses_at[tag.segment](time_s)
        centre_m = np.einsum("nij,j->ni", body.rotation, tag.centre_m) + body.place_m
        normal = np.einsum("nij,j->ni", body.rotation, turn.apply([0, 0, 1]))
        facing = -(normal * centre_m).sum(axis=1) > LEAST_COSINE * np.linalg.norm(centre_m, axis=1)
        noise = sd_px * np.sqrt(1 - correlation_ratio**2) * rng.standard_normal(places.shape)
        noise[0] /= np.sqrt(1 - correlation_ratio**2)
        places = places + lfilter([1.0], [1.0, -correlation_ratio], noise, axis=0)
        frames.append(np.flatnonzero(facing))
        tags.append(np.full(int(facing.sum()), tag.id))
        corners.append(places[facing])
    order = np.lexsort((np.concatenate(tags), np.concatenate(frames)))
    return Sightings(time_s, np.concatenate(frames)[order], np.concatenate(tags)[order], np.concatenate(corners)[order])


def _shown(poses_at: PosesAt, point_m: FloatArray, time_s: FloatArray, readout_s: float) -> FloatArray:
    """Pixels (n, 2) of a point, each at the moment its row is read: the frame's own is that of the middle row."""
    at_s = time_s
    for _ in range(6 if readout_s else 1):
        body = poses_at(at_s)
        pixels = projected(CAMERA, np.einsum("nij,j->ni", body.rotation, point_m) + body.place_m)
        at_s = time_s + readout_s * ((pixels[:, 1] + 0.5) / HEIGHT - 0.5)
    return pixels


def _smooth_step(since: FloatArray) -> FloatArray:
    """From 0 to 1 with the least jerk, as a reaching hand moves (Flash and Hogan 1985, from memory)."""
    inside = np.clip(since, 0.0, 1.0)
    step: FloatArray = inside**3 * (10 - 15 * inside + 6 * inside**2)
    return step
