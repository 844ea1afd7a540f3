"""A rehearsal to be filmed, all of it known exactly: who moves how, which tags sit where, which phones film it.

The room's axes: X along the athlete, Y away from the first phone, Z up. Camera axes: x right, y down, z forward.
A frame's time is the middle of the exposure of its middle row.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.poses import SQUARE, Poses
from onthree.capture.rig import Rig, RigTag

FloatArray = NDArray[np.float64]
ByteArray = NDArray[np.uint8]

ROOM = "room"
"""The name of the axes that everything moves in."""
CELLS = 8
"""Cells along the black square of a tag of 6 x 6 bits."""


@dataclass(frozen=True, eq=False)
class Movement:
    """Poses (n) at rising times (n) [s]: turned evenly and straight between them, still before and after."""

    time_s: FloatArray
    poses: Poses

    @property
    def is_still(self) -> bool:
        """Whether it never moves."""
        return len(self.time_s) == 1

    @cached_property
    def _quaternions(self) -> FloatArray:
        turned = Rotation.from_matrix(self.poses.rotation).as_quat()
        flips = np.where((turned[1:] * turned[:-1]).sum(axis=1) < 0, -1.0, 1.0)
        turned[1:] *= np.cumprod(flips)[:, None]
        return turned

    def at(self, time_s: FloatArray) -> Poses:
        """The poses (k) at times (k)."""
        if self.is_still:
            rows = np.zeros(len(time_s), np.int64)
            return self.poses[rows]
        place = np.interp(time_s, self.time_s, np.arange(len(self.time_s)))
        first = np.minimum(place.astype(np.int64), len(self.time_s) - 2)
        share = (place - first)[:, None]
        turned = self._quaternions[first] * (1 - share) + self._quaternions[first + 1] * share
        places_m = self.poses.place_m[first] * (1 - share) + self.poses.place_m[first + 1] * share
        return Poses(Rotation.from_quat(turned).as_matrix(), places_m)


def still(rotation: FloatArray | None = None, place_m: FloatArray | None = None) -> Movement:
    """Something that stays where it is: rotation (3, 3) and place (3)."""
    turned = np.eye(3) if rotation is None else np.asarray(rotation, dtype=float)
    where_m = np.zeros(3) if place_m is None else np.asarray(place_m, dtype=float)
    return Movement(np.zeros(1), Poses(turned[None], where_m[None]))


def looking(from_m: FloatArray, at_m: FloatArray, roll_deg: float = 0.0) -> Movement:
    """A camera at one point (3) that looks at another (3), turned about its own axis."""
    forward = np.asarray(at_m, dtype=float) - from_m
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    level = np.stack([right, np.cross(forward, right), forward], axis=1)
    return still(level @ Rotation.from_euler("z", roll_deg, degrees=True).as_matrix(), from_m)


@dataclass(frozen=True, eq=False)
class Slip:
    """From a moment on a plate sits shifted (3) [m] and turned (3) [rad], in its own axes."""

    at_s: float
    shift_m: FloatArray
    turn_rad: FloatArray


@dataclass(frozen=True, eq=False)
class Plate:
    """A stiff printed plate on a segment or in the room: x right, y up, z out of its face, origin in the middle.

    ``image`` (rows, columns) is the print from edge to edge.
    """

    frame: str
    pose: Poses
    width_m: float
    image: ByteArray
    slip: Slip | None = None

    @property
    def height_m(self) -> float:
        """The other side of the plate."""
        rows, columns = self.image.shape
        return float(self.width_m * rows / columns)

    def frame_from_plate(self, time_s: FloatArray) -> Poses:
        """Where the plate sits on its segment at times (k)."""
        sits = self.pose[np.zeros(len(time_s), np.int64)]
        if self.slip is None:
            return sits
        has_slipped = (time_s >= self.slip.at_s)[:, None]
        change = Poses(
            Rotation.from_rotvec(has_slipped * self.slip.turn_rad).as_matrix(), has_slipped * self.slip.shift_m
        )
        return sits.after(change)


@dataclass(frozen=True, eq=False)
class Blob:
    """A smooth body: an ellipsoid with radii (3) [m], such as a helmet, a forearm, or a back that passes in front."""

    frame: str
    movement: Movement
    radii_m: FloatArray
    grey_ratio: float = 0.45
    seed: int = 0


@dataclass(frozen=True)
class Flash:
    """A lamp that flashes: from a moment on, for how long, and how much brighter it makes all."""

    at_s: float
    length_s: float = 0.004
    gain_ratio: float = 0.5


@dataclass(frozen=True)
class Zoom:
    """The focal length changes while the film runs: from when, for how long, to what ratio."""

    at_s: float
    length_s: float
    ratio: float

    def focal_ratio(self, time_s: float) -> float:
        """The focal length at a time, as a ratio to the first."""
        return float(np.interp(time_s, [self.at_s, self.at_s + self.length_s], [1.0, self.ratio]))


@dataclass(frozen=True, eq=False)
class Phone:
    """A phone that films: ``camera`` (8) as in capture.camera, where it is, and ``frame_s`` (n) by the room's clock.

    ``noise_sd_ratio`` of the noise to white; ``blur_px`` standard deviation of the lens' blur; ``turned_deg`` the flag
    in the file: how far a player turns the pictures counter-clockwise. Its clock starts with its first frame.
    """

    camera: FloatArray
    width: int
    height: int
    room_from_camera: Movement
    frame_s: FloatArray
    exposure_s: float = 1 / 240
    readout_s: float = 0.0
    noise_sd_ratio: float = 2.0 / 255
    blur_px: float = 0.6
    zoom: Zoom | None = None
    is_mirrored: bool = False
    turned_deg: int = 0
    clock_rate_ppm: float = 0.0

    @property
    def shown_s(self) -> FloatArray:
        """The presentation time (n) of each frame in its film: by the phone's own clock, since the first frame."""
        return self.shown_at_s(self.frame_s)

    def shown_at_s(self, room_s: FloatArray) -> FloatArray:
        """Moments (k) of the room's clock as moments of the film."""
        shown: FloatArray = (room_s - self.frame_s[0]) * (1 + self.clock_rate_ppm * 1e-6)
        return shown

    def camera_at(self, time_s: float) -> FloatArray:
        """The camera's values (8) at a time."""
        values = self.camera.copy()
        values[0] *= 1.0 if self.zoom is None else self.zoom.focal_ratio(time_s)
        return values

    def row_s(self, frame_s: float, rows: FloatArray) -> FloatArray:
        """When rows (k) of a frame are in the middle of their exposure."""
        times: FloatArray = frame_s + (rows - (self.height - 1) / 2) / self.height * self.readout_s
        return times


