"""Layout, cameras and the second camera's place from both films: from what each found alone, then all together."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.bundle import CAMERA_COUNT, Belief, slow_ratio
from onthree.capture.camera import Camera
from onthree.capture.clocks import Agreement
from onthree.capture.layout import ANCHOR_SD, Layout, gauge_of, views_of
from onthree.capture.poses import Poses, Views, joined
from onthree.capture.rig import Rig, RigTag
from onthree.capture.shared_errors import AXES, MOST_OF_THE_REST, ORIGIN, SharedErrors
from onthree.capture.tags import Sightings
from onthree.capture.tracks import Track
from onthree.capture.two_cameras import BEFORE_TAGS, POSE, Side, Together, adjusted_together
from onthree.capture.two_film_tracks import Pairs, Placed, Turned, carried, speeds_between

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

MOST_BODIES = 800
"""More are thinned out evenly."""
FAR_OFF = 6.0
"""A tag that sits this many standard deviations from where the rig file has it was measured wrongly."""
ORIGIN_SD_M, PLACE_SD_M = 0.3, 0.005
"""How far apart the origins that two films gave a segment may be, and how well a place is known: only for a start."""
STILL = Poses(np.eye(3)[None], np.zeros((1, 3)))


@dataclass(frozen=True, eq=False)
class OneFilm:
    """What one film showed alone: sightings, camera as believed, layout, tracks."""

    sightings: Sightings
    camera: Camera
    layout: Layout
    tracks: Mapping[str, Track]


@dataclass(frozen=True, eq=False)
class Shared:
    """Both films together: a layout for each with its own camera, errors of both, how the second camera stands.

    That is its place where both cameras stood still, else only how the axes of the segments go together.
    """

    layouts: tuple[Layout, Layout]
    errors: tuple[SharedErrors, SharedErrors]
    placed: Placed | Turned


def shared_layout(films: tuple[OneFilm, OneFilm], rig: Rig, agreed: Agreement, pairs: Pairs) -> Shared:
    """One adjustment of both films, whose cameras stood still."""
    slipped = {tag for film in films for tag in film.layout.slipped}
    used = {tag.id for film in films for tag in film.layout.tags} - slipped
    flags = tuple(_flags(films, rig))
    rig = rig.without({tag.id for tag in rig.tags} - used)
    axes, pose = _axes(films, agreed, pairs)
    start = _start_layout(films, rig.tags, axes)
    belief = _belief(rig, start)
    joint, bodies, kept = _bodies(films, rig, axes, pose, pairs)
    sides = (_side(films, 0, rig, joint, kept, pairs), _side(films, 1, rig, joint, kept, pairs))
    together = adjusted_together(sides, belief, start, pose, bodies)
    gauge, gauge_covariance = gauge_of(rig, belief, together.layout)
    layouts = [
        Layout(rig.tags, rig.segments, together.adjusted(film), gauge, gauge_covariance, tuple(sorted(slipped)), ())
        for film in range(2)
    ]
    columns, clock, names = _errors(together, layouts[0], agreed)
    errors = [SharedErrors(columns[together.rows_of(film)], names) for film in range(2)]
    placed = Placed(together.pose, columns[POSE], clock)
    return Shared((replace(layouts[0], flags=flags), layouts[1]), (errors[0], errors[1]), placed)


def _flags(films: tuple[OneFilm, OneFilm], rig: Rig) -> Iterator[str]:
    """What each film noticed; that a tag was never seen only if neither saw it."""
    seen = {tag.id for film in films for tag in film.layout.tags}
    slipped = {tag for film in films for tag in film.layout.slipped}
    for tag in rig.tags:
        if tag.id not in seen | slipped:
            yield f"tag {tag.id} on {tag.segment} was never seen"
    for which, film, others in zip(("first", "second"), films, ((), films[0].layout.segments), strict=True):
        for flag in film.layout.flags:
            if flag.startswith(AXES):
                is_used = not any(flag.startswith(f"{AXES} of {segment} ") for segment in others)
                yield from [flag] if is_used else []
            elif not flag.endswith("was never seen"):
                yield f"{which} film: {flag}"


def _axes(films: tuple[OneFilm, OneFilm], agreed: Agreement, pairs: Pairs) -> tuple[dict[str, Poses], Poses]:
    """The axes of each segment by the first film in those by the second, and the second camera in the first's axes.

    Where both films know a segment, its place in the first is C (place in the second + R2 origin) + t.
    """
    names = [name for name in agreed.segment_turns if name in films[0].tracks]
    turn = agreed.turn.as_matrix()
    rows, wanted = [], []
    for number, name in enumerate(names):
        first, second = films[0].tracks[name], films[1].tracks[name]
        both = pairs.of(first.is_valid[pairs.first] & second.is_valid[pairs.second])
        if not len(both.first):
            continue
        there = _carried(films[1], name, both)
        row = np.zeros((len(both.first), 3, 3 + 3 * len(names)))
        row[:, :, :3] = np.eye(3)
        row[:, :, 3 + 3 * number : 6 + 3 * number] = turn @ there.rotation
        rows.append(row.reshape(-1, row.shape[2]) / PLACE_SD_M)
        here_m = first.raw.poses.place_m[both.first]
        wanted.append((here_m - there.place_m @ turn.T).reshape(-1) / PLACE_SD_M)
    across, seen = np.concatenate(rows), np.concatenate(wanted)
    known = np.concatenate([np.zeros(3), np.full(3 * len(names), ORIGIN_SD_M**-2.0)])
    solved = np.linalg.solve(across.T @ across + np.diag(known), across.T @ seen).reshape(-1, 3).astype(float)
    axes = {
        name: Poses(agreed.segment_turns[name].as_matrix()[None], solved[None, 1 + number])
        for number, name in enumerate(names)
    }
    return axes, Poses(turn[None], solved[None, 0])


def _carried(film: OneFilm, segment: str, pairs: Pairs) -> Poses:
    """A segment of the second film at the moments of the first."""
    track = film.tracks[segment]
    speed = speeds_between(track, film.sightings.time_s, pairs.second, pairs.later_s)
    return carried(track.raw, pairs.second, speed, pairs.later_s)


def _start_layout(films: tuple[OneFilm, OneFilm], tags: Sequence[RigTag], axes: Mapping[str, Poses]) -> Poses:
    """Where the first film has each tag; else where the second has it, in the first's axes."""
    rows = [{tag.id: row for row, tag in enumerate(film.layout.tags)} for film in films]
    places = []
    for tag in tags:
        if tag.id in rows[0]:
            places.append(films[0].layout.fit.layout[np.array([rows[0][tag.id]])])
        else:
            place = films[1].layout.fit.layout[np.array([rows[1][tag.id]])]
            places.append(axes.get(tag.segment, STILL).inverse().after(place))
    return joined(places)


