"""Where each segment is in each frame: all frames at once, with both ways a single tag can be read kept to the end.

A body is one segment in one frame. Its pose turns segment axes into camera axes. Small changes of a rotation are
rotation vectors in the body's own axes: R exp(change).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import directions, point_slopes, projected, projection_slopes

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SQUARE = np.array([[-0.5, 0.5, 0.0], [0.5, 0.5, 0.0], [0.5, -0.5, 0.0], [-0.5, -0.5, 0.0]])
"""Corners in tag axes, for a side of 1: top left, top right, bottom right, bottom left."""
FLIP = np.diag([1.0, -1.0, -1.0])
"""Sheet axes (y up, z out of the face) in axes that lie like the camera's (y down, z away)."""


@dataclass(frozen=True, eq=False)
class Poses:
    """Rotations (n, 3, 3) and places (n, 3) [m]."""

    rotation: FloatArray
    place_m: FloatArray

    def __getitem__(self, rows: "IntArray | NDArray[np.bool_] | slice") -> "Poses":
        return Poses(self.rotation[rows], self.place_m[rows])

    def moved(self, change: FloatArray) -> "Poses":
        """After small changes (n, 6): rotation vector in the body's axes, then shift of the place."""
        turned = self.rotation @ Rotation.from_rotvec(change[:, :3]).as_matrix()
        return Poses(turned, self.place_m + change[:, 3:])

    def after(self, inner: "Poses") -> "Poses":
        """The pose that first does ``inner``, then this."""
        places_m = np.einsum("nij,nj->ni", self.rotation, inner.place_m) + self.place_m
        return Poses(self.rotation @ inner.rotation, places_m)

    def inverse(self) -> "Poses":
        """The pose that undoes this."""
        back = self.rotation.transpose(0, 2, 1)
        return Poses(back, -np.einsum("nij,nj->ni", back, self.place_m))


def joined(parts: "list[Poses]") -> Poses:
    """Poses one after the other."""
    return Poses(np.concatenate([part.rotation for part in parts]), np.concatenate([part.place_m for part in parts]))


@dataclass(frozen=True, eq=False)
class Views:
    """Sightings sorted by body: n views of tags, for b bodies.

    ``corners_px`` (n, 4, 2); ``corner_m`` (n, 4, 3) in tag axes; ``tag`` (n) row in the layout; ``body`` (n) rising.
    """

    corners_px: FloatArray
    corner_m: FloatArray
    tag: IntArray
    body: IntArray

    def __len__(self) -> int:
        return len(self.tag)

    def of(self, is_kept: NDArray[np.bool_]) -> "Views":
        """Some of the views, bodies numbered as before."""
        return Views(self.corners_px[is_kept], self.corner_m[is_kept], self.tag[is_kept], self.body[is_kept])


@dataclass(frozen=True, eq=False)
class Slopes:
    """Residuals (n, 8) [px], and how the pixels change with body (n, 8, 6), tag (n, 8, 6), camera (n, 8, 8)."""

    residual: FloatArray
    by_body: FloatArray
    by_tag: FloatArray
    by_camera: FloatArray


def cross_matrices(vectors: FloatArray) -> FloatArray:
    """The matrices (..., 3, 3) that make the cross product with vectors (..., 3)."""
    zero = np.zeros(vectors.shape[:-1])
    x, y, z = np.moveaxis(vectors, -1, 0)
    return np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1).reshape(*zero.shape, 3, 3)


def residuals(camera: FloatArray, layout: Poses, bodies: Poses, views: Views) -> FloatArray:
    """Seen minus expected corners (n, 8) [px]."""
    whole = bodies[views.body].after(layout[views.tag])
    points = views.corner_m @ whole.rotation.transpose(0, 2, 1) + whole.place_m[:, None]
    return (views.corners_px - projected(camera, points)).reshape(-1, 8)


def slopes(camera: FloatArray, layout: Poses, bodies: Poses, views: Views) -> Slopes:
    """Residuals and all their slopes, for one step of adjustment."""
    tag, body = layout[views.tag], bodies[views.body]
    in_segment, in_camera = _corners_m(tag, body, views)
    by_point, by_camera = projection_slopes(camera, in_camera)
    by_segment_point = _turned_back(by_point, body.rotation)
    by_tag_point = _turned_back(by_segment_point, tag.rotation)
    return Slopes(
        (views.corners_px - projected(camera, in_camera)).reshape(-1, 8),
        _by_pose(by_segment_point, in_segment, by_point),
        _by_pose(by_tag_point, views.corner_m, by_segment_point),
        by_camera.reshape(-1, 8, 8),
    )


