"""Draws what was measured into a copy of the film: tags, axes of the segments, the angles and the name of the phase.

The copy is turned upright, has the moments of the film itself, and says "not seen" where a segment is not known. It is
H.264 in an MP4 file.
"""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from av.container import InputContainer
from numpy.typing import NDArray

from onthree.capture.camera import projected
from onthree.capture.clips import WrittenFilm
from onthree.capture.poses import Poses
from onthree.capture.progress import TOLD_EVERY_S, Listener, Progress
from onthree.capture.tags import Sightings
from onthree.kinematics.measures import Phase

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
ByteArray = NDArray[np.uint8]
Colour = tuple[int, int, int]

LONGEST_SIDE_PX = 1920
"""A larger film is drawn smaller: it is to be looked at, nothing is measured in it."""
AXIS_M = 0.12
AXES: tuple[tuple[str, Colour], ...] = (
    ("X front", (60, 60, 230)),
    ("Y up", (70, 190, 70)),
    ("Z right", (230, 140, 40)),
)
TAG_COLOUR: Colour = (0, 210, 255)
INK: Colour = (255, 255, 255)
LABEL_DOWN_PX = 24
LEAST_SIZE_RATIO = 0.5
"""Of letters: those on a small picture are smaller, but not smaller than can be read."""
SHADE_RATIO = 0.45
SAME_MOMENT_S = 1e-4
ANGLES = (("extension", "flexion"), ("right bend", "left bend"), ("left turn", "right turn"))
FONT = cv2.FONT_HERSHEY_SIMPLEX


@dataclass(frozen=True, eq=False, kw_only=True)
class Overlay:
    """What is drawn at each of n frames.

    ``sightings`` of the film; ``poses`` (n) of each segment in camera axes and whether each ``is_seen`` (n);
    ``angles_deg`` (n, 4) in the order of the joint coordinate system with the total last, NaN where unknown; ``said``
    stands at the foot of every picture.
    """

    sightings: Sightings
    camera: FloatArray
    poses: Mapping[str, Poses]
    is_seen: Mapping[str, BoolArray]
    angles_deg: FloatArray
    phases: Sequence[Phase]
    said: str


def draw_film(path: Path, target: Path, overlay: Overlay, on_progress: Listener | None = None) -> None:
    """Write the drawn copy of a film. The listener may raise Cancelled; the target is then not whole."""
    time_s = overlay.sightings.time_s
    last_s, told_s, begun_s = float(time_s[-1]), 0.0, time.monotonic()
    with av.open(str(path)) as source, WrittenFilm(target) as copy:
        for index, picture, turned_deg in _pictures(source, time_s):
            at_s = float(time_s[index])
            copy.add(drawn_picture(picture, index, overlay, turned_deg), at_s)
            if on_progress is not None and at_s - told_s >= TOLD_EVERY_S:
                told_s = at_s
                on_progress(Progress(at_s, last_s, (time.monotonic() - begun_s) * (last_s - at_s) / at_s, "drawing"))


