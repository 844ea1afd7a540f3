"""How the people at the hand holds of a rigid device share its weight: in the best way there is, and with equal arms.

Vertical forces f >= 0 at the holds (x, y) balance the weight and both of its moments: A f = b with A = [1; x; y] and
b = weight (1, x of the centre of mass, y of the centre of mass). A limit of zero stands for a hold that nobody holds.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import null_space
from scipy.optimize import nnls

FloatArray = NDArray[np.float64]

NEGLIGIBLE = 1e-9
"""In metres, and as a share of the weight: less than this is rounding, not an offset or a force."""


def least_largest_ratios(holds_m: ArrayLike, limits_n: ArrayLike, weight_n: ArrayLike, com_m: ArrayLike) -> FloatArray:
    """The least that the most loaded lifter can carry, as a ratio to that lifter's limit, for every combination.

    ``holds_m`` (devices, holds, 2), ``limits_n`` (groups, holds) or (devices, groups, holds), ``weight_n``
    (athletes, devices), ``com_m`` (athletes, devices, 2) [m, N]; the result is (athletes, devices, groups). A device
    with fewer holds is filled up with holds at any place and limits of zero. Infinite where the centre of mass is
    outside the holds; NaN where a number that decides is NaN. Above 1 the group cannot; up to 1 proves nothing.

    The forces within the limits span a zonotope, and the ratio is its gauge at b: the largest, over the directions y
    square to two of its edges, of (b . y) / (sum of limit x max(0, a . y)). Three edges of length zero along the axes
    are added, so that holds on one line or in one point need no case of their own.
    """
    holds_m, com_m = np.asarray(holds_m, dtype=float), np.asarray(com_m, dtype=float)
    limits_n, weight_n = np.asarray(limits_n, dtype=float), np.asarray(weight_n, dtype=float)
    if np.any(limits_n < 0) or np.any(weight_n <= 0):
        raise ValueError("limits of at least 0 N and a weight above 0 N expected: leave out what is not lifted")
    limits_n = np.broadcast_to(limits_n, (len(holds_m), *limits_n.shape[-2:]))
    ratios = np.empty((len(weight_n), len(holds_m), limits_n.shape[1]))
    for device, hold_m in enumerate(holds_m):
        edges, place = _edges(hold_m, com_m[:, device])
        ratios[:, device] = weight_n[:, device, None] * _gauge(edges, place, limits_n[device])
    return ratios


def least_largest_ratio(holds_m: ArrayLike, limits_n: ArrayLike, weight_n: float, com_m: ArrayLike) -> float:
    """``least_largest_ratios`` for one device (holds, 2), one group (holds) and one load."""
    place_m = np.asarray(com_m, dtype=float)[None, None]
    return float(
        least_largest_ratios(np.asarray(holds_m)[None], np.atleast_2d(limits_n), [[weight_n]], place_m)[0, 0, 0]
    )


def least_largest_force_n(holds_m: ArrayLike, weight_n: float, com_m: ArrayLike) -> float:
    """The least that the most loaded of equal lifters can carry [N]; needs no limit of anybody."""
    return least_largest_ratio(holds_m, np.ones(len(np.asarray(holds_m))), weight_n, com_m)


def after_one_lets_go_ratios(holds_m: ArrayLike, limits_n: ArrayLike, weight_n: float, com_m: ArrayLike) -> FloatArray:
    """``least_largest_ratio`` of the others after each lifter in turn lets go (holds); the largest is the worst loss.

    The others may take over the load as they like, but stay where they are.
    """
    others_n = np.asarray(limits_n, dtype=float) * (1 - np.eye(len(np.asarray(holds_m))))
    place_m = np.asarray(com_m, dtype=float)[None, None]
    ratios: FloatArray = least_largest_ratios(np.asarray(holds_m)[None], others_n, [[weight_n]], place_m)[0, 0]
    return ratios


def equal_stiffness_forces_n(holds_m: ArrayLike, weight_n: float, com_m: ArrayLike) -> FloatArray:
    """The force at each hold (holds) [N] when all arms are equal springs that only pull up; infinite if none balance.

    This is the sharing with the least sum of squared forces. Where that of springs which also push is negative
    somewhere, the nearest one without a negative force is found as a least-distance problem.
    """
    corners, place = _edges(np.asarray(holds_m, dtype=float), np.asarray(com_m, dtype=float)[None])
    arms = corners.T
    both_ways = np.linalg.pinv(arms, rcond=NEGLIGIBLE) @ place[0]
    if np.isnan(weight_n) or np.isnan(both_ways).any():
        return np.full(len(corners), np.nan)
    if np.abs(arms @ both_ways - place[0]).max() > NEGLIGIBLE:
        return np.full(len(corners), np.inf)
    return weight_n * (both_ways if both_ways.min() >= -NEGLIGIBLE else _pulling_only(arms, both_ways))


def equal_stiffness_ratio(holds_m: ArrayLike, limits_n: ArrayLike, weight_n: float, com_m: ArrayLike) -> float:
    """The largest ratio of force to limit when all arms are equal springs; holds with a limit of zero are left out."""
    limits_n = np.asarray(limits_n, dtype=float)
    is_held = limits_n != 0
    if not is_held.any():
        return float("inf")
    forces_n = equal_stiffness_forces_n(np.asarray(holds_m, dtype=float)[is_held], weight_n, com_m)
    return float((forces_n / limits_n[is_held]).max())


def _edges(holds_m: FloatArray, com_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(1, x, y) of holds and centres of mass, measured from the middle of the holds."""
    middle_m = holds_m.mean(axis=0)
    return np.insert(holds_m - middle_m, 0, 1.0, axis=-1), np.insert(com_m - middle_m, 0, 1.0, axis=-1)


def _gauge(edges: FloatArray, places: FloatArray, limits_n: FloatArray) -> FloatArray:
    """The gauge (athletes, groups) [1/N] of the zonotope of the edges (holds, 3) at the places (athletes, 3)."""
    with_axes = np.concatenate([edges, np.eye(3)])
    first, second = np.triu_indices(len(with_axes), k=1)
    normals = np.cross(with_axes[first], with_axes[second])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > NEGLIGIBLE)
    normals = np.concatenate([normals, -normals])

    along = normals @ edges.T
    reach_n = np.where(along > NEGLIGIBLE, along, 0.0) @ limits_n.T
    wanted = normals @ places.T
    wanted[wanted <= NEGLIGIBLE] = -1.0
    with np.errstate(divide="ignore"):
        per_reach = 1 / reach_n
    largest = np.full((len(places), len(limits_n)), -np.inf)
    for wanted_along, per_reach_along in zip(wanted, per_reach, strict=True):
        np.maximum(largest, np.multiply.outer(wanted_along, per_reach_along), out=largest)
    return largest


def _pulling_only(arms: FloatArray, both_ways: FloatArray) -> FloatArray:
    """The shortest f >= 0 with arms f = arms both_ways: least distance programming (Lawson and Hanson, chapter 23)."""
    free = null_space(arms, rcond=NEGLIGIBLE)
    least = np.vstack([free.T, -both_ways])
    target = np.append(np.zeros(free.shape[1]), 1.0)
    duals, distance = nnls(least, target)
    if distance <= NEGLIGIBLE:
        return np.full(len(both_ways), np.inf)
    residual = least @ duals - target
    forces: FloatArray = np.maximum(both_ways - free @ residual[:-1] / residual[-1], 0.0)
    return forces
