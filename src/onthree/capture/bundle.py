"""Adjusts everything a film shows at once: camera, places of the tags on their segments, poses of the segments.

Bodies are taken out of the normal equations (Schur complement), so that what is solved is as large as camera and
layout, however long the film. What is believed beforehand enters as observations; it alone fixes the axes of each
segment, about which the film says nothing, and so the covariance holds their uncertainty too.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import Camera
from onthree.capture.poses import Poses, Slopes, Views, slopes, summed_by_body, view_weights
from onthree.capture.standing import corner_errors

FloatArray = NDArray[np.float64]

CAMERA_COUNT = 8
MOST_ROUNDS = 30
ENOUGH = 0.03
"""A step this small against the standard deviations of camera and layout ends the adjustment."""
FIRST_SD_PX, LEAST_SD_PX = 20.0, 0.01
FIRST_DAMPING, LEAST_DAMPING = 1e-2, 1e-9
LEAST_INFORMATION = 1e-9
OUTLIER = 4.0
LEAST_CORRELATION_RATIO, MOST_CORRELATION_RATIO, NO_NEXT_RATIO = 0.01, 0.98, 0.5
USUAL = 3.0
"""Times the median: residuals larger than this count as if they were no larger."""
LEAST_STAYING_RATIO, LEAST_PAIRS_RATIO = 0.05, 0.1
"""Correlations are added up to the first that is smaller, and as far as enough sightings have one so much later."""
PIECES = 24
"""Pieces of neighbouring bodies, long enough that errors of one hardly go along with those of the next."""
LEAST_LEFT = 0.1
"""A film of single tags, each of eight numbers with a pose of six, still leaves a quarter."""


@dataclass(frozen=True, eq=False)
class Belief:
    """What is believed of tag places beforehand: poses (t), standard deviations (t, 6) [rad, m]; infinite: nothing."""

    layout: Poses
    sd: FloatArray


@dataclass(frozen=True, eq=False)
class Adjusted:
    """Camera (8), layout (t), their covariance together (8 + 6 t, 8 + 6 t), bodies, and the noise of a corner [px].

    ``tag_rms_px`` (t): how far corners of each tag are off, root-mean-square; 0 for a tag without a view.
    """

    camera: FloatArray
    layout: Poses
    covariance: FloatArray
    bodies: Poses
    sd_px: float
    tag_rms_px: FloatArray
    rounds_count: int


def adjusted(
    camera: Camera,
    belief: Belief,
    bodies: Poses,
    views: Views,
    start: Adjusted | None = None,
    body_weight: FloatArray | None = None,
) -> Adjusted:
    """The camera, layout and bodies that fit views and beliefs best, by damped Gauss-Newton steps.

    ``start`` is an adjustment of some of the bodies; a good one saves most of the rounds. ``body_weight`` (b) is what
    each body counts: frames that repeat each other count less than one each.
    """
    counted = (np.ones(len(bodies.place_m)) if body_weight is None else body_weight)[views.body]
    values, layout = (camera.values, belief.layout) if start is None else (start.camera, start.layout)
    body_count, tag_count = len(bodies.place_m), len(layout.place_m)
    is_free = np.concatenate([camera.sd > 0, np.ones(6 * tag_count, dtype=bool)])
    sd_px, damping = FIRST_SD_PX, FIRST_DAMPING if start is None else LEAST_DAMPING
    for rounds in range(1, MOST_ROUNDS + 1):  # noqa: B007  the last one is told
        now = slopes(values, layout, bodies, views)
        sd_px = min(sd_px, noise_px(now.residual, body_count, counted))
        weight = counted * view_weights(now.residual, sd_px) / sd_px**2
        system = system_of(now, views, body_count, tag_count, weight)
        shared, gradient = _with_beliefs(system.shared, system.gradient, camera, values, belief, layout)
        step, body_step, reduced = damped_step(system, shared, gradient, is_free, damping)
        values = values + step[:CAMERA_COUNT]
        layout = layout.moved(step[CAMERA_COUNT:].reshape(-1, 6))
        bodies = bodies.moved(body_step)
        damping = max(damping / 10, LEAST_DAMPING)
        if damping == LEAST_DAMPING and (step[is_free] ** 2 * np.diag(reduced) < ENOUGH**2).all():
            break
    now = slopes(values, layout, bodies, views)
    believed = np.diag(_believed(camera, belief)[is_free])
    weight = counted * view_weights(now.residual, sd_px) / sd_px**2
    further = _further(now, views, weight, np.linalg.inv(reduced).astype(float), is_free)
    own = np.linalg.inv((reduced - believed) / further.pull_ratio + believed)
    covariance = np.zeros_like(shared)
    staying = corner_errors().staying_with_tag_ratio * sd_px**2 * further.by_corners
    covariance[np.ix_(is_free, is_free)] = own + staying
    square = np.bincount(views.tag, (now.residual**2).mean(axis=1), tag_count)
    tag_rms_px = np.sqrt(square / np.maximum(np.bincount(views.tag, minlength=tag_count), 1))
    return Adjusted(values, layout, covariance, bodies, noise_px(now.residual, body_count, counted), tag_rms_px, rounds)


@dataclass(frozen=True, eq=False)
class _Further:
    """What independent errors do not explain: how many times further pieces of a film pull camera and layout apart, and
    how far errors that stay with a corner of a tag move the free numbers: covariance (f, f) for a variance of 1 px^2.
    """

    pull_ratio: float
    by_corners: FloatArray


def _further(
    now: Slopes, views: Views, weight: FloatArray, inverse: FloatArray, is_free: NDArray[np.bool_]
) -> _Further:
    """What pieces of neighbouring bodies do, with weights (n) of the views and the ``inverse`` of all information H.

    A piece pulls by its score g. With information H_p of it, scores of independent errors have g' H^-1 g of
    tr(H^-1 H_p) - tr(H^-1 H_p H^-1 H_p) on average, as the fit makes their sum zero. What stays with a tag that is seen
    alone goes into the pose of its segment.
    """
    tag_count = (len(is_free) - CAMERA_COUNT) // 6
    bodies, body = np.unique(views.body, return_inverse=True)
    is_with_others = np.bincount(body)[body] > 1
    pulled, expected, by_corner = 0.0, 0.0, np.zeros((tag_count, len(is_free), 8))
    for piece in np.array_split(np.arange(len(bodies)), min(PIECES, len(bodies))):
        rows = slice(*np.searchsorted(body, [piece[0], piece[-1] + 1]))
        some = Slopes(now.residual[rows], now.by_body[rows], now.by_tag[rows], now.by_camera[rows])
        part = Views(views.corners_px[rows], views.corner_m[rows], views.tag[rows], body[rows] - piece[0])
        system = system_of(some, part, len(piece), tag_count, weight[rows])
        solved = np.linalg.solve(system.body + _damping(system, LEAST_DAMPING), system.mixed)
        taken = np.tensordot(system.mixed, solved, axes=([0, 1], [0, 1]))
        told = inverse @ (system.shared - taken)[np.ix_(is_free, is_free)]
        pull = (system.gradient - np.tensordot(solved, system.body_gradient, axes=([0, 1], [0, 1])))[is_free]
        pulled += float(pull @ inverse @ pull)
        expected += float(np.trace(told) - (told * told.T).sum())
        own = (by_shared(some, part, tag_count) - some.by_body @ solved[part.body]) * weight[rows, None, None]
        np.add.at(by_corner, part.tag, own.transpose(0, 2, 1) * is_with_others[rows, None, None])
    moved = np.einsum("fg,tgk->tfk", inverse, by_corner[:, is_free])
    return _Further(max(pulled / expected, 1.0) if expected > 0 else 1.0, np.einsum("tfk,tgk->fg", moved, moved))


def noise_px(residual: FloatArray, body_count: int, counted: FloatArray | None = None) -> float:
    """The standard deviation of a corner coordinate [px], outliers aside, from the residuals (n, 8) of bodies.

    Fitting six numbers to each body takes from the residuals what it puts into the poses.
    """
    usual_px = 1.4826 * np.median(np.abs(residual))
    is_inside = np.abs(residual) < OUTLIER * max(usual_px, LEAST_SD_PX)
    weight = np.broadcast_to(1.0 if counted is None else counted[:, None], residual.shape)
    left = max(1 - 6 * body_count / residual.size, LEAST_LEFT)
    square = np.average(residual[is_inside] ** 2, weights=weight[is_inside])
    return float(max(np.sqrt(square / left), LEAST_SD_PX))


def corner_correlation_ratio(residual: FloatArray, views: Views) -> float:
    """How much of the error of a corner is still there in the next frame, from the residuals (n, 8) of the same tag.

    Part of an error is gone in the next frame, part stays as long as nothing moves. So what is told is the share that,
    if it stayed each time, would leave a mean of many as unsure: 1 + 2 x the sum of the correlations over all steps.
    """
    if not len(views):
        return NO_NEXT_RATIO
    size = np.linalg.norm(residual, axis=1, keepdims=True)
    bounded = residual * np.minimum(1.0, USUAL * np.median(size) / np.maximum(size, 1e-12))
    first, count = views.body[0], int(views.body[-1] - views.body[0]) + 1
    along, power, pairs = np.zeros((3, max(count // 3, 1)))
    for tag in np.unique(views.tag):
        row = views.tag == tag
        track, is_seen = np.zeros((count, 8)), np.zeros((count, 1))
        track[views.body[row] - first], is_seen[views.body[row] - first] = bounded[row], 1.0
        square = (track**2).sum(axis=1, keepdims=True)
        along += _with_later(track, track)[: len(along)]
        pairs += _with_later(is_seen, is_seen)[: len(along)]
        power += (_with_later(square, is_seen) + _with_later(is_seen, square))[: len(along)] / 2
    is_told = (pairs > LEAST_PAIRS_RATIO * len(views)) & (power > 0)
    stays = np.divide(along, power, out=np.zeros(len(along)), where=is_told)
    if len(stays) < 2 or not is_told[1]:
        return NO_NEXT_RATIO
    last = int(np.argmax(np.append(stays, 0.0) < LEAST_STAYING_RATIO))
    total = 2 * stays[1:last].sum()
    return float(np.clip(total / (total + 2), LEAST_CORRELATION_RATIO, MOST_CORRELATION_RATIO))


def _with_later(now: FloatArray, later: FloatArray) -> FloatArray:
    """Sums (n) of products of rows (n, k) with the rows 0, 1, 2 and so on steps later, by Fourier transform."""
    size = 2 * len(now)
    spectrum = np.conj(np.fft.rfft(now, size, axis=0)) * np.fft.rfft(later, size, axis=0)
    summed: FloatArray = np.fft.irfft(spectrum.sum(axis=1), size)[: len(now)]
    return summed


def slow_ratio(correlation_ratio: float) -> float:
    """How many times the variance of a mean of many is that of independent errors, if so much stays each time."""
    return (1 + correlation_ratio) / (1 - correlation_ratio)


@dataclass(frozen=True, eq=False)
class System:
    """Normal equations: bodies (b, 6, 6), bodies with shared (b, 6, s), shared (s, s), and both right-hand sides."""

    body: FloatArray
    mixed: FloatArray
    shared: FloatArray
    body_gradient: FloatArray
    gradient: FloatArray


def system_of(now: Slopes, views: Views, body_count: int, tag_count: int, weight: FloatArray) -> System:
    """The normal equations of views (n), each with its weight (n) [1 / px^2]."""
    weighted_body = now.by_body * weight[:, None, None]
    shared = by_shared(now, views, tag_count)
    flat = shared.reshape(-1, shared.shape[2])
    flat_weight = np.repeat(weight, 8)
    return System(
        summed_by_body(now.by_body.transpose(0, 2, 1) @ weighted_body, views.body, body_count),
        summed_by_body(weighted_body.transpose(0, 2, 1) @ shared, views.body, body_count),
        flat.T @ (flat * flat_weight[:, None]),
        summed_by_body(np.einsum("nki,nk->ni", weighted_body, now.residual), views.body, body_count),
        flat.T @ (flat_weight * now.residual.reshape(-1)),
    )


def by_shared(now: Slopes, views: Views, tag_count: int) -> FloatArray:
    """How the pixels of each view (n, 8, 8 + 6 t) change with all that is shared."""
    columns = CAMERA_COUNT + 6 * views.tag[:, None] + np.arange(6)
    found = np.zeros((len(views), 8, CAMERA_COUNT + 6 * tag_count))
    found[:, :, :CAMERA_COUNT] = now.by_camera
    np.put_along_axis(found, np.broadcast_to(columns[:, None], now.by_tag.shape), now.by_tag, axis=2)
    return found


def _damping(system: System, damping_ratio: float) -> FloatArray:
    """What is added to the blocks of the bodies (b, 6, 6), so that one that is hardly seen can be solved."""
    own = np.einsum("bii->bi", system.body)[:, :, None]
    added: FloatArray = (own * damping_ratio + LEAST_INFORMATION) * np.eye(6)
    return added


def _with_beliefs(
    shared: FloatArray, gradient: FloatArray, camera: Camera, values: FloatArray, belief: Belief, layout: Poses
) -> tuple[FloatArray, FloatArray]:
    away = belief.layout.rotation.transpose(0, 2, 1) @ layout.rotation
    turned = Rotation.from_matrix(away).as_rotvec()
    off_tags = np.concatenate([turned, layout.place_m - belief.layout.place_m], axis=1).reshape(-1)
    known = _believed(camera, belief)
    off = np.concatenate([values - camera.values, off_tags])
    return shared + np.diag(known), gradient - known * off


def _believed(camera: Camera, belief: Belief) -> FloatArray:
    """The information (8 + 6 t) that beliefs hold of each parameter."""
    camera_sd = np.where(camera.sd > 0, camera.sd, np.inf)
    known: FloatArray = np.concatenate([camera_sd, belief.sd.reshape(-1)]) ** -2.0
    return known


def damped_step(
    system: System, shared: FloatArray, gradient: FloatArray, is_free: NDArray[np.bool_], damping_ratio: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The change of what is shared (s), that of the bodies (b, 6), and the information on what is shared and free."""
    body = system.body + _damping(system, damping_ratio)
    solved = np.linalg.solve(body, np.concatenate([system.mixed, system.body_gradient[..., None]], axis=2))
    taken = np.tensordot(system.mixed, solved, axes=([0, 1], [0, 1]))
    reduced = (shared + damping_ratio * np.diag(np.diag(shared)) - taken[:, :-1])[np.ix_(is_free, is_free)]
    step = np.zeros(len(gradient))
    step[is_free] = np.linalg.solve(reduced, (gradient - taken[:, -1])[is_free])
    return step, solved[..., -1] - solved[..., :-1] @ step, reduced