def body_slopes(camera: FloatArray, layout: Poses, bodies: Poses, views: Views) -> tuple[FloatArray, FloatArray]:
    """Residuals (n, 8) [px] and how the pixels change with the body (n, 8, 6), without the other slopes."""
    tag, body = layout[views.tag], bodies[views.body]
    in_segment, in_camera = _corners_m(tag, body, views)
    by_point = point_slopes(camera, in_camera)
    residual = (views.corners_px - projected(camera, in_camera)).reshape(-1, 8)
    return residual, _by_pose(_turned_back(by_point, body.rotation), in_segment, by_point)


def _corners_m(tag: Poses, body: Poses, views: Views) -> tuple[FloatArray, FloatArray]:
    """Corners (n, 4, 3) in segment axes and in camera axes."""
    in_segment = views.corner_m @ tag.rotation.transpose(0, 2, 1) + tag.place_m[:, None]
    return in_segment, in_segment @ body.rotation.transpose(0, 2, 1) + body.place_m[:, None]


def _turned_back(by_point: FloatArray, rotation: FloatArray) -> FloatArray:
    """Slopes (n, 4, 2, 3) by a point in the axes that a rotation (n, 3, 3) turns from."""
    turned: FloatArray = (by_point.reshape(-1, 8, 3) @ rotation).reshape(by_point.shape)
    return turned


def _by_pose(by_inner_point: FloatArray, inner_m: FloatArray, by_place: FloatArray) -> FloatArray:
    """Slopes (n, 8, 6) by a turn in inner axes and a shift in outer ones; a turn moves a point by turn x point."""
    by_turn = np.cross(inner_m[:, :, None], by_inner_point)
    slope: FloatArray = np.concatenate([by_turn, by_place], axis=-1).reshape(-1, 8, 6)
    return slope


def summed_by_body(parts: FloatArray, body: IntArray, count: int) -> FloatArray:
    """Sums (count, ...) of parts (n, ...) that belong to the same body; ``body`` rises."""
    total = np.zeros((count, *parts.shape[1:]))
    if len(body):
        first = np.flatnonzero(np.diff(body, prepend=-1))
        total[body[first]] = np.add.reduceat(parts, first, axis=0)
    return total


def view_weights(residual: FloatArray, sd_px: float) -> FloatArray:
    """Weights (n) that take from a view what it is off by more than three standard deviations."""
    size = np.sqrt((residual**2).mean(axis=1)) / sd_px
    weight: FloatArray = np.minimum(1.0, (3.0 / np.maximum(size, 1e-9)) ** 2)
    return weight


def fitted_poses(
    camera: FloatArray, layout: Poses, bodies: Poses, views: Views, sd_px: float, rounds: int = 8
) -> tuple[Poses, FloatArray, FloatArray]:
    """The bodies that fit their views best: poses, information (b, 6, 6) for corners of ``sd_px``, cost (b).

    Gauss-Newton with a damping of its own for each body: a step that makes a body worse is taken back.
    """
    count = len(bodies.place_m)
    damping = np.full(count, 1e-6)
    information = np.zeros((count, 6, 6))
    best = np.full(count, np.inf)
    step = gradient = np.zeros((count, 6))
    here = bodies
    for _ in range(rounds):
        tried = here.moved(step)
        residual, by_body = body_slopes(camera, layout, tried, views)
        weight = view_weights(residual, sd_px) / sd_px**2
        cost = summed_by_body(_robust_cost(residual, sd_px), views.body, count)
        is_better = cost <= best
        pick = is_better[:, None, None]
        here = Poses(
            np.where(pick, tried.rotation, here.rotation), np.where(is_better[:, None], tried.place_m, here.place_m)
        )
        weighted = by_body * weight[:, None, None]
        information = np.where(
            pick, summed_by_body(by_body.transpose(0, 2, 1) @ weighted, views.body, count), information
        )
        slope = summed_by_body(np.einsum("nki,nk->ni", weighted, residual), views.body, count)
        gradient = np.where(is_better[:, None], slope, gradient)
        best = np.where(is_better, cost, best)
        damping = np.clip(np.where(is_better, damping / 10, damping * 100), 1e-9, 1e6)
        scale = np.einsum("bii->bi", information) * damping[:, None] + 1e-12
        step = np.linalg.solve(information + scale[:, :, None] * np.eye(6), gradient[..., None])[..., 0]
        if np.abs(step).max(initial=0.0) < 1e-7:
            break
    return here, information, best


