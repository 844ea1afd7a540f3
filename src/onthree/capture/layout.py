"""Where the tags really sit: the layout and the camera that the film itself agrees with best.

Places measured by hand are only a start: a millimetre of error in them costs half a degree. They still say which way
the axes of a segment point, which no film can know. A tag that is not rigid to the others of its segment is left out by
name.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial.transform import Rotation
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

from onthree.capture.bundle import CAMERA_COUNT, Adjusted, Belief, adjusted
from onthree.capture.camera import Camera
from onthree.capture.poses import SQUARE, Poses, Views, both_readings, cross_matrices, fitted_poses, residuals
from onthree.capture.readings import first_bodies
from onthree.capture.rig import Rig, RigTag
from onthree.capture.standing import body_weights, stretches
from onthree.capture.tags import Sightings
from onthree.sources import table

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

FEW_BODIES, MOST_BODIES = 150, 600
"""Bodies for a first adjustment and for the last; more are thinned out evenly, they would add time and no accuracy."""
MOST_READ_AGAIN = 2
ROUNDS = 4
"""Rounds for poses that are only the start of an adjustment."""
START_SD_PX = 10.0
SLIPPED = 4.0
"""A tag is not rigid if its residual is this many times that of the usual tag."""
ANCHOR_SD = 1e-6
"""In metres and radians: the tag whose own axes stand for those of a segment that nobody has measured."""
VOTES = 40
READING_SD_PX = 0.2
"""How far off the corners of a right reading may be while camera and layout are still rough."""
SAME_PLACE_RAD = 0.2


class LayoutError(ValueError):
    """Tags that do not hang together; says which, and what to do."""


@dataclass(frozen=True, eq=False)
class Layout:
    """The tags that are used, where they sit, the camera, how sure both are, and what was noticed.

    ``tags`` (t) of the rig; ``gauge`` (8 + 6 t, 6 s): how parameters change when the axes of each of s segments turn
    (3) [rad] and shift (3) [m]; ``gauge_covariance`` (6 s, 6 s) what nobody knows about these axes.
    """

    tags: tuple[RigTag, ...]
    segments: tuple[str, ...]
    fit: Adjusted
    gauge: FloatArray
    gauge_covariance: FloatArray
    slipped: tuple[int, ...]
    flags: tuple[str, ...]


def views_of(sightings: Sightings, tags: tuple[RigTag, ...], segments: tuple[str, ...]) -> Views:
    """Sightings as views: the bodies are all frames of the first segment, then all of the second, and so on."""
    row_of = {tag.id: row for row, tag in enumerate(tags)}
    is_used = np.array([tag in row_of for tag in sightings.tag], dtype=bool)
    used = sightings.of(is_used)
    row = np.array([row_of[int(tag)] for tag in used.tag], dtype=np.int64)
    segment = np.array([segments.index(tag.segment) for tag in tags], dtype=np.int64)[row]
    body = segment * len(sightings.time_s) + used.frame
    size_m = np.array([tag.size_m for tag in tags])[row]
    order = np.lexsort((row, body))
    corner_m = SQUARE * size_m[order, None, None]
    return Views(used.corners_px[order], corner_m, row[order], body[order])


def calibrated_layout(sightings: Sightings, rig: Rig, camera: Camera) -> Layout:
    """The layout of a film's tags. Raises LayoutError if none were seen, or some without a place never with others."""
    seen = {int(tag) for tag in np.unique(sightings.tag)}
    flags = [f"tag {tag.id} on {tag.segment} was never seen" for tag in rig.tags if tag.id not in seen]
    used = rig.without({tag.id for tag in rig.tags} - seen)
    if not used.tags:
        raise LayoutError("no tag of the rig was seen: check family, ids, light and focus")
    slipped: list[int] = []
    places: dict[int, Poses] = {}
    tries: Counter[int] = Counter()
    while True:
        belief, anchor_flags = _belief(sightings, used, camera, places)
        views = views_of(sightings, used.tags, used.segments)
        fit = _fitted(camera, belief, views)
        worst = _least_rigid(fit)
        if worst is None:
            break
        tag = used.tags[worst]
        tries[tag.id] += 1
        place = _read_again(sightings, used, camera, places, tag) if tries[tag.id] <= MOST_READ_AGAIN else None
        if place is not None:
            places[tag.id] = place
            continue
        slipped.append(tag.id)
        flags.append(f"tag {tag.id} on {tag.segment} does not hold still on it and was left out")
        used = used.without({tag.id})
    gauge, covariance = gauge_of(used, belief, fit.layout)
    flags += [*anchor_flags, *_apart_flags(used, views), *_camera_flags(camera, fit, views)]
    return Layout(used.tags, used.segments, fit, gauge, covariance, tuple(slipped), tuple(flags))


