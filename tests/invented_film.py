"""An invented film of printed tags: two segments that turn before a camera, and the corners it sees, with noise."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import projected
from onthree.capture.poses import SQUARE, Poses
from onthree.capture.rig import Rig, RigTag
from onthree.capture.tags import Sightings

FloatArray = NDArray[np.float64]

CAMERA = np.array([1450.0, 1.001, 962.0, 537.0, 0.04, -0.05, 0.0004, -0.0003])
WIDTH, HEIGHT = 1920, 1080
LEAST_COSINE = 0.3
"""A tag turned further away than this is not seen."""


@dataclass(frozen=True, eq=False)
class InventedFilm:
    """The true rig and poses in camera axes by segment, and what was seen of them."""

    rig: Rig
    bodies: dict[str, Poses]
    sightings: Sightings

    def relative(self) -> Rotation:
        """The true rotation of the head on the trunk."""
        head, trunk = (Rotation.from_matrix(self.bodies[name].rotation) for name in ("head", "trunk"))
        return trunk.inv() * head


def true_rig() -> Rig:
    """Five tags around the head, six around the trunk, on no common plane."""
    tags = []
    for segment, first, count, radius_m, size_m in (("head", 0, 5, 0.14, 0.07), ("trunk", 20, 6, 0.20, 0.09)):
        for index in range(count):
            around = Rotation.from_euler("yx", [index * 2 * np.pi / count, 0.35 * (-1) ** index])
            centre_m = around.apply([0, 0.03 * (index % 3), radius_m])
            tags.append(RigTag(first + index, segment, size_m, centre_m, around.as_rotvec()))
    return Rig("tag36h11", "helmet on trunk", tuple(tags), by_hand_m=0.01, by_hand_rad=0.09)


def measured_by_hand(rig: Rig, rng: np.random.Generator) -> Rig:
    """The rig as a person with a ruler would write it down: 8 mm and 4 degrees off."""
    tags = []
    for tag in rig.tags:
        assert tag.centre_m is not None and tag.rotvec_rad is not None
        turned = Rotation.from_rotvec(rng.normal(0, np.radians(4), 3)) * Rotation.from_rotvec(tag.rotvec_rad)
        tags.append(replace(tag, centre_m=tag.centre_m + rng.normal(0, 0.008, 3), rotvec_rad=turned.as_rotvec()))
    return replace(rig, tags=tuple(tags), by_hand_m=0.008, by_hand_rad=np.radians(4))


def invented_film(
    rng: np.random.Generator, frames: int = 120, sd_px: float = 0.05, rig: Rig | None = None
) -> InventedFilm:
    """A film of 30 frames a second, 2.2 m away: the trunk rolls, the head nods, bends and turns on it."""
    rig = rig or true_rig()
    time_s = np.arange(frames) / 30
    trunk = Rotation.from_euler("xyz", [np.pi, 0, 0]) * Rotation.from_euler(
        "yxz",
        np.stack([0.9 * np.sin(0.9 * time_s), 0.35 * np.sin(0.6 * time_s + 1), 0.2 * np.sin(0.5 * time_s)], axis=1),
    )
    relative = Rotation.from_euler(
        "ZXY", np.stack([0.3 * np.sin(2 * time_s), 0.2 * np.sin(1.7 * time_s), 0.4 * np.sin(1.1 * time_s)], axis=1)
    )
    place_m = np.array([0.1, 0.25, 2.2]) + 0.05 * np.sin(np.outer(time_s, [0.7, 0.5, 0.9]))
    head = trunk * relative
    bodies = {
        "head": Poses(head.as_matrix(), place_m + trunk.apply([0.0, 0.38, 0.0])),
        "trunk": Poses(trunk.as_matrix(), place_m),
    }
    return InventedFilm(rig, bodies, seen(rig, bodies, time_s, sd_px, rng))


def seen(rig: Rig, bodies: dict[str, Poses], time_s: FloatArray, sd_px: float, rng: np.random.Generator) -> Sightings:
    """The corners of all tags that face the camera, by frame."""
    frame, tag_ids, corners = [], [], []
    for tag in rig.tags:
        assert tag.centre_m is not None and tag.rotvec_rad is not None
        body = bodies[tag.segment]
        turned = Rotation.from_matrix(body.rotation) * Rotation.from_rotvec(tag.rotvec_rad)
        centre_m = np.einsum("nij,j->ni", body.rotation, tag.centre_m) + body.place_m
        points = np.stack([turned.apply(corner * tag.size_m) for corner in SQUARE], axis=1) + centre_m[:, None]
        towards = -centre_m / np.linalg.norm(centre_m, axis=1, keepdims=True)
        facing = np.flatnonzero((turned.apply([0, 0, 1]) * towards).sum(axis=1) > LEAST_COSINE)
        corners.append(projected(CAMERA, points[facing]))
        frame.append(facing)
        tag_ids.append(np.full(len(facing), tag.id))
    order = np.lexsort((np.concatenate(tag_ids), np.concatenate(frame)))
    places = np.concatenate(corners)[order]
    places = places + rng.normal(0, sd_px, places.shape)
    return Sightings(time_s, np.concatenate(frame)[order], np.concatenate(tag_ids)[order], places)
