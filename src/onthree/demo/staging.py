"""Stages invented rehearsals: tags on a boom and a stalk, how body and head move, where phones stand.

The athlete lies supine along the room's X, head towards +X, right side away from the first phone. Nothing lies under
the athlete: the head's tags sit on a short boom from the face mask, the trunk's on a stalk from the sternum through the
neck of the jersey; each is a small fan of plates that is seen from many sides.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.poses import Poses
from onthree.capture.rig import Rig, RigTag
from onthree.demo.scene import Blob, Movement, Phone, looking, still

FloatArray = NDArray[np.float64]

SUPINE = Rotation.from_matrix(np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]]))
"""Turns trunk axes into the room's: X anterior goes up, Y cranial goes along, Z right goes away."""
LYING_M = np.array([0.0, 0.0, 0.12])
ROLLED_OVER_M = np.array([0.0, -0.20, 0.0])
"""The edge that the trunk rolls over, on the first phone's side; on the other side it is mirrored."""
NECK_M, HEAD_ON_NECK_M = np.array([0.0, 0.27, 0.0]), np.array([0.02, 0.13, 0.0])
BOOM_M, STALK_M = np.array([0.25, 0.02, 0.0]), np.array([0.20, 0.06, 0.0])
LOOKED_AT_M = np.array([0.2, 0.0, 0.25])
STEP_S = 0.004
OWN_AFTER_S, OWN_WITHIN_S = 0.4, 0.6
"""The head's own motion on the trunk begins so long after the head is set moving, and within so long."""


def fan(segment: str, first_id: int, around_m: FloatArray, size_m: float, sides: int = 6) -> list[RigTag]:
    """Plates around a rod that points forward, leaning to and fro in turn, and one on its end."""
    plate_m = size_m * 10 / 8 + 0.006
    radius_m = plate_m / 2 / np.tan(np.pi / sides) + 0.012
    tags = []
    for index in range(sides):
        leaning = np.radians(32.0 if index % 2 == 0 else -18.0)
        azimuth = 2 * np.pi * index / sides + 0.12
        outward = np.array([0, np.cos(azimuth), np.sin(azimuth)])
        face = np.cos(leaning) * outward + np.sin(leaning) * np.array([1.0, 0, 0])
        up = np.array([1.0, 0, 0]) * np.cos(leaning) - np.sin(leaning) * outward
        turned = Rotation.from_matrix(np.stack([np.cross(up, face), up, face], axis=1))
        tags.append(RigTag(first_id + index, segment, size_m, around_m + radius_m * outward, turned.as_rotvec()))
    end = Rotation.from_euler("yx", [np.pi / 2, 0.08])
    tip_m = around_m + np.array([plate_m * 0.75, 0, 0])
    return [*tags, RigTag(first_id + sides, segment, size_m, tip_m, end.as_rotvec())]


def boom_and_stalk(head_size_m: float = 0.08, trunk_size_m: float = 0.09, has_more: bool = False) -> Rig:
    """The usual layout; with more, also two tags on the helmet's sides and two on the shoulders."""
    tags = fan("head", 0, BOOM_M, head_size_m) + fan("trunk", 20, STALK_M, trunk_size_m)
    if has_more:
        for first, segment, size_m, centre_m in (
            (10, "head", head_size_m, np.array([0.02, 0.06, 0.16])),
            (30, "trunk", trunk_size_m, np.array([0.06, 0.12, 0.25])),
        ):
            for side, name in ((1, first), (-1, first + 1)):
                turned = Rotation.from_euler("yx", [0.25 if side > 0 else np.pi - 0.25, -0.2])
                tags.append(RigTag(name, segment, size_m, centre_m * (1, 1, side), turned.as_rotvec()))
    return Rig("tag36h11", "boom on the face mask, stalk on the sternum (invented)", tuple(tags), 0.01, 0.09)


def measured_by_hand(rig: Rig, rng: np.random.Generator, off_m: float = 0.008, off_deg: float = 4.0) -> Rig:
    """The rig as a person with a ruler writes it down."""
    tags = []
    for tag in rig.tags:
        if tag.centre_m is None or tag.rotvec_rad is None:
            raise ValueError(f"tag {tag.id}: a true rig has a place for every tag")
        off = Rotation.from_rotvec(rng.normal(0, np.radians(off_deg), 3))
        turned = (off * Rotation.from_rotvec(tag.rotvec_rad)).as_rotvec()
        tags.append(replace(tag, centre_m=tag.centre_m + rng.normal(0, off_m, 3), rotvec_rad=turned))
    return replace(rig, tags=tuple(tags), by_hand_m=off_m, by_hand_rad=float(np.radians(off_deg)))