@dataclass(frozen=True, eq=False)
class Scene:
    """A rehearsal: the true rig, how each segment moves in the room, what else stands or passes there, and the phones.

    ``claps_s`` are moments of a clap, heard on films with sound; ``quiet_cells`` the white border of each tag.
    """

    rig: Rig
    movements: Mapping[str, Movement]
    phones: tuple[Phone, ...]
    plates: tuple[Plate, ...] = ()
    blobs: tuple[Blob, ...] = ()
    slips: Mapping[int, Slip] = field(default_factory=dict)
    flashes: tuple[Flash, ...] = ()
    claps_s: tuple[float, ...] = ()
    quiet_cells: int = 1
    seed: int = 0

    def room_from(self, frame: str, time_s: FloatArray) -> Poses:
        """Poses (k) of a segment, or of the room itself, at times (k)."""
        return (still() if frame == ROOM else self.movements[frame]).at(time_s)

    def trunk_from_head(self, time_s: FloatArray, moving: str = "head", reference: str = "trunk") -> Poses:
        """The true poses (k) of the head in the axes of the trunk."""
        return self.room_from(reference, time_s).inverse().after(self.room_from(moving, time_s))


def tag_pose(tag: RigTag) -> Poses:
    """Where a tag sits on its segment. Raises ValueError for a tag without a place."""
    if tag.centre_m is None or tag.rotvec_rad is None:
        raise ValueError(f"tag {tag.id}: a tag to be filmed needs centre_m and rotvec_rad")
    return Poses(Rotation.from_rotvec(tag.rotvec_rad).as_matrix()[None], np.asarray(tag.centre_m, dtype=float)[None])


def camera_from(scene: Scene, phone: Phone, frame: str, time_s: FloatArray) -> Poses:
    """Poses (k) of a segment in camera axes at times (k)."""
    return phone.room_from_camera.at(time_s).inverse().after(scene.room_from(frame, time_s))


def corner_points_m(tag: RigTag) -> FloatArray:
    """The corners (4, 3) of a tag's black square in its own axes."""
    points: FloatArray = SQUARE * tag.size_m
    return points
