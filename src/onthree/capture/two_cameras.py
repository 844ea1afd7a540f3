"""One adjustment of two films of one run: both cameras, where the second one stands, the layout they share, the bodies.

A body is one segment at one frame of the first film. A frame of the second film, seconds apart from it, shows it after
the little motion in between, which the second film's own smoothed motion tells. Pixels of both films then speak of the
same body, through the pose T of the second camera in the axes of the first. The clock is held where it was found; what
its error does to everything else is kept beside the covariance, so that nothing is counted twice.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.bundle import (
    CAMERA_COUNT,
    ENOUGH,
    FIRST_DAMPING,
    FIRST_SD_PX,
    LEAST_DAMPING,
    LEAST_INFORMATION,
    MOST_ROUNDS,
    Adjusted,
    Belief,
    System,
    damped_step,
    noise_px,
)
from onthree.capture.camera import Camera
from onthree.capture.poses import Poses, Views, cross_matrices, residuals, slopes, summed_by_body, view_weights

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

POSE = slice(2 * CAMERA_COUNT, 2 * CAMERA_COUNT + 6)
"""Where the pose of the second camera stands among the parameters: after both cameras, before the tags."""
BEFORE_TAGS = 2 * CAMERA_COUNT + 6
CLOCK_COUNT = 2
"""Offset [s] and rate [1] of the second film's clock, last among the parameters."""


@dataclass(frozen=True, eq=False)
class Side:
    """What one film adds: its camera as believed and as found so far, its views, and how its frames show the bodies.

    ``views`` number the film's own m frame bodies; ``joint`` (m) rises and says which body each shows; ``since`` (m) is
    the motion since that body's moment, and ``speed`` (m, 6) [rad/s, m/s] the segment's, both in this camera's axes, so
    that they say nothing about the axes of the segment; ``time_s`` (m) on the film's own clock; ``slow_ratio`` how many
    times the variance is that of independent corners, because errors go along from frame to frame.
    """

    camera: Camera
    found: FloatArray
    views: Views
    joint: IntArray
    since: Poses
    speed: FloatArray
    time_s: FloatArray
    slow_ratio: float


@dataclass(frozen=True, eq=False)
class Together:
    """Both films adjusted: cameras (8) each, second camera's pose, layout (t), bodies, and what is unknown about them.

    ``covariance`` (22 + 6 t, 22 + 6 t) of both cameras, pose and tags, with the clock held; ``by_clock`` (22 + 6 t, 2)
    how they change with the clock's offset [s] and rate [1]; noise of a corner [px] and tag misfits by film.
    """

    cameras: tuple[FloatArray, FloatArray]
    pose: Poses
    layout: Poses
    bodies: Poses
    covariance: FloatArray
    by_clock: FloatArray
    sd_px: tuple[float, float]
    tag_rms_px: tuple[FloatArray, FloatArray]
    rounds_count: int

    def rows_of(self, film: int) -> IntArray:
        """The rows of the parameters that stand for one film's camera and the layout, in the order of a single film."""
        camera = np.arange(CAMERA_COUNT) + CAMERA_COUNT * film
        return np.concatenate([camera, np.arange(BEFORE_TAGS, len(self.covariance))])

    def adjusted(self, film: int) -> Adjusted:
        """What the adjustment says of one film alone."""
        rows = self.rows_of(film)
        covariance = self.covariance[np.ix_(rows, rows)]
        camera, rms_px = self.cameras[film], self.tag_rms_px[film]
        return Adjusted(camera, self.layout, covariance, self.bodies, self.sd_px[film], rms_px, self.rounds_count)


@dataclass(frozen=True, eq=False)
class _State:
    cameras: list[FloatArray]
    pose: Poses
    layout: Poses
    bodies: Poses

    def before(self, side: Side, film: int) -> Poses:
        """The bodies at their own moments, for each of the film's frame bodies, in its camera's axes."""
        here = self.bodies[side.joint]
        return here if film == 0 else self.pose.inverse()[np.zeros(len(side.joint), int)].after(here)

    def seen(self, side: Side, film: int) -> Poses:
        """The film's frame bodies in its camera's axes."""
        return side.since.after(self.before(side, film))