def _camera_flags(camera: Camera, fit: Adjusted, views: Views) -> Iterator[str]:
    """That a film of single tags does not tell the camera, where it does not."""
    if np.bincount(views.body).max() == 1 and camera.sd[0] > 0 and fit.covariance[0, 0] >= camera.sd[0] ** 2:
        told = f"{camera.focal_px:.0f} px, sure to {camera.sd[0] / camera.focal_px:.0%}"
        yield f"single tags this small do not tell the focal length, {told} as believed: give a camera file"


def _apart_flags(rig: Rig, views: Views) -> Iterator[str]:
    """Tags that no frame shows together with most of their segment: nothing but the hand says where they sit."""
    count = len(rig.tags)
    together = coo_array((np.ones(len(views)), (views.body, views.tag)), shape=(views.body.max(initial=0) + 1, count))
    _, group = connected_components(together.T @ together, directed=False)
    seen = np.bincount(views.tag, minlength=count)
    for segment in rig.segments:
        rows = [row for row, tag in enumerate(rig.tags) if tag.segment == segment]
        largest = np.bincount(group[rows], weights=seen[rows]).argmax()
        if apart := [rig.tags[row].id for row in rows if group[row] != largest]:
            names, hand_deg = ", ".join(map(str, apart)), np.degrees(rig.by_hand_rad)
            yield (
                f"no frame shows tags {names} together with the others of {segment}: where they sit is known by hand "
                f"alone, to {1000 * rig.by_hand_m:.0f} mm and {hand_deg:.0f} degrees, and so are frames of them alone"
            )


def _read_again(sightings: Sightings, rig: Rig, camera: Camera, places: dict[int, Poses], tag: RigTag) -> Poses | None:
    """Where a tag sits by the poses of its segment without it, if it mostly sits in one place; else None."""
    others = rig.without({tag.id})
    if tag.segment not in others.segments:
        return None
    belief, _ = _belief(sightings, others, camera, places)
    views = views_of(sightings, others.tags, others.segments)
    fit = _fitted(camera, belief, views)
    count = len(sightings.time_s) * len(others.segments)
    start, _ = first_bodies(fit.camera, fit.layout, views, count)
    bodies, _, _ = fitted_poses(fit.camera, fit.layout, start, views, fit.sd_px)
    rows = np.flatnonzero(sightings.tag == tag.id)
    body = others.segments.index(tag.segment) * len(sightings.time_s) + sightings.frame[rows]
    is_sure = np.bincount(views.body, minlength=count)[body] >= 2
    rows, body = rows[is_sure], body[is_sure]
    if not len(rows):
        return None
    seen, weight = _readings_of(sightings, rows, fit.camera, tag)
    voted = _voted(bodies[np.tile(body, 2)].inverse().after(seen), weight)
    is_usual = voted.votes > len(rows) / 2
    return Poses(voted.rotation[None], voted.place_m[None]) if is_usual else None


def _fitted(camera: Camera, belief: Belief, views: Views) -> Adjusted:
    """Adjusted; where single tags tell less of the camera than is believed of it, the camera stays as it is believed.

    A single tag shows its distance by how its far side is shortened, and noise always shortens it: many such tags agree
    on a focal length that is too short, the more of them the surer.
    """
    fit = _adjusted_over(camera, belief, views)
    if not _is_told_by_single_tags(fit, views):
        fit = _adjusted_over(Camera(camera.values, np.zeros(CAMERA_COUNT)), belief, views)
        covariance = fit.covariance.copy()
        covariance[:CAMERA_COUNT, :CAMERA_COUNT] = np.diag(camera.sd**2)
        fit = replace(fit, covariance=covariance)
    return fit


