"""Films a scene: exact pictures by looking up, for every pixel, what it sees through the lens at its own moment.

Each plate is drawn on its own patch, finer than the pixels, once for several moments of the exposure, blurred as the
lens does, then averaged to pixels and laid over what lies behind it. Rows of a rolling shutter have times of their own.
Pixel centres are at integers.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RectBivariateSpline

from onthree.capture.camera import directions, projected
from onthree.capture.poses import Poses
from onthree.demo.scene import CELLS, Blob, Phone, Plate, Scene, camera_from, corner_points_m, tag_pose
from onthree.demo.surroundings import blob_cover, blob_outline_px, clutter, flash_gain

FloatArray = NDArray[np.float64]
SingleArray = NDArray[np.float32]
ByteArray = NDArray[np.uint8]

FINER = 3
"""How much finer than a pixel a plate is drawn."""
LEAST_COSINE = 0.08
"""A plate turned further away than this is not drawn."""
STEP_PX = 0.4
"""How far a plate may go between two drawn moments of an exposure."""
MOST_MOMENTS = 24
BLACK, WHITE = 25.0, 215.0
NOISE_ROOM_PX = 64
NODES_PX = 24
BLOB_STEP_PX = 4
LIGHT_FROM = np.array([0.2, -0.5, 0.85]) / np.linalg.norm([0.2, -0.5, 0.85])
"""Where the light comes from, in the room."""
SHADE = 0.86
"""How bright a plate is that the light only grazes, against one that faces it."""
DICTIONARIES = {
    "tag36h11": cv2.aruco.DICT_APRILTAG_36h11,
    "tag25h9": cv2.aruco.DICT_APRILTAG_25h9,
    "tag16h5": cv2.aruco.DICT_APRILTAG_16h5,
}


@lru_cache(maxsize=256)
def tag_image(family: str, tag: int, quiet_cells: int = 1) -> ByteArray:
    """A tag as printed, one pixel a cell, with its white border. Raises KeyError for a family that is not drawn."""
    dictionary = cv2.aruco.getPredefinedDictionary(DICTIONARIES[family])
    cells = dictionary.markerSize + 2
    square = cv2.aruco.generateImageMarker(dictionary, tag, cells, borderBits=1)
    image: ByteArray = np.pad(np.asarray(square, np.uint8), quiet_cells, constant_values=255)
    return image


def tag_plates(scene: Scene) -> tuple[Plate, ...]:
    """The plates of all tags of the scene's rig."""
    plates = []
    for tag in scene.rig.tags:
        image = tag_image(scene.rig.family, tag.id, scene.quiet_cells)
        cells = image.shape[1] - 2 * scene.quiet_cells
        width_m = tag.size_m * image.shape[1] / cells
        plates.append(Plate(tag.segment, tag_pose(tag), width_m, image, scene.slips.get(tag.id)))
    return tuple(plates)


def board_plate(board: cv2.aruco.CharucoBoard, frame: str, pose: Poses, cell_px: int = 8) -> Plate:
    """A calibration board as a plate; half a square of white around it.

    The board's own axes start at its top left and go right and down: (x, y) there is (x - w/2, h/2 - y) on the plate.
    """
    columns, rows = board.getChessboardSize()
    square_px = round(CELLS * cell_px * board.getSquareLength() / board.getMarkerLength())
    margin = square_px // 2
    size = (columns * square_px + 2 * margin, rows * square_px + 2 * margin)
    image = np.asarray(board.generateImage(size, marginSize=margin), np.uint8)
    return Plate(frame, pose, size[0] / square_px * board.getSquareLength(), image)


def true_corners_px(scene: Scene, phone: Phone, frame_s: float) -> FloatArray:
    """Where the corners of each tag of the rig fall (tags, 4, 2) [px], each at the moment its row is exposed.

    NaN for tags that face away or stand behind the camera; what hides a tag is not asked.
    """
    plates = tag_plates(scene)
    found = np.full((len(plates), 4, 2), np.nan)
    for row, (tag, plate) in enumerate(zip(scene.rig.tags, plates, strict=True)):
        if _facing_ratio(_camera_from_plate(scene, phone, plate, np.array([frame_s]))) <= LEAST_COSINE:
            continue
        times_s = np.full(4, frame_s)
        for _ in range(4):
            poses = _camera_from_plate(scene, phone, plate, times_s)
            points = np.einsum("nij,nj->ni", poses.rotation, corner_points_m(tag)) + poses.place_m
            found[row] = projected(phone.camera_at(frame_s), points)
            times_s = phone.row_s(frame_s, found[row, :, 1])
    if phone.is_mirrored:
        found[..., 0] = phone.width - 1 - found[..., 0]
    return found