def adjusted_together(sides: tuple[Side, Side], belief: Belief, layout: Poses, pose: Poses, bodies: Poses) -> Together:
    """Both films adjusted together, from a start of layout, second camera's pose and bodies."""
    state = _State([side.found for side in sides], pose, layout, bodies)
    known_cameras = np.concatenate([np.where(side.camera.sd > 0, side.camera.sd, np.inf) ** -2.0 for side in sides])
    is_free = np.concatenate([sides[0].camera.sd > 0, sides[1].camera.sd > 0, np.ones(6, bool)])
    is_free = np.concatenate([is_free, np.ones(6 * len(layout.place_m), bool), np.zeros(CLOCK_COUNT, bool)])
    known = np.concatenate([known_cameras, np.zeros(6), belief.sd.reshape(-1) ** -2.0, np.zeros(CLOCK_COUNT)])
    sd_px, damping = np.array([FIRST_SD_PX, FIRST_SD_PX]), FIRST_DAMPING
    for rounds in range(1, MOST_ROUNDS + 1):  # noqa: B007  the last one is told
        system, sd_px = _system(state, sides, sd_px)
        shared = system.shared + np.diag(known)
        gradient = system.gradient - known * _off(state, sides, belief)
        step, body_step, reduced = damped_step(system, shared, gradient, is_free, damping)
        state = _moved(state, step, body_step)
        damping = max(damping / 10, LEAST_DAMPING)
        if damping == LEAST_DAMPING and (step[is_free] ** 2 * np.diag(reduced) < ENOUGH**2).all():
            break
    free = is_free[:-CLOCK_COUNT]
    response, covariance = np.zeros((2, len(free), len(free)))
    response[np.ix_(free, free)] = np.linalg.inv(reduced)
    believed = np.diag(known[:-CLOCK_COUNT][free])
    shown = (reduced - believed) / max(side.slow_ratio for side in sides)
    covariance[np.ix_(free, free)] = np.linalg.inv(shown + believed)
    by_clock = -response @ _clock_columns(replace(system, shared=shared))[:-CLOCK_COUNT]
    rms_px = [_tag_rms_px(state, side, film) for film, side in enumerate(sides)]
    return Together(
        (state.cameras[0], state.cameras[1]),
        state.pose,
        state.layout,
        state.bodies,
        covariance,
        by_clock,
        (float(sd_px[0]), float(sd_px[1])),
        (rms_px[0], rms_px[1]),
        rounds,
    )


def _system(state: _State, sides: tuple[Side, Side], sd_px: FloatArray) -> tuple[System, FloatArray]:
    """Normal equations of both films, and the noise of each."""
    count, tag_count = len(state.bodies.place_m), len(state.layout.place_m)
    size = BEFORE_TAGS + 6 * tag_count + CLOCK_COUNT
    parts, noises = [], []
    for film, side in enumerate(sides):
        own = state.seen(side, film)
        now = slopes(state.cameras[film], state.layout, own, side.views)
        noises.append(min(sd_px[film], noise_px(now.residual, len(np.unique(side.views.body)))))
        of_body, of_pose, of_clock = _chain(state, side, film)
        frame = side.views.body
        by_body = now.by_body @ of_body[frame]
        by_shared = np.zeros((len(side.views), 8, size))
        by_shared[:, :, CAMERA_COUNT * film : CAMERA_COUNT * (film + 1)] = now.by_camera
        by_shared[:, :, POSE] = now.by_body @ of_pose[frame]
        columns = BEFORE_TAGS + 6 * side.views.tag[:, None] + np.arange(6)
        np.put_along_axis(by_shared, np.broadcast_to(columns[:, None], now.by_tag.shape), now.by_tag, axis=2)
        by_shared[:, :, -CLOCK_COUNT:] = now.by_body @ of_clock[frame]
        weight = view_weights(now.residual, noises[film]) / noises[film] ** 2
        body, weighted = side.joint[frame], by_body * weight[:, None, None]
        flat, flat_weight = by_shared.reshape(-1, size), np.repeat(weight, 8)
        parts.append(
            System(
                summed_by_body(by_body.transpose(0, 2, 1) @ weighted, body, count),
                summed_by_body(weighted.transpose(0, 2, 1) @ by_shared, body, count),
                flat.T @ (flat * flat_weight[:, None]),
                summed_by_body(np.einsum("nki,nk->ni", weighted, now.residual), body, count),
                flat.T @ (flat_weight * now.residual.reshape(-1)),
            )
        )
    one, two = parts
    return System(
        one.body + two.body,
        one.mixed + two.mixed,
        one.shared + two.shared,
        one.body_gradient + two.body_gradient,
        one.gradient + two.gradient,
    ), np.array(noises)