def drawn_picture(picture: ByteArray, index: int, overlay: Overlay, turned_deg: int = 0) -> ByteArray:
    """One frame (height, width, 3; blue, green, red), drawn on, its sides even.

    ``turned_deg`` is how far it has to be turned counter-clockwise to be upright.
    """
    height, width = picture.shape[:2]
    ratio = min(1.0, LONGEST_SIDE_PX / max(height, width))
    drawn = picture.copy()
    if ratio < 1:
        drawn = np.asarray(cv2.resize(picture, None, fx=ratio, fy=ratio, interpolation=cv2.INTER_AREA), np.uint8)
    labels = [*_tags(drawn, index, overlay, ratio), *_axes(drawn, index, overlay, ratio)]
    turns = round(turned_deg / 90) % 4
    place = _turned(turns, drawn.shape[1], drawn.shape[0])
    drawn = np.ascontiguousarray(np.rot90(drawn, turns))
    size_ratio = max(max(drawn.shape[:2]) / LONGEST_SIDE_PX, LEAST_SIZE_RATIO)
    for label in labels:
        _text(drawn, label.words, place(label.across_px, label.down_px), 0.6 * size_ratio, label.colour)
    _captions(drawn, index, overlay, size_ratio)
    even: ByteArray = np.ascontiguousarray(drawn[: drawn.shape[0] // 2 * 2, : drawn.shape[1] // 2 * 2])
    return even


def _pictures(source: InputContainer, time_s: FloatArray) -> Iterator[tuple[int, ByteArray, int]]:
    """The frames that were measured, known by their moment: number, picture, how far it is to be turned [deg]."""
    stream = source.streams.video[0]
    stream.thread_type = "AUTO"
    first: Fraction | None = None
    try:
        for frame in source.decode(stream):
            if frame.pts is None or frame.time_base is None:
                continue
            moment = frame.pts * Fraction(frame.time_base)
            first = moment if first is None else first
            index = int(np.abs(time_s - float(moment - first)).argmin())
            if abs(time_s[index] - float(moment - first)) < SAME_MOMENT_S:
                yield index, np.asarray(frame.to_ndarray(format="bgr24"), np.uint8), int(frame.rotation)
    except av.FFmpegError:
        return


@dataclass(frozen=True)
class _Label:
    """Words at a place of the picture that is not turned yet."""

    words: str
    across_px: float
    down_px: float
    colour: Colour


def _tags(drawn: ByteArray, index: int, overlay: Overlay, ratio: float) -> Iterator[_Label]:
    first, last = np.searchsorted(overlay.sightings.frame, [index, index + 1])
    for tag, corners_px in zip(
        overlay.sightings.tag[first:last], overlay.sightings.corners_px[first:last], strict=True
    ):
        ring = np.round(16 * _scaled(corners_px, ratio)).astype(np.int32)
        cv2.polylines(drawn, [ring], True, TAG_COLOUR, 2, cv2.LINE_AA, 4)
        centre = _scaled(corners_px, ratio).mean(axis=0)
        yield _Label(str(tag), float(centre[0]), float(centre[1]), TAG_COLOUR)


def _axes(drawn: ByteArray, index: int, overlay: Overlay, ratio: float) -> Iterator[_Label]:
    for segment, poses in overlay.poses.items():
        if not overlay.is_seen[segment][index]:
            continue
        origin_m = poses.place_m[index]
        ends_m = origin_m + AXIS_M * poses.rotation[index].T
        ends = _scaled(projected(overlay.camera, np.vstack([origin_m, ends_m])), ratio)
        start = tuple(np.round(16 * ends[0]).astype(int).tolist())
        for (words, colour), end in zip(AXES, ends[1:], strict=True):
            tip = tuple(np.round(16 * end).astype(int).tolist())
            cv2.line(drawn, start, tip, colour, 3, cv2.LINE_AA, 4)
            yield _Label(words, float(end[0]), float(end[1]), colour)
        yield _Label(segment, float(ends[0][0]), float(ends[0][1]) + LABEL_DOWN_PX, INK)


def _captions(drawn: ByteArray, index: int, overlay: Overlay, size_ratio: float) -> None:
    time_s = float(overlay.sightings.time_s[index])
    names = [phase.name for phase in overlay.phases if phase.start_s <= time_s <= phase.end_s]
    lost = [segment for segment, is_seen in overlay.is_seen.items() if not is_seen[index]]
    lines = [(f"{time_s:.2f} s", ""), (", ".join(names), ""), *angle_lines(overlay.angles_deg[index], lost)]
    step, edge = round(42 * size_ratio), round(16 * size_ratio)
    height, width = drawn.shape[:2]
    _shade(drawn[: step * len(lines) + step // 2, : round(520 * size_ratio)])
    for number, (words, value) in enumerate(lines, start=1):
        _text(drawn, words, (edge, number * step), size_ratio, INK)
        across = cv2.getTextSize(value, FONT, size_ratio, round(2 * size_ratio) or 1)[0][0]
        _text(drawn, value, (round(480 * size_ratio) - across, number * step), size_ratio, INK)
    _shade(drawn[height - step :])
    _text(
        drawn,
        overlay.said,
        (edge, height - round(12 * size_ratio)),
        0.72 * size_ratio * min(1.0, 1.6 * width / 1920 / size_ratio),
        INK,
    )


def angle_lines(angles_deg: FloatArray, lost: Sequence[str]) -> list[tuple[str, str]]:
    """The angles (4), the total last, as words and value; which segments are not seen instead, if unknown."""
    if np.isnan(angles_deg[-1]):
        return [(f"not seen: {', '.join(lost) or 'head on trunk'}", "")]
    known = [(ways, angle) for ways, angle in zip(ANGLES, angles_deg, strict=False) if not np.isnan(angle)]
    ways = [(ways[0] if angle >= 0 else ways[1], abs(angle)) for ways, angle in known]
    return [(words, f"{angle:.1f} deg") for words, angle in (*ways, ("total", angles_deg[3]))]


def _shade(part: ByteArray) -> None:
    part[:] = (SHADE_RATIO * part).astype(np.uint8)


def _scaled(points_px: FloatArray, ratio: float) -> FloatArray:
    """Places in the smaller picture; pixel centres are at integers."""
    scaled: FloatArray = (points_px + 0.5) * ratio - 0.5
    return scaled


def _turned(turns: int, width: int, height: int) -> Callable[[float, float], tuple[int, int]]:
    """Where a place of a picture lies after quarter turns counter-clockwise."""

    def place(across_px: float, down_px: float) -> tuple[int, int]:
        turned = (
            (across_px, down_px),
            (down_px, width - 1 - across_px),
            (width - 1 - across_px, height - 1 - down_px),
            (height - 1 - down_px, across_px),
        )[turns]
        return round(turned[0]), round(turned[1])

    return place


def _text(drawn: ByteArray, words: str, at_px: tuple[int, int], size_ratio: float, colour: Colour) -> None:
    thick = max(1, round(2 * size_ratio))
    for shift, paint in ((1, (0, 0, 0)), (0, colour)):
        cv2.putText(drawn, words, (at_px[0] + shift, at_px[1] + shift), FONT, size_ratio, paint, thick, cv2.LINE_AA)