def _belief(rig: Rig, start: Poses) -> Belief:
    """Places measured by hand where the films bear them out; a segment without any keeps the axes of its first tag."""
    rotation, place_m = start.rotation.copy(), start.place_m.copy()
    sd = np.full((len(rig.tags), 6), np.inf)
    by_hand = np.array([rig.by_hand_rad] * 3 + [rig.by_hand_m] * 3)
    for row, tag in enumerate(rig.tags):
        if tag.centre_m is None or tag.rotvec_rad is None:
            continue
        turned = Rotation.from_rotvec(tag.rotvec_rad)
        off_rad = (turned.inv() * Rotation.from_matrix(start.rotation[row])).as_rotvec()
        if (np.abs(np.concatenate([off_rad, start.place_m[row] - tag.centre_m])) < FAR_OFF * by_hand).all():
            rotation[row], place_m[row], sd[row] = turned.as_matrix(), tag.centre_m, by_hand
    for segment in rig.segments:
        rows = np.array([row for row, tag in enumerate(rig.tags) if tag.segment == segment])
        if np.isinf(sd[rows]).all():
            away = Rotation.from_matrix(rotation[rows]).magnitude() + np.linalg.norm(place_m[rows], axis=1)
            sd[rows[away.argmin()]] = ANCHOR_SD
    return Belief(Poses(rotation, place_m), sd)


def _bodies(
    films: tuple[OneFilm, OneFilm], rig: Rig, axes: Mapping[str, Poses], pose: Poses, pairs: Pairs
) -> tuple[tuple[IntArray, IntArray], Poses, IntArray]:
    """Which body each frame body of both films shows (-1: none), where the kept bodies are, and which are kept."""
    counts = [len(film.sightings.time_s) for film in films]
    joint = [np.full(len(rig.segments) * count, -1) for count in counts]
    size = len(rig.segments) * counts[0]
    rotation, place_m, tags_count = np.tile(np.eye(3), (size, 1, 1)), np.zeros((size, 3)), np.zeros(size)
    nearest = pairs.of(np.concatenate([[True], np.diff(pairs.second) > 0]))
    for number, segment in enumerate(rig.segments):
        if segment in films[1].tracks:
            track = films[1].tracks[segment]
            both = nearest.of(track.is_valid[nearest.second])
            body = number * counts[0] + both.first
            there = pose[np.zeros(len(body), int)].after(
                _carried(films[1], segment, both).after(axes.get(segment, STILL)[np.zeros(len(body), int)])
            )
            joint[1][number * counts[1] + both.second] = body
            rotation[body], place_m[body] = there.rotation, there.place_m
            np.add.at(tags_count, body, track.sightings_count[both.second])
        if segment in films[0].tracks:
            track = films[0].tracks[segment]
            frames = np.flatnonzero(track.is_valid)
            body = number * counts[0] + frames
            joint[0][body] = body
            rotation[body], place_m[body] = track.raw.poses.rotation[frames], track.raw.poses.place_m[frames]
            tags_count[body] += track.sightings_count[frames]
    useful = np.flatnonzero(tags_count >= 2)
    useful = useful if len(useful) else np.flatnonzero(tags_count)
    kept = useful[np.linspace(0, len(useful) - 1, min(len(useful), MOST_BODIES)).astype(int)]
    return (joint[0], joint[1]), Poses(rotation[kept], place_m[kept]), kept