def _robust_cost(residual: FloatArray, sd_px: float) -> FloatArray:
    """The cost (n) whose slope the weights make: square up to three standard deviations, then the logarithm."""
    mean = (residual**2).mean(axis=1) / sd_px**2
    cost: FloatArray = 8 * np.where(mean <= 9, mean, 9 * (1 + np.log(np.maximum(mean, 9) / 9)))
    return cost


def both_readings(camera: FloatArray, views: Views) -> Poses:
    """The two ways (2n) to read each square: tags in camera axes, the first n and then their mirror images.

    From the perspective map of the square about its centre, as Collins and Bartoli (2014) show; each is only a start.
    """
    flat = directions(camera, views.corners_px)
    size_m = views.corner_m[:, 1, 0] - views.corner_m[:, 0, 0]
    centre, slope = _map_at_centre(flat)
    slope = slope / size_m[:, None, None]
    towards = _turns_to(centre)
    inner = towards[:, :2, :2] - centre[:, :, None] * towards[:, 2:, :2]
    local = np.linalg.solve(inner, slope)
    largest = np.linalg.norm(local, 2, axis=(1, 2))
    square = local / largest[:, None, None]
    lost = np.eye(2) - square.transpose(0, 2, 1) @ square
    down_x = np.sqrt(np.maximum(lost[:, 0, 0], 0))
    down_y = np.sqrt(np.maximum(lost[:, 1, 1], 0)) * np.where(lost[:, 0, 1] < 0, -1.0, 1.0)
    down = np.stack([down_x, down_y], axis=-1)
    readings = []
    for sign in (1.0, -1.0):
        first_two = np.concatenate([square, sign * down[:, None, :]], axis=1)
        third = np.cross(first_two[:, :, 0], first_two[:, :, 1])
        readings.append(towards @ np.concatenate([first_two, third[:, :, None]], axis=2) @ FLIP)
    rotation = np.concatenate(readings)
    place_m = _places(np.concatenate([flat, flat]), rotation, np.concatenate([views.corner_m, views.corner_m]))
    return Poses(rotation, place_m)


def _map_at_centre(flat: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Image (n, 2) of the centre of the unit square, and slope (n, 2, 2) there by x to the right, y down the sheet."""
    source = SQUARE[:, :2] * (1, -1)
    rows = np.zeros((len(flat), 8, 8))
    rows[:, ::2, :2] = rows[:, 1::2, 3:5] = source
    rows[:, ::2, 2] = rows[:, 1::2, 5] = 1
    rows[:, ::2, 6:] = -source * flat[:, :, :1]
    rows[:, 1::2, 6:] = -source * flat[:, :, 1:]
    solved = np.linalg.solve(rows, flat.reshape(-1, 8, 1))[..., 0].astype(float)
    centre = solved[:, [2, 5]]
    linear = solved[:, [[0, 1], [3, 4]]]
    return centre, linear - centre[:, :, None] * solved[:, None, 6:]


def _turns_to(flat: FloatArray) -> FloatArray:
    """Rotations (n, 3, 3) that turn the camera's axis to the direction (x, y, 1)."""
    along = np.concatenate([flat, np.ones((len(flat), 1))], axis=1)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    axis = np.stack([-along[:, 1], along[:, 0], np.zeros(len(flat))], axis=1)
    skew = cross_matrices(axis)
    turns: FloatArray = np.eye(3) + skew + skew @ skew / (1 + along[:, 2])[:, None, None]
    return turns


def _places(flat: FloatArray, rotation: FloatArray, corner_m: FloatArray) -> FloatArray:
    """Places (n, 3) [m] that put turned corners onto their directions, by least squares."""
    turned = np.einsum("nij,nkj->nki", rotation, corner_m)
    rows = np.zeros((len(flat), 8, 3))
    rows[:, ::2, 0] = rows[:, 1::2, 1] = 1
    rows[:, :, 2] = -flat.reshape(-1, 8)
    wanted = (flat * turned[:, :, 2:] - turned[:, :, :2]).reshape(-1, 8, 1)
    across = rows.transpose(0, 2, 1)
    return np.linalg.solve(across @ rows, across @ wanted)[..., 0]
