"""Two films of which one was taken by a phone that moved: only how segments stand on each other goes together.

R1(offset + t) = C R2(t) X for a segment on the base, with C the turn of the base's axes between the films and X that of
the segment's. Each film keeps its own layout; that of the second is laid into the axes of the first.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from onthree.capture.bundle import Belief
from onthree.capture.clocks import Agreement
from onthree.capture.layout import Layout, gauge_of
from onthree.capture.poses import Poses
from onthree.capture.rig import Rig
from onthree.capture.shared_errors import AXES, ORIGIN, SharedErrors, shared_errors
from onthree.capture.two_film_layout import ORIGIN_SD_M, PLACE_SD_M, OneFilm, Shared
from onthree.capture.two_film_tracks import Pairs, Turned

FloatArray = NDArray[np.float64]


def separate_layouts(films: tuple[OneFilm, OneFilm], rig: Rig, agreed: Agreement, pairs: Pairs, base: str) -> Shared:
    """Both layouts in the axes of the first film, with the errors of both and of laying one upon the other."""
    layout, other = films[0].layout, films[1].layout
    axes = _axes(films, agreed, pairs, base)
    places = [
        axes[tag.segment].inverse().after(other.fit.layout[np.array([row])])
        if tag.segment in axes
        else other.fit.layout[np.array([row])]
        for row, tag in enumerate(other.tags)
    ]
    moved = Poses(np.concatenate([one.rotation for one in places]), np.concatenate([one.place_m for one in places]))
    turned = replace(other, fit=replace(other.fit, layout=moved), gauge=_gauge(rig, other, moved))
    names, of_first, of_second = _errors(layout, other, turned)
    flags = (*layout.flags, *(f"second film: {flag}" for flag in other.flags if not flag.startswith(AXES)))
    count = len(names)
    between = np.linalg.cholesky(agreed.turns_covariance)
    size = len(between)
    names = (*names, *(f"between phones {part + 1}" for part in range(size)), "clock", "clock rate")
    errors = [SharedErrors(np.pad(columns, [(0, 0), (0, size + 2)]), names) for columns in (of_first, of_second)]
    clock = np.zeros((2, len(names)))
    clock[:, -2:] = np.linalg.cholesky(agreed.covariance)
    axes_errors = {segment: np.zeros((3, len(names))) for segment in (*layout.segments, *other.segments)}
    axes_errors[base][:, count : count + size] = -between[:3]
    for place, segment in enumerate(agreed.segment_turns):
        axes_errors[segment][:, count : count + size] = between[3 + 3 * place : 6 + 3 * place]
    return Shared((replace(layout, flags=flags), turned), (errors[0], errors[1]), Turned(axes_errors, clock))


def _axes(films: tuple[OneFilm, OneFilm], agreed: Agreement, pairs: Pairs, base: str) -> dict[str, Poses]:
    """The axes of each segment by the first film in those by the second; origins by where segments are on the base."""
    turn = agreed.turn.as_matrix()
    names = [base, *agreed.segment_turns]
    rows, wanted = [], []
    for number, name in enumerate(names[1:], start=1):
        tracks = [(film.tracks[name], film.tracks[base]) for film in films]
        known = [track.is_valid & ground.is_valid for track, ground in tracks]
        both = pairs.of(known[0][pairs.first] & known[1][pairs.second])
        here, there = (
            ground.raw.poses[frames].inverse().after(track.raw.poses[frames])
            for (track, ground), frames in zip(tracks, (both.first, both.second), strict=True)
        )
        row = np.zeros((len(both.first), 3, 3 * len(names)))
        row[:, :, :3] = -turn
        row[:, :, 3 * number : 3 * number + 3] = turn @ there.rotation
        rows.append(row.reshape(-1, row.shape[2]) / PLACE_SD_M)
        wanted.append((here.place_m - there.place_m @ turn.T).reshape(-1) / PLACE_SD_M)
    across, seen = np.concatenate(rows), np.concatenate(wanted)
    known_m = np.eye(across.shape[1]) * ORIGIN_SD_M**-2.0
    origins = np.linalg.solve(across.T @ across + known_m, across.T @ seen).reshape(-1, 3).astype(float)
    turns = [turn.T, *(agreed.segment_turns[name].as_matrix() for name in names[1:])]
    return {name: Poses(each[None], origin[None]) for name, each, origin in zip(names, turns, origins, strict=True)}


def _gauge(rig: Rig, layout: Layout, places: Poses) -> FloatArray:
    """What turning and shifting the axes of each segment does to the second film's parameters."""
    kept = rig.without({tag.id for tag in rig.tags} - {tag.id for tag in layout.tags})
    return gauge_of(kept, Belief(places, np.ones((len(places.place_m), 6))), places)[0]


def _errors(first: Layout, second: Layout, turned: Layout) -> tuple[tuple[str, ...], FloatArray, FloatArray]:
    """Names, and errors of one standard deviation in the parameters of each film; axes are those of the first."""
    of_first, alone = shared_errors(first), shared_errors(second)
    own = [place for place, name in enumerate(alone.names) if not name.startswith((AXES, ORIGIN))]
    names = (*of_first.names, *(f"{alone.names[place]} of the second film" for place in own))
    axes = turned.gauge @ _lower(second, first)
    columns = [np.zeros(len(second.fit.covariance)) for _ in of_first.names]
    for number, segment in enumerate(second.segments):
        for place, name in enumerate(of_first.names):
            kind, _, rest = name.partition(f" of {segment} ")
            if kind in (AXES, ORIGIN) and rest:
                axis = int(rest) - 1 + (3 if kind == ORIGIN else 0)
                columns[place] = axes[:, 6 * number + axis]
    of_second = np.stack([*columns, *alone.columns[:, own].T], axis=1)
    return names, np.pad(of_first.columns, [(0, 0), (0, len(own))]), of_second


def _lower(second: Layout, first: Layout) -> FloatArray:
    """The root of the first film's uncertainty of axes, in the order of the second's segments."""
    root = np.linalg.cholesky(first.gauge_covariance)
    lower = np.zeros((6 * len(second.segments), 6 * len(second.segments)))
    for number, segment in enumerate(second.segments):
        if segment in first.segments:
            other = 6 * first.segments.index(segment)
            lower[6 * number : 6 * number + 6, 6 * number : 6 * number + 6] = root[other : other + 6, other : other + 6]
    return lower