@dataclass(frozen=True)
class Handling:
    """What the team does: after a still stretch the body goes, is held there, and comes back.

    ``roll_deg`` is positive towards the first phone. The head follows ``lag_s`` after the body, and moves on it by
    ``head_deg`` (extension, right lateral bending, left axial rotation) at most, and by a slow random ``wander_deg``.
    Nobody is ever quite still: ``unrest_deg`` is how far breath and trembling hands turn each segment, all the while.
    """

    still_s: float = 2.0
    go_s: float = 1.8
    hold_s: float = 0.8
    roll_deg: float = 0.0
    lift_m: float = 0.0
    slide_m: float = 0.0
    tilt_deg: float = 0.0
    lag_s: float = 0.0
    head_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)
    wander_deg: float = 0.0
    unrest_deg: float = 0.04
    seed: int = 0

    @property
    def until_s(self) -> float:
        """When all is still again."""
        return self.still_s + 2 * self.go_s + self.hold_s + max(self.lag_s, 0.0)


def minimum_jerk(share: FloatArray) -> FloatArray:
    """The smooth way from 0 to 1 of least jerk (Flash and Hogan 1985), for the share of its time that has passed."""
    part = np.clip(share, 0, 1)
    gone: FloatArray = part**3 * (10 - 15 * part + 6 * part**2)
    return gone


def movements(handling: Handling, length_s: float) -> dict[str, Movement]:
    """How trunk and head move in the room."""
    time_s = np.arange(0, length_s + STEP_S, STEP_S)
    trunk = _trunk(handling, time_s)
    late = _trunk(handling, time_s - handling.lag_s)
    head = Rotation.from_matrix(late.rotation) * _own(handling, time_s)
    rng = np.random.default_rng((handling.seed, 1))
    trunk = Poses(trunk.rotation @ _unrest(handling, time_s, rng).as_matrix(), trunk.place_m)
    head = head * _unrest(handling, time_s, rng)
    neck_m = trunk.place_m + trunk.rotation @ NECK_M
    return {
        "head": Movement(time_s, Poses(head.as_matrix(), neck_m + head.apply(HEAD_ON_NECK_M))),
        "trunk": Movement(time_s, trunk),
    }


def _trunk(handling: Handling, time_s: FloatArray) -> Poses:
    back_s = handling.still_s + handling.go_s + handling.hold_s
    away = minimum_jerk((time_s - handling.still_s) / handling.go_s) - minimum_jerk((time_s - back_s) / handling.go_s)
    over_m = ROLLED_OVER_M * (1, 1 if handling.roll_deg >= 0 else -1, 1)
    rolled = Rotation.from_euler("x", away[:, None] * handling.roll_deg, degrees=True)
    tilted = Rotation.from_euler("y", -away[:, None] * handling.tilt_deg, degrees=True)
    place_m = over_m + rolled.apply(LYING_M - over_m)
    place_m += away[:, None] * np.array([handling.slide_m, 0, handling.lift_m])
    return Poses((tilted * rolled * SUPINE).as_matrix(), place_m)


def _unrest(handling: Handling, time_s: FloatArray, rng: np.random.Generator) -> Rotation:
    """Slow breath and quick trembling about every axis."""
    turned_deg = np.zeros((len(time_s), 3))
    for low_hz, high_hz, share in ((0.2, 0.35, 1.0), (1.0, 2.0, 0.3), (4.0, 9.0, 0.25)):
        for axis in range(3):
            phase = 2 * np.pi * (rng.uniform(low_hz, high_hz) * time_s + rng.uniform())
            turned_deg[:, axis] += handling.unrest_deg * share * np.sin(phase)
    return Rotation.from_rotvec(turned_deg, degrees=True)


def _own(handling: Handling, time_s: FloatArray) -> Rotation:
    """The head on the trunk, apart from what its lag makes: zero while all is still."""
    rng = np.random.default_rng(handling.seed)
    start_s = handling.still_s + handling.lag_s + OWN_AFTER_S
    rises = minimum_jerk((time_s - start_s) / OWN_WITHIN_S)
    angles_deg = np.zeros((len(time_s), 3))
    for axis, most_deg in enumerate(handling.head_deg):
        peak_s = handling.still_s + handling.go_s + rng.uniform(-0.3, 0.5) * handling.hold_s
        hump = minimum_jerk((time_s - start_s) / max(peak_s - start_s, 0.3)) - minimum_jerk(
            (time_s - peak_s - 0.2 * handling.hold_s) / handling.go_s
        )
        sines = [np.sin(2 * np.pi * rng.uniform(0.15, 0.7) * time_s + rng.uniform(0, 2 * np.pi)) for _ in range(3)]
        angles_deg[:, axis] = most_deg * hump + handling.wander_deg * rises * np.sum(sines, axis=0) / 2
    return Rotation.from_euler("ZXY", angles_deg, degrees=True)


def frame_times(
    rate_hz: float, length_s: float, rng: np.random.Generator, jitter_s: float = 0.0, start_s: float = 0.01
) -> FloatArray:
    """Times of frames: evenly, or each interval off by a jitter as phones do."""
    steps_s = 1 / rate_hz + np.clip(rng.normal(0, 1, int(length_s * rate_hz)), -2.5, 2.5) * jitter_s
    times_s: FloatArray = start_s + np.concatenate([[0.0], np.cumsum(np.maximum(steps_s, 0.2 / rate_hz))])
    return times_s[times_s < start_s + length_s]