def _is_told_by_single_tags(fit: Adjusted, views: Views) -> bool:
    """Whether the focal length is to be believed: two tags are seen together, or single ones make it sure enough."""
    if np.bincount(views.body).max() > 1:
        return True
    most_ratio = next(float(row["sd"]) for row in table("film_beliefs") if row["name"] == "focal_by_single_tags")
    return bool(np.sqrt(fit.covariance[0, 0]) <= most_ratio * fit.camera[0])


def _adjusted_over(camera: Camera, belief: Belief, views: Views) -> Adjusted:
    """Adjusted over the bodies that show two tags or more; all of them if there are none."""
    per_body = np.bincount(views.body)
    together = np.flatnonzero(per_body >= 2) if (per_body >= 2).any() else np.flatnonzero(per_body)
    stretch = stretches(views, len(per_body))
    fit = None
    for most in (FEW_BODIES, MOST_BODIES):
        kept = together[np.linspace(0, len(together) - 1, min(len(together), most)).astype(int)]
        some = views.of(np.isin(views.body, kept))
        _, body = np.unique(some.body, return_inverse=True)
        some = Views(some.corners_px, some.corner_m, some.tag, body)
        values, layout, sd_px = (
            (camera.values, belief.layout, START_SD_PX) if fit is None else (fit.camera, fit.layout, fit.sd_px)
        )
        start, _ = first_bodies(values, layout, some, len(kept))
        bodies, _, _ = fitted_poses(values, layout, start, some, sd_px, ROUNDS)
        with threadpool_limits(1):
            fit = adjusted(camera, belief, bodies, some, fit, body_weights(stretch[kept]))
        if len(kept) == len(together):
            break
    assert fit is not None
    return fit


def _least_rigid(fit: Adjusted) -> int | None:
    """The row of the tag that fits far worse than the usual one, if there is one."""
    size = fit.tag_rms_px
    usual = float(np.median(size[size > 0]))
    worst = int(size.argmax())
    return worst if size[worst] > SLIPPED * usual and (size > 0).sum() > 2 else None


def _belief(sightings: Sightings, rig: Rig, camera: Camera, read_again: dict[int, Poses]) -> tuple[Belief, list[str]]:
    """Places from the rig file, and from the film for tags without one; what that means for the axes."""
    places: dict[int, tuple[FloatArray, FloatArray]] = {}
    sd = np.full((len(rig.tags), 6), np.inf)
    flags = []
    for segment in rig.segments:
        rows = [row for row, tag in enumerate(rig.tags) if tag.segment == segment]
        measured = [row for row in rows if rig.tags[row].centre_m is not None and rig.tags[row].id not in read_again]
        for row in measured:
            rotvec, centre = rig.tags[row].rotvec_rad, rig.tags[row].centre_m
            assert rotvec is not None and centre is not None
            places[row] = (Rotation.from_rotvec(rotvec).as_matrix(), centre)
            sd[row] = [rig.by_hand_rad] * 3 + [rig.by_hand_m] * 3
        if not measured:
            anchor = max(rows, key=lambda row: (sightings.tag == rig.tags[row].id).sum())
            places[anchor] = (np.eye(3), np.zeros(3))
            sd[anchor] = ANCHOR_SD
            flags.append(
                f"axes of {segment} are those of tag {rig.tags[anchor].id}: its places were not measured; "
                "angles each way of what moves on it and its own shifts are not told: mark a nod and a turn for the "
                "angles, or measure places"
            )
        _place_the_rest(sightings, rig, camera, rows, places)
        for row in rows:
            if rig.tags[row].id in read_again:
                again = read_again[rig.tags[row].id]
                places[row], sd[row] = (again.rotation[0], again.place_m[0]), np.inf
    layout = Poses(*(np.array([places[row][part] for row in range(len(rig.tags))]) for part in range(2)))
    return Belief(layout, sd), flags


def _place_the_rest(
    sightings: Sightings, rig: Rig, camera: Camera, rows: list[int], places: dict[int, tuple[FloatArray, FloatArray]]
) -> None:
    """Place each tag of a segment that has no place from one that has, the surest first."""
    waiting = {row for row in rows if row not in places}
    steps = {
        (base, row): step
        for base in rows
        for row in waiting
        if base != row and (step := _between(sightings, camera, rig.tags[base], rig.tags[row]))
    }
    while waiting:
        open_steps = [(step.lead, pair) for pair, step in steps.items() if pair[0] in places and pair[1] in waiting]
        if not open_steps:
            names = ", ".join(str(rig.tags[row].id) for row in sorted(waiting))
            problem = f"tags {names}: never seen together with the others of the segment"
            raise LayoutError(f"{problem}; film again so that they are, or measure their places by hand")
        _, (base, row) = max(open_steps)
        rotation, place_m = places[base]
        places[row] = (rotation @ steps[base, row].rotation, rotation @ steps[base, row].place_m + place_m)
        waiting.discard(row)


