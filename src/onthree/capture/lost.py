"""Where a segment is not known, stretch by stretch, and why: none of its tags was seen, or a tag reads two ways."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from onthree.capture.tracks import Track

FloatArray = NDArray[np.float64]

HIDDEN, OPEN, NONE_FITS = "no tag of it was seen", "two readings", "seen, but no reading fits"
MOST_TOLD = 3
"""Stretches that a flag names; the page on how good a film was names all."""


@dataclass(frozen=True, kw_only=True)
class Lost:
    """Frames on end in which a segment is not known: from the first to the last [s], how many, why."""

    segment: str
    start_s: float
    end_s: float
    frames_count: int
    why: str


def lost_stretches(time_s: FloatArray, tracks: Mapping[str, Track]) -> tuple[Lost, ...]:
    """Every stretch in which a segment is not known, one after the other, cut where the reason changes."""
    return tuple(one for segment, track in tracks.items() for one in _of_segment(time_s, segment, track))


def lost_flags(time_s: FloatArray, tracks: Mapping[str, Track]) -> Iterator[str]:
    """What is to be said of each segment that is not known all the while."""
    every = lost_stretches(time_s, tracks)
    for segment in tracks:
        own = [one for one in every if one.segment == segment]
        if own:
            longest = sorted(sorted(own, key=lambda one: -one.frames_count)[:MOST_TOLD], key=lambda one: one.start_s)
            when = "; ".join(f"{one.start_s:.1f} to {one.end_s:.1f} s, {one.why}" for one in longest)
            more = f"; and {len(own) - len(longest)} shorter stretches" if len(own) > len(longest) else ""
            lost = sum(one.frames_count for one in own)
            yield f"{segment} is not known in {lost} of {len(time_s)} frames: {when}{more}"


def _of_segment(time_s: FloatArray, segment: str, track: Track) -> Iterator[Lost]:
    is_seen, is_open = track.sightings_count > 0, np.isfinite(track.apart_rad)
    kind = np.select([track.is_valid, is_open, ~is_seen], [0, 1, 2], 3)
    for rows in np.split(np.arange(len(kind)), np.flatnonzero(np.diff(kind)) + 1):
        if kind[rows[0]]:
            yield Lost(
                segment=segment,
                start_s=float(time_s[rows[0]]),
                end_s=float(time_s[rows[-1]]),
                frames_count=len(rows),
                why=_why(int(kind[rows[0]]), track, rows),
            )


def _why(kind: int, track: Track, rows: NDArray[np.intp]) -> str:
    if kind != 1:
        return HIDDEN if kind == 2 else NONE_FITS
    apart_deg = np.degrees(np.median(track.apart_rad[rows]))
    tags = "one tag" if track.sightings_count[rows].max() == 1 else "tags like one"
    return f"{tags}, {OPEN} apart by {apart_deg:.0f} degrees"