def _camera_from_plate(scene: Scene, phone: Phone, plate: Plate, time_s: FloatArray) -> Poses:
    return camera_from(scene, phone, plate.frame, time_s).after(plate.frame_from_plate(time_s))


def _facing_ratio(poses: Poses) -> float:
    """Cosine between a plate's face and the line to the camera; below zero behind the camera."""
    place = poses.place_m[0]
    return float(-poses.rotation[0, :, 2] @ place / np.linalg.norm(place)) if place[2] > 0.05 else -1.0


@dataclass(frozen=True)
class _Patch:
    """Rows and columns of the picture, from and up to."""

    top: int
    bottom: int
    left: int
    right: int

    @property
    def slices(self) -> tuple[slice, slice]:
        return slice(self.top, self.bottom), slice(self.left, self.right)

    @property
    def is_empty(self) -> bool:
        return self.bottom - self.top < 2 or self.right - self.left < 2


class Renderer:
    """Draws the frames of one phone in a scene, one at a time and in any order; the same each time."""

    def __init__(self, scene: Scene, phone: Phone) -> None:
        self._scene, self._phone = scene, phone
        self._plates = (*tag_plates(scene), *scene.plates)
        self._textures: dict[tuple[int, int], SingleArray] = {}
        self._seed = scene.seed + 1000 * (1 + scene.phones.index(phone) if phone in scene.phones else 0)

    def frame(self, index: int) -> ByteArray:
        """The brightness (height, width) of a frame."""
        phone, frame_s = self._phone, float(self._phone.frame_s[index])
        picture = self._behind(frame_s)
        for _, drawn in sorted(self._drawn_at_m(frame_s), key=lambda each: -each[0]):
            if isinstance(drawn, Plate):
                self._draw_plate(picture, drawn, frame_s)
            else:
                self._draw_blob(picture, drawn, frame_s)
        self._flash(picture, frame_s)
        rng = np.random.default_rng((self._seed, index))
        down, across = rng.integers(0, NOISE_ROOM_PX, 2)
        noise = self._noise[down : down + phone.height, across : across + phone.width]
        seen = np.asarray(cv2.add(picture, noise[:: rng.choice((-1, 1))], dtype=cv2.CV_8U), np.uint8)
        return np.ascontiguousarray(seen[:, ::-1]) if phone.is_mirrored else seen

    def frames(self) -> Iterator[ByteArray]:
        """All frames in order."""
        return (self.frame(index) for index in range(len(self._phone.frame_s)))

    @cached_property
    def _noise(self) -> SingleArray:
        size = (self._phone.height + NOISE_ROOM_PX, self._phone.width + NOISE_ROOM_PX)
        noise = np.random.default_rng(self._seed).standard_normal(size, np.float32)
        return noise * np.float32(self._phone.noise_sd_ratio * 255)

    @cached_property
    def _directions(self) -> tuple[SingleArray, SingleArray]:
        """(x, y)/z of every pixel, each (height, width): exact on a grid, smooth between."""
        phone = self._phone
        rows, columns = (np.linspace(0, count - 1, count // NODES_PX + 5) for count in (phone.height, phone.width))
        nodes = directions(phone.camera, np.stack(np.meshgrid(columns, rows), axis=-1))
        every = np.arange(phone.height), np.arange(phone.width)
        x, y = (RectBivariateSpline(rows, columns, nodes[..., axis])(*every).astype(np.float32) for axis in (0, 1))
        return x, y

    def _directions_in(self, patch: _Patch, frame_s: float) -> tuple[SingleArray, SingleArray]:
        x, y = self._directions
        ratio = 1.0 if self._phone.zoom is None else self._phone.zoom.focal_ratio(frame_s)
        if ratio == 1.0:
            return x[patch.slices], y[patch.slices]
        across, down = self._phone.camera[2:4]
        columns = (np.arange(patch.left, patch.right, dtype=np.float32) - np.float32(across)) / np.float32(ratio)
        rows = (np.arange(patch.top, patch.bottom, dtype=np.float32) - np.float32(down)) / np.float32(ratio)
        u, v = np.meshgrid(columns + np.float32(across), rows + np.float32(down))
        x, y = (np.asarray(cv2.remap(each, u, v, cv2.INTER_LINEAR), np.float32) for each in (x, y))
        return x, y

    @cached_property
    def _backdrop(self) -> SingleArray:
        return clutter(self._phone.width, self._phone.height, self._scene.seed)

    def _behind(self, frame_s: float) -> SingleArray:
        """What lies far behind everything, as the camera has turned since its first frame."""
        phone = self._phone
        room = phone.width // 4, phone.height // 4
        if phone.room_from_camera.is_still and phone.zoom is None:
            inner = self._backdrop[room[1] : room[1] + phone.height, room[0] : room[0] + phone.width]
            return inner.copy()
        first, now = phone.room_from_camera.at(np.array([phone.frame_s[0], frame_s])).rotation
        pinhole = np.array([[1.0, 0, 0], [0, 1, 0], [0, 0, 1]])
        pinhole[0, 0] = pinhole[1, 1] = phone.camera[0]
        pinhole[:2, 2] = phone.camera[2:4]
        zoomed = pinhole @ np.diag([phone.camera_at(frame_s)[0] / phone.camera[0]] * 2 + [1.0])
        shift = np.array([[1.0, 0, room[0]], [0, 1, room[1]], [0, 0, 1]])
        back = shift @ pinhole @ first.T @ now @ np.linalg.inv(zoomed)
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        size = (phone.width, phone.height)
        seen = cv2.warpPerspective(self._backdrop, back, size, flags=flags, borderMode=cv2.BORDER_REFLECT)
        return np.asarray(seen, np.float32)

    def _drawn_at_m(self, frame_s: float) -> Iterator[tuple[float, Plate | Blob]]:
        """What is drawn in a frame, with how far away it is [m]."""
        time_s = np.array([frame_s])
        for plate in self._plates:
            poses = _camera_from_plate(self._scene, self._phone, plate, time_s)
            if _facing_ratio(poses) > LEAST_COSINE:
                yield float(np.linalg.norm(poses.place_m)), plate
        for blob in self._scene.blobs:
            place_m = self._camera_from_blob(blob, time_s).place_m
            if place_m[0, 2] > blob.radii_m.max() + 0.05:
                yield float(np.linalg.norm(place_m)), blob

    def _camera_from_blob(self, blob: Blob, time_s: FloatArray) -> Poses:
        return camera_from(self._scene, self._phone, blob.frame, time_s).after(blob.movement.at(time_s))

    def _draw_plate(self, picture: SingleArray, plate: Plate, frame_s: float) -> None:
        phone = self._phone
        half = np.array([plate.width_m, plate.height_m, 0.0]) / 2
        edges_m = half * [[-1, 1, 0], [1, 1, 0], [1, -1, 0], [-1, -1, 0]]
        poses = _camera_from_plate(self._scene, phone, plate, np.array([frame_s]))
        centre_s = phone.row_s(frame_s, projected(phone.camera_at(frame_s), poses.place_m)[:, 1])[0]
        around_s = centre_s + np.array([-0.5, 0.0, 0.5]) * phone.exposure_s
        poses = _camera_from_plate(self._scene, phone, plate, around_s)
        points = np.einsum("nij,kj->nki", poses.rotation, edges_m) + poses.place_m[:, None]
        if points[..., 2].min() < 0.05:
            return
        outline = projected(phone.camera_at(frame_s), points)
        way_px = float(np.linalg.norm(outline[2] - outline[0], axis=-1).max())
        rows_s = np.ptp(outline[1, :, 1]) / phone.height * phone.readout_s
        patch = self._patch(outline.reshape(-1, 2), 4 * phone.blur_px + 2 + way_px * rows_s / phone.exposure_s)
        if patch.is_empty:
            return
        moments = int(np.clip(np.ceil(way_px / STEP_PX), 1, MOST_MOMENTS))
        texture = self._texture(plate, outline[1])
        shares = (np.arange(moments) + 0.5) / moments - 0.5
        ends_s = phone.row_s(frame_s, np.array([patch.top, patch.bottom - 1.0]))
        times_s = (shares[:, None] * phone.exposure_s + ends_s).ravel()
        poses = _camera_from_plate(self._scene, phone, plate, times_s)
        looks = _texture_from_direction(poses, plate, texture).reshape(moments, 2, 3, 3)
        drawn = self._exposed(texture, looks, self._directions_in(patch, frame_s))
        behind = picture[patch.slices]
        light = SHADE + (1 - SHADE) * self._lit_ratio(plate, frame_s)
        picture[patch.slices] = behind * (1 - drawn[..., 1]) + drawn[..., 0] * np.float32(light)

    def _exposed(self, texture: SingleArray, looks: FloatArray, seen: tuple[SingleArray, SingleArray]) -> SingleArray:
        """Brightness and cover (rows, columns, 2) of a plate, from its looks (moments, first and last row, 3, 3)."""
        x, y = seen
        rows, columns = x.shape
        down = np.linspace(0, 1, rows)[:, None, None]
        total = np.zeros((rows * FINER, columns * FINER, 2), np.float32)
        for first, last in looks:
            look = (first * (1 - down) + last * down).astype(np.float32)
            u, v, w = (look[:, k, 0, None] * x + look[:, k, 1, None] * y + look[:, k, 2, None] for k in range(3))
            size = (columns * FINER, rows * FINER)
            fine = [cv2.resize(each / w, size, interpolation=cv2.INTER_LINEAR) for each in (u, v)]
            total += cv2.remap(texture, fine[0], fine[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        total /= len(looks)
        if self._phone.blur_px > 0:
            total = np.asarray(cv2.GaussianBlur(total, (0, 0), self._phone.blur_px * FINER), np.float32)
        return np.asarray(cv2.resize(total, (columns, rows), interpolation=cv2.INTER_AREA), np.float32)

    def _texture(self, plate: Plate, outline_px: FloatArray) -> SingleArray:
        """The print as brightness times cover, and cover; about as fine as it will be drawn, so that edges stay."""
        area_px = abs(float(cv2.contourArea(outline_px.astype(np.float32)[:, None])))
        rows, columns = plate.image.shape
        scale = FINER * np.sqrt(area_px / (rows * columns))
        level = max(int(np.floor(2 * np.log2(max(scale, 1e-3)))), -12)
        key = (id(plate), level)
        if key not in self._textures:
            ratio = max(round(2 ** (level / 2)), 1) if level >= 0 else 2 ** (level / 2)
            size = (max(round(columns * ratio), 2), max(round(rows * ratio), 2))
            way = cv2.INTER_NEAREST if level >= 0 else cv2.INTER_AREA
            ink = BLACK + (WHITE - BLACK) / 255 * plate.image.astype(np.float32)
            grown = np.asarray(cv2.resize(ink, size, interpolation=way), np.float32)
            self._textures[key] = np.stack([grown, np.ones_like(grown)], axis=-1)
        return self._textures[key]

    def _lit_ratio(self, plate: Plate, frame_s: float) -> float:
        time_s = np.array([frame_s])
        turned = self._scene.room_from(plate.frame, time_s).after(plate.frame_from_plate(time_s))
        return float(max(turned.rotation[0, :, 2] @ LIGHT_FROM, -0.5))

    def _patch(self, points_px: FloatArray, margin_px: float) -> _Patch:
        low = np.floor(points_px.min(axis=0) - margin_px).astype(int)
        high = np.ceil(points_px.max(axis=0) + margin_px).astype(int) + 1
        left, right = np.clip([low[0], high[0]], 0, self._phone.width)
        top, bottom = np.clip([low[1], high[1]], 0, self._phone.height)
        return _Patch(int(top), int(bottom), int(left), int(right))

    def _draw_blob(self, picture: SingleArray, blob: Blob, frame_s: float) -> None:
        phone = self._phone
        pose = self._camera_from_blob(blob, np.array([frame_s]))
        patch = self._patch(blob_outline_px(phone.camera_at(frame_s), pose, blob), BLOB_STEP_PX)
        if patch.is_empty:
            return
        x, y = self._directions_in(patch, frame_s)
        cover, brightness = blob_cover(blob, pose, x, y, BLOB_STEP_PX)
        behind = picture[patch.slices]
        behind += cover * (brightness - behind)

    def _flash(self, picture: SingleArray, frame_s: float) -> None:
        if self._scene.flashes:
            middle_s = self._phone.row_s(frame_s, np.arange(self._phone.height, dtype=float))
            gain = flash_gain(self._scene.flashes, middle_s, self._phone.exposure_s)
            picture *= gain[:, None].astype(np.float32)


def _texture_from_direction(poses: Poses, plate: Plate, texture: SingleArray) -> FloatArray:
    """Matrices (k, 3, 3) from the direction (x, y, 1) of a pixel to the place on the texture it sees."""
    onto = np.concatenate([poses.rotation[:, :, :2], poses.place_m[:, :, None]], axis=2)
    rows, columns = texture.shape[:2]
    scale = np.array(
        [
            [columns / plate.width_m, 0, columns / 2 - 0.5],
            [0, -rows / plate.height_m, rows / 2 - 0.5],
            [0, 0, 1],
        ]
    )
    looks: FloatArray = scale @ np.linalg.inv(onto)
    return looks