@dataclass(frozen=True, eq=False)
class _Voted:
    """A rotation and a place, how many readings agree with it, and by how many it leads."""

    rotation: FloatArray
    place_m: FloatArray
    votes: np.float64
    lead: np.float64


def _between(sightings: Sightings, camera: Camera, base: RigTag, other: RigTag) -> _Voted | None:
    """Where a tag sits in the axes of another, by all readings in the frames that show both; None if none does."""
    frames = np.intersect1d(sightings.frame[sightings.tag == base.id], sightings.frame[sightings.tag == other.id])
    if not len(frames):
        return None
    frames = frames[np.linspace(0, len(frames) - 1, min(len(frames), VOTES)).astype(int)]
    read = []
    for tag in (base, other):
        rows = np.flatnonzero((sightings.tag == tag.id) & np.isin(sightings.frame, frames))
        read.append(_readings_of(sightings, rows, camera.values, tag))
    count = np.arange(2 * len(frames))
    swapped = np.concatenate([count, np.roll(count, len(frames))])
    (mine, my_weight), (other_read, other_weight) = read
    steps = mine[np.tile(count, 2)].inverse().after(other_read[swapped])
    return _voted(steps, np.tile(my_weight, 2) * other_weight[swapped])


def _readings_of(sightings: Sightings, rows: IntArray, camera: FloatArray, tag: RigTag) -> tuple[Poses, FloatArray]:
    """Both readings (2n) of a tag, and how far each is to be believed by its own corners (2n).

    Corners must have a say: seen from afar, all tags of a segment read the wrong way are as rigid as the truth.
    """
    count = len(rows)
    corner_m = np.broadcast_to(SQUARE * tag.size_m, (count, 4, 3))
    views = Views(sightings.corners_px[rows], corner_m, np.zeros(count, dtype=np.int64), np.arange(count))
    read = both_readings(camera, views)
    still = Poses(np.eye(3)[None], np.zeros((1, 3)))
    square = [
        (residuals(camera, still, read[half], views) ** 2).sum(axis=1) for half in (slice(count), slice(count, None))
    ]
    advantage = (square[1] - square[0]) / (2 * READING_SD_PX**2)
    first = 1 / (1 + np.exp(-np.clip(advantage, -50, 50)))
    return read, np.concatenate([first, 1 - first])


def _voted(places: Poses, weight: FloatArray) -> _Voted:
    """The place that most of the places, each with its weight, agree with in direction."""
    cosine = (np.einsum("aij,bij->ab", places.rotation, places.rotation) - 1) / 2
    is_near = cosine > np.cos(SAME_PLACE_RAD)
    votes = is_near @ weight
    best = int((votes * (weight > 0.25)).argmax())
    lead = votes[best] - votes[~is_near[best]].max(initial=0.0)
    return _Voted(places.rotation[best], places.place_m[best], votes[best], lead)


def gauge_of(rig: Rig, belief: Belief, layout: Poses) -> tuple[FloatArray, FloatArray]:
    """What turning and shifting the axes of each segment does to the parameters, and what is not known about them."""
    count = len(rig.segments)
    gauge = np.zeros((CAMERA_COUNT + 6 * len(rig.tags), 6 * count))
    for row, tag in enumerate(rig.tags):
        place = slice(CAMERA_COUNT + 6 * row, CAMERA_COUNT + 6 * row + 6)
        first = 6 * rig.segments.index(tag.segment)
        gauge[place, first : first + 6] = np.block(
            [
                [layout.rotation[row].T, np.zeros((3, 3))],
                [-cross_matrices(layout.place_m[row]), np.eye(3)],
            ]
        )
    known = np.concatenate([np.zeros(CAMERA_COUNT), belief.sd.reshape(-1) ** -2.0])
    return gauge, np.linalg.inv(gauge.T @ (gauge * known[:, None]))
