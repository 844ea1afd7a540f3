"""Decides between the readings of each body: by its own corners where they tell, else by the frames around it.

A single tag can be read in two ways that fit almost equally well. Both are kept; over the whole film the sequence is
chosen that fits the corners and turns least suddenly. Where the other reading is not clearly worse, nothing is claimed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.poses import Poses, Views, both_readings, fitted_poses, joined, residuals, summed_by_body

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

TURNING_RAD_S = 2.0
"""Usual speed at which a segment turns against the camera; a flip of a reading is many times faster."""
CLEARLY = 7.0
"""Least advantage, as a logarithm of likelihood, of the chosen reading: a thousand to one.

Of 200 invented single tags that tell too little, the wrong reading led by 4.7 at most.
"""
BODIES_AT_ONCE = 2000
"""Bodies that are fitted together, so that a long film takes no more memory than a short one."""
RULED_OUT_PX = 5.0
"""Two tags that are further off than this under a reading are not what it says, however it is moved a little."""
SAME_RAD = 0.035
"""Readings closer than this are one."""
LEAST_INFORMATION = 1e-6
"""What is known of a pose at least; a reading that was not fitted has none."""


@dataclass(frozen=True, eq=False)
class Read:
    """Poses of bodies, their information (b, 6, 6), cost (b), and whether the reading is decided (b).

    ``apart_rad`` (b): how far the two readings of a body that is seen and undecided are turned apart; else NaN.
    """

    bodies: Poses
    information: FloatArray
    cost: FloatArray
    is_decided: BoolArray
    apart_rad: FloatArray


def first_bodies(camera: FloatArray, layout: Poses, views: Views, count: int) -> tuple[Poses, Poses]:
    """The best reading of each body, and the best of those that are turned clearly otherwise."""
    from_tag = both_readings(camera, views)
    tag_of = np.concatenate([views.tag, views.tag])
    body_of = np.concatenate([views.body, views.body])
    candidates = from_tag.after(layout[tag_of].inverse())
    score = _scores(camera, layout, candidates, body_of, views)
    best = _least(score, body_of, count)
    turned = Rotation.from_matrix(candidates.rotation[best[body_of]].transpose(0, 2, 1) @ candidates.rotation)
    apart = np.where(turned.magnitude() > 3 * SAME_RAD, score, np.inf)
    other = _least(apart, body_of, count)
    return candidates[best], candidates[other]


def _scores(camera: FloatArray, layout: Poses, candidates: Poses, body_of: IntArray, views: Views) -> FloatArray:
    """How far off (c) all views of a body are with each candidate [px]; capped, so that one bad tag cannot decide."""
    first, sizes = np.unique(views.body, return_index=True, return_counts=True)[1:]
    place = np.searchsorted(views.body[first], body_of)
    sizes_of = sizes[place]
    candidate = np.repeat(np.arange(len(body_of)), sizes_of)
    inside = np.arange(len(candidate)) - np.repeat(np.cumsum(sizes_of) - sizes_of, sizes_of)
    view = first[place][candidate] + inside
    every = Views(views.corners_px[view], views.corner_m[view], views.tag[view], candidate)
    off_px = np.sqrt((residuals(camera, layout, candidates, every) ** 2).mean(axis=1))
    return summed_by_body(np.minimum(off_px, 100.0), candidate, len(body_of))


def _least(score: FloatArray, body_of: IntArray, count: int) -> IntArray:
    """The place of the least score of each body; place 0 for a body without a view."""
    order = np.lexsort((score, body_of))
    first = np.flatnonzero(np.diff(body_of[order], prepend=-1))
    least = np.zeros(count, dtype=np.int64)
    least[body_of[order][first]] = order[first]
    return least


def read_bodies(camera: FloatArray, layout: Poses, views: Views, time_s: FloatArray, sd_px: float) -> Read:
    """Poses of one segment (a body for each of the frames at ``time_s``), each reading decided over the whole film."""
    count = len(time_s)
    parts = []
    for first in range(0, count, BODIES_AT_ONCE):
        inside = views.of((views.body >= first) & (views.body < first + BODIES_AT_ONCE))
        inside = Views(inside.corners_px, inside.corner_m, inside.tag, inside.body - first)
        parts.append(_both_fitted(camera, layout, inside, min(count - first, BODIES_AT_ONCE), sd_px))
    readings = [joined([part.readings[which] for part in parts]) for which in range(2)]
    information = np.concatenate([part.information for part in parts], axis=1)
    costs = np.concatenate([part.costs for part in parts])
    seen = np.flatnonzero(np.isfinite(costs).any(axis=1))
    seen_readings = [reading[seen] for reading in readings]
    chosen, advantage = _path(seen_readings, information[:, seen], costs[seen], time_s[seen])
    which = np.zeros(count, dtype=np.int64)
    which[seen] = chosen
    is_decided = np.zeros(count, dtype=bool)
    is_decided[seen] = advantage > CLEARLY
    apart_rad = np.full(count, np.nan)
    apart_rad[seen] = np.where(is_decided[seen], np.nan, _apart_rad(*seen_readings))
    frame = np.arange(count)
    bodies = joined(readings)[frame + count * which]
    return Read(bodies, information[which, frame], costs[frame, which], is_decided, apart_rad)


def _apart_rad(one: Poses, other: Poses) -> FloatArray:
    """How far poses (n) are turned from others (n)."""
    turn = one.rotation.transpose(0, 2, 1) @ other.rotation
    angle_rad: FloatArray = np.asarray(Rotation.from_matrix(turn).magnitude()) if len(turn) else np.zeros(0)
    return angle_rad


@dataclass(frozen=True, eq=False)
class _Both:
    """Both readings of b bodies, their information (2, b, 6, 6), their costs (b, 2), infinite where there is none."""

    readings: tuple[Poses, Poses]
    information: FloatArray
    costs: FloatArray


def _both_fitted(camera: FloatArray, layout: Poses, views: Views, count: int, sd_px: float) -> _Both:
    if not len(views):
        nowhere = Poses(np.tile(np.eye(3), (count, 1, 1)), np.zeros((count, 3)))
        return _Both((nowhere, nowhere), np.zeros((2, count, 6, 6)), np.full((count, 2), np.inf))
    start, other = first_bodies(camera, layout, views, count)
    is_open = _is_open(camera, layout, other, views)
    of_open = views.of(is_open[views.body])
    two_views = Views(
        np.concatenate([views.corners_px, of_open.corners_px]),
        np.concatenate([views.corner_m, of_open.corner_m]),
        np.concatenate([views.tag, of_open.tag]),
        np.concatenate([views.body, of_open.body + count]),
    )
    fitted, information, cost = fitted_poses(camera, layout, joined([start, other]), two_views, sd_px)
    readings = fitted[:count], fitted[count:]
    costs = np.stack([cost[:count], cost[count:]], axis=1)
    costs[(_apart_rad(*readings) < SAME_RAD) | ~is_open, 1] = np.inf
    costs[np.stack([reading.place_m[:, 2] <= 0 for reading in readings], axis=1)] = np.inf
    costs[np.bincount(views.body, minlength=count) == 0] = np.inf
    return _Both(readings, information.reshape(2, count, 6, 6), costs)


def _is_open(camera: FloatArray, layout: Poses, other: Poses, views: Views) -> BoolArray:
    """Whether the other reading of each body (b) is worth a fit: two tags or more that are far off rule it out."""
    count = len(other.place_m)
    off_px = np.sqrt((residuals(camera, layout, other, views) ** 2).mean(axis=1))
    seen = np.bincount(views.body, minlength=count)
    mean_px = summed_by_body(off_px, views.body, count) / np.maximum(seen, 1)
    is_open: BoolArray = (seen < 2) | (mean_px < RULED_OUT_PX)
    return is_open


def _path(
    readings: list[Poses], information: FloatArray, costs: FloatArray, time_s: FloatArray
) -> tuple[IntArray, FloatArray]:
    """The sequence of readings (n) of least cost, and by how much every sequence through the other one is worse (n).

    A step is as usual as turning and the noise of both its ends make it; else noise alone would decide.
    """
    own = costs / 4  # half for a logarithm of likelihood, half again because corner errors go along from frame to frame
    steps_s = np.diff(time_s)
    noise_rad2 = np.linalg.eigvalsh(np.linalg.inv(information + LEAST_INFORMATION * np.eye(6))[..., :3, :3])[..., -1]
    steps = np.empty((len(steps_s), 2, 2))
    for before in range(2):
        for after in range(2):
            angle = _apart_rad(readings[before][:-1], readings[after][1:])
            usual_rad2 = (TURNING_RAD_S * steps_s) ** 2 + noise_rad2[before, :-1] + noise_rad2[after, 1:]
            steps[:, before, after] = angle**2 / usual_rad2 / 2
    forward, backward = own.copy(), own.copy()
    for index in range(1, len(own)):
        forward[index] += (forward[index - 1][:, None] + steps[index - 1]).min(axis=0)
        backward[-index - 1] += (backward[-index][None, :] + steps[-index]).min(axis=1)
    through = forward + backward - np.where(np.isfinite(own), own, 0)
    through[~np.isfinite(own)] = np.inf
    return through.argmin(axis=1), np.abs(np.subtract(*np.nan_to_num(through, posinf=1e300).T))