def _chain(state: _State, side: Side, film: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """How a film's frame bodies (m) change with body (m, 6, 6), second camera's pose (m, 6, 6), clock (m, 6, 2)."""
    count = len(side.joint)
    of_body, of_pose, of_clock = np.zeros((count, 6, 6)), np.zeros((count, 6, 6)), np.zeros((count, 6, CLOCK_COUNT))
    of_body[:, :3, :3] = np.eye(3)
    of_body[:, 3:, 3:] = side.since.rotation
    if film == 1:
        # the second camera turned by a small c in its own axes, and shifted: what it sees turns and shifts back
        before, back = state.before(side, film), state.pose.rotation[0].T
        of_body[:, 3:, 3:] = side.since.rotation @ back
        of_pose[:, :3, :3] = -before.rotation.transpose(0, 2, 1)
        of_pose[:, 3:, :3] = side.since.rotation @ cross_matrices(before.place_m)
        of_pose[:, 3:, 3:] = -side.since.rotation @ back
        turning = np.einsum("nji,nj->ni", state.seen(side, film).rotation, side.speed[:, :3])
        of_clock[:, :, 0] = np.concatenate([turning, side.speed[:, 3:]], axis=1)
        of_clock[:, :, 1] = of_clock[:, :, 0] * side.time_s[:, None]
    return of_body, of_pose, of_clock


def _off(state: _State, sides: tuple[Side, Side], belief: Belief) -> FloatArray:
    """How far the parameters are from what is believed of them."""
    cameras = [found - side.camera.values for found, side in zip(state.cameras, sides, strict=True)]
    turned = Rotation.from_matrix(belief.layout.rotation.transpose(0, 2, 1) @ state.layout.rotation).as_rotvec()
    tags = np.concatenate([turned, state.layout.place_m - belief.layout.place_m], axis=1)
    return np.concatenate([*cameras, np.zeros(6), tags.reshape(-1), np.zeros(CLOCK_COUNT)])


def _moved(state: _State, step: FloatArray, body_step: FloatArray) -> _State:
    cameras = [state.cameras[film] + step[CAMERA_COUNT * film : CAMERA_COUNT * (film + 1)] for film in range(2)]
    layout = state.layout.moved(step[BEFORE_TAGS:-CLOCK_COUNT].reshape(-1, 6))
    return _State(cameras, state.pose.moved(step[None, POSE]), layout, state.bodies.moved(body_step))


def _clock_columns(system: System) -> FloatArray:
    """The columns of the clock (22 + 6 t + 2, 2) in the normal equations without the bodies."""
    solved = np.linalg.solve(system.body + LEAST_INFORMATION * np.eye(6), system.mixed[:, :, -CLOCK_COUNT:])
    columns: FloatArray = system.shared[:, -CLOCK_COUNT:] - np.tensordot(system.mixed, solved, axes=([0, 1], [0, 1]))
    return columns


def _tag_rms_px(state: _State, side: Side, film: int) -> FloatArray:
    residual = residuals(state.cameras[film], state.layout, state.seen(side, film), side.views)
    count = len(state.layout.place_m)
    square = np.bincount(side.views.tag, (residual**2).mean(axis=1), count)
    rms_px: FloatArray = np.sqrt(square / np.maximum(np.bincount(side.views.tag, minlength=count), 1))
    return rms_px