def lens(width: int, height: int, rng: np.random.Generator) -> FloatArray:
    """A camera (8) as phones have them: focal length 0.70 to 0.80 of the longer side, some distortion."""
    focal_px = rng.uniform(0.70, 0.80) * max(width, height)
    centre_px = np.array([width - 1, height - 1]) / 2 + rng.normal(0, 0.003 * width, 2)
    bent = [rng.uniform(0.0, 0.07), rng.uniform(-0.11, -0.02), *rng.normal(0, 0.0004, 2)]
    return np.array([focal_px, 1 + rng.normal(0, 0.001), *centre_px, *bent])


def stand(distance_m: float, height_m: float, round_deg: float, roll_deg: float = 0.0) -> Movement:
    """A phone on a stand: round the athlete from the left side (0) towards the head (90) to the right side (180)."""
    azimuth = np.radians(round_deg)
    towards = np.array([np.sin(azimuth), -np.cos(azimuth), 0])
    level_m = np.sqrt(max(distance_m**2 - (height_m - LOOKED_AT_M[2]) ** 2, 0.1))
    from_m = LOOKED_AT_M * (1, 1, 0) + level_m * towards + np.array([0, 0, height_m])
    return looking(from_m, LOOKED_AT_M, roll_deg)


def held(stand_at: Movement, length_s: float, rng: np.random.Generator, sway_m: float = 0.008) -> Movement:
    """A phone in a hand: the stand, swaying and trembling."""
    time_s = np.arange(0, length_s + STEP_S, 2 * STEP_S)
    first = stand_at.at(np.zeros(1))
    turns, shifts = np.zeros((len(time_s), 3)), np.zeros((len(time_s), 3))
    for low_hz, high_hz, size in ((0.2, 0.6, 1.0), (0.8, 1.8, 0.35), (6.0, 9.0, 0.03)):
        for axis in range(3):
            for target, scale in ((turns, np.radians(0.5)), (shifts, sway_m)):
                phase = 2 * np.pi * (rng.uniform(low_hz, high_hz) * time_s + rng.uniform())
                target[:, axis] += size * scale * np.sin(phase)
    turned = first.rotation @ Rotation.from_rotvec(turns).as_matrix()
    return Movement(time_s, Poses(turned, first.place_m + shifts))


def body_blobs() -> tuple[Blob, ...]:
    """Helmet and trunk, drawn behind the tags."""
    helmet = Blob("head", still(), np.array([0.14, 0.12, 0.115]), 0.62, 1)
    chest = Blob("trunk", still(None, np.array([0, -0.12, 0])), np.array([0.115, 0.34, 0.2]), 0.33, 2)
    return helmet, chest


def passing(
    start_s: float, length_s: float, from_m: Sequence[float], to_m: Sequence[float], radii_m: Sequence[float]
) -> Blob:
    """A body that passes through the room, there only while it passes."""
    away_m = np.array([0.0, 0.0, -30.0])
    places_m = np.array([away_m, from_m, to_m, away_m])
    time_s = np.array([start_s - 1e-3, start_s, start_s + length_s, start_s + length_s + 1e-3])
    return Blob("room", Movement(time_s, Poses(np.tile(np.eye(3), (4, 1, 1)), places_m)), np.array(radii_m), 0.28, 7)


def hand_on(segment: str, centre_m: Sequence[float], start_s: float, length_s: float) -> tuple[Blob, ...]:
    """A hand and its forearm that cover something on a segment for a while."""
    parts = ((np.zeros(3), (0.05, 0.045, 0.06)), (np.array([0.0, 0.03, -0.14]), (0.04, 0.04, 0.13)))
    blobs = []
    for shift_m, radii_m in parts:
        there, away = np.asarray(centre_m) + shift_m, np.array([-30.0, 0, 0])
        time_s = np.array([start_s - 0.15, start_s, start_s + length_s, start_s + length_s + 0.15])
        beside = there + np.array([0.0, 0.05, -0.5])
        places_m = np.array([beside, there, there, beside])
        hidden = np.array([time_s[0] - 1e-3, *time_s, time_s[-1] + 1e-3])
        path = Poses(np.tile(np.eye(3), (6, 1, 1)), np.array([away, *places_m, away]))
        blobs.append(Blob(segment, Movement(hidden, path), np.array(radii_m), 0.5, 5))
    return tuple(blobs)


def phone_on(
    place: Movement, size: tuple[int, int], frame_s: FloatArray, rng: np.random.Generator, exposure_s: float = 1 / 240
) -> Phone:
    """A phone with a lens of its own."""
    return Phone(lens(*size, rng), *size, place, frame_s, exposure_s)