def _side(
    films: tuple[OneFilm, OneFilm],
    number: int,
    rig: Rig,
    joint: tuple[IntArray, IntArray],
    kept: IntArray,
    pairs: Pairs,
) -> Side:
    film = films[number]
    time_s, count = film.sightings.time_s, len(film.sightings.time_s)
    views = views_of(film.sightings, rig.tags, rig.segments)
    views = views.of(np.isin(joint[number], kept)[views.body])
    frames, body = np.unique(views.body, return_inverse=True)
    views = Views(views.corners_px, views.corner_m, views.tag, body)
    since, speed = STILL[np.zeros(len(frames), int)], np.zeros((len(frames), 6))
    if number == 1:
        later_s = np.zeros(count)
        later_s[pairs.second[::-1]] = pairs.later_s[::-1]
        since, speed = _motion_since(film, rig.segments, frames, later_s)
    shown = np.searchsorted(kept, joint[number][frames])
    step_s = float(np.median(np.diff(time_s)))
    lasting_s = max(track.raw.correlation_s for track in film.tracks.values() if track.is_valid.any())
    slow = slow_ratio(float(np.exp(-step_s / lasting_s)))
    return Side(film.camera, film.layout.fit.camera, views, shown, since, speed, time_s[frames % count], slow)


def _motion_since(
    film: OneFilm, segments: Sequence[str], frames: IntArray, later_s: FloatArray
) -> tuple[Poses, FloatArray]:
    """The motion (m) of frame bodies since the moment of their body, and their speed (m, 6), in the camera's axes."""
    count = len(film.sightings.time_s)
    still = STILL[np.zeros(len(frames), int)]
    rotation, place_m, speeds = still.rotation.copy(), still.place_m.copy(), np.zeros((len(frames), 6))
    for number, segment in enumerate(segments):
        here = np.flatnonzero(frames // count == number)
        if not len(here) or segment not in film.tracks:
            continue
        track, rows = film.tracks[segment], frames[here] % count
        speeds[here] = speeds_between(track, film.sightings.time_s, rows, later_s[rows])
        then = carried(track.raw, rows, speeds[here], later_s[rows])
        since = track.raw.poses[rows].after(then.inverse())
        rotation[here], place_m[here] = since.rotation, since.place_m
    return Poses(rotation, place_m), speeds


def _errors(together: Together, layout: Layout, agreed: Agreement) -> tuple[FloatArray, FloatArray, tuple[str, ...]]:
    """Independent errors of one standard deviation: of the parameters (22 + 6 t, k), the clock (2, k), their names."""
    size = len(together.covariance)
    axes = np.zeros((size, layout.gauge.shape[1]))
    axes[BEFORE_TAGS:] = (layout.gauge @ np.linalg.cholesky(layout.gauge_covariance))[CAMERA_COUNT:]
    rest = together.covariance - axes @ axes.T
    columns, names = [], []
    single = [("focal", 0), ("focal of the second film", CAMERA_COUNT)]
    single += [(f"between phones {axis + 1}", POSE.start + axis) for axis in range(6)]
    for name, row in single:
        if rest[row, row] > 0:
            columns.append(rest[:, row] / np.sqrt(rest[row, row]))
            names.append(name)
            rest = rest - np.outer(columns[-1], columns[-1])
    size_m = np.mean([tag.size_m for tag in layout.tags])
    scale = np.concatenate([np.sqrt(np.maximum(np.diag(together.covariance)[:BEFORE_TAGS], 1e-30)) * 1e3, np.ones(6)])
    scale = np.concatenate([scale[:BEFORE_TAGS], np.tile([1, 1, 1, *[size_m] * 3], len(layout.tags))])
    values, vectors = np.linalg.eigh(rest / scale[:, None] / scale)
    for part, one in enumerate(np.argsort(-values)[:MOST_OF_THE_REST]):
        columns.append(vectors[:, one] * np.sqrt(max(values[one], 0.0)) * scale)
        names.append(f"layout {part + 1}")
    for index, segment in enumerate(layout.segments):
        columns += list(axes[:, 6 * index : 6 * index + 6].T)
        names += [f"{kind} of {segment} {axis}" for kind in (AXES, ORIGIN) for axis in (1, 2, 3)]
    clock = np.zeros((2, len(columns) + 2))
    clock[:, -2:] = np.linalg.cholesky(agreed.covariance)
    columns += list((together.by_clock @ clock[:, -2:]).T)
    return np.stack(columns, axis=1), clock, (*names, "clock", "clock rate")
