"""What a few seconds of film show about how they were filmed: sizes, blur, light, and whether the picture stands still.

The film is gone through twice: for its tags, then for what is around them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import takewhile

import cv2
import numpy as np
from numpy.typing import NDArray

from onthree.capture.corners import edge_blur_px
from onthree.capture.film import ByteArray, Film, Frame
from onthree.capture.preflight_limits import preflight_limits
from onthree.capture.rig import Rig
from onthree.capture.tags import MARGIN_PX, Sightings, find_tags

FloatArray = NDArray[np.float64]
SingleArray = NDArray[np.float32]

MOST_POINTS = 200
POINT_QUALITY, POINT_APART_PX = 0.01, 12.0
LOOKED_AT_SIDE_PX = 960
"""Background points are followed in a picture of about this size: enough for half a pixel of the film."""
BLOCKS = 8
"""Stretches of the film that are left out in turn to see how sure an exposure is (jackknife)."""


@dataclass(frozen=True, eq=False)
class Look:
    """What was seen: sightings (n), width of their sides' blur (n, 4) [px], grey of their black and white (n), share of
    each tag at full white (n), and how far the background stands from where it began (f, 2) [px], NaN if unknown.
    """

    sightings: Sightings
    blur_px: FloatArray
    black: FloatArray
    white: FloatArray
    clipped_ratio: FloatArray
    shift_px: FloatArray

    def side_px(self) -> FloatArray:
        """The longest side of each tag seen (n) [px]; a slanted tag is as large as its longest side."""
        corners_px = self.sightings.corners_px
        longest: FloatArray = np.linalg.norm(np.roll(corners_px, -1, axis=1) - corners_px, axis=2).max(axis=1)
        return longest


def look_at(film: Film, rig: Rig) -> Look:
    """The first seconds of a film. Raises FilmError."""
    segment_of_tag = {tag.id: tag.segment for tag in rig.tags}
    most_s = preflight_limits().looked_at_s
    sightings = find_tags(_first(film.frames(), most_s), rig.family, segment_of_tag)
    return look_around(_first(film.frames(), most_s), sightings)


def _first(frames: Iterable[Frame], most_s: float) -> Iterator[Frame]:
    return takewhile(lambda frame: frame.time_s <= most_s, frames)


def look_around(frames: Iterable[Frame], sightings: Sightings) -> Look:
    """What surrounds the sightings in the frames they were made in."""
    count = len(sightings.tag)
    blur_px, greys = np.full((count, 4), np.nan), np.full((count, 3), np.nan)
    shifts = np.full((len(sightings.time_s), 2), np.nan)
    background = _Background()
    for index, frame in enumerate(frames):
        rows = slice(*np.searchsorted(sightings.frame, [index, index + 1]))
        corners_px = sightings.corners_px[rows]
        if len(corners_px):
            blur_px[rows] = edge_blur_px(frame.luma, corners_px)
            greys[rows] = [_greys(frame.luma, each) for each in corners_px]
        shifts[index] = background.shift_px(frame.luma, corners_px)
    return Look(sightings, blur_px, greys[:, 0], greys[:, 1], greys[:, 2], shifts)


def _greys(luma: ByteArray, corners_px: FloatArray) -> FloatArray:
    """Black, white and the share at full white of a tag (3)."""
    low = np.maximum(np.floor(corners_px.min(axis=0)).astype(int), 0)
    high = np.ceil(corners_px.max(axis=0)).astype(int) + 1
    part = luma[low[1] : high[1], low[0] : high[0]]
    black, white = np.percentile(part, [10, 90])
    return np.array([black, white, (part >= preflight_limits().white_full_count).mean()])


class _Background:
    """Follows points beside the tags from the first frame on; says how far they have gone as a whole."""

    def __init__(self) -> None:
        self._first: SingleArray | None = None
        self._points: SingleArray = np.zeros((0, 1, 2), np.float32)
        self._before: ByteArray | None = None

    def shift_px(self, luma: ByteArray, corners_px: FloatArray) -> FloatArray:
        """The median way (2) of the points since the first frame; NaN where there are too few."""
        scale = max(1, round(max(luma.shape) / LOOKED_AT_SIDE_PX))
        size = (luma.shape[1] // scale, luma.shape[0] // scale)
        small = np.asarray(cv2.resize(luma, size, interpolation=cv2.INTER_AREA), np.uint8)
        if self._first is None:
            self._points = self._first = _points(small, corners_px / scale)
        elif self._before is not None and len(self._points):
            moved, found, _ = cv2.calcOpticalFlowPyrLK(self._before, small, self._points, np.zeros_like(self._points))
            kept = np.ravel(found) == 1
            self._points, self._first = np.asarray(moved, np.float32)[kept], self._first[kept]
        self._before = small
        if len(self._points) < preflight_limits().points_least_count:
            return np.full(2, np.nan)
        return np.asarray(np.median(self._points - self._first, axis=(0, 1)) * scale, np.float64)


def _points(luma: ByteArray, corners_px: FloatArray) -> SingleArray:
    """Points (k, 1, 2) that can be followed, not on what carries tags."""
    around = np.full(luma.shape, 255, np.uint8)
    if len(corners_px):
        low = np.maximum(corners_px.min(axis=(0, 1)) - MARGIN_PX, 0).astype(int)
        high = (corners_px.max(axis=(0, 1)) + MARGIN_PX).astype(int)
        around[low[1] : high[1], low[0] : high[0]] = 0
    found = cv2.goodFeaturesToTrack(luma, MOST_POINTS, POINT_QUALITY, POINT_APART_PX, mask=around)
    return np.zeros((0, 1, 2), np.float32) if found is None else np.asarray(found, np.float32)


@dataclass(frozen=True)
class Exposure:
    """The exposure that the blur of moving sides tells, between two bounds (95 %) [s]."""

    least_s: float
    most_s: float


def exposure_of(look: Look) -> Exposure | None:
    """The exposure, from how much wider the blur of a side is the faster it goes across itself; None if nothing moved.

    A side that goes v pixels a second is smeared evenly over v t, which has the variance (v t)^2 / 12; a wide smear is
    no blurred step any more, and fits one too narrow, so only narrow ones count.
    """
    speed_px_s, blur_px, frame = _moving_sides(look)
    if (np.abs(speed_px_s) >= preflight_limits().speed_least_px_s).sum() < preflight_limits().sides_least_count:
        return None
    square, width, block = speed_px_s**2, blur_px**2, frame * BLOCKS // (frame.max() + 1)
    first_s = float(np.sqrt(12 * max(_slope_ratio(square, width), 0.0)))
    inside = np.abs(speed_px_s) * first_s < preflight_limits().smear_fitted_most_px
    square, width, block = square[inside], width[inside], block[inside]
    slopes = np.array(
        [_slope_ratio(square[block != left_out], width[block != left_out]) for left_out in np.unique(block)]
    )
    count = len(slopes)
    if count < 3:
        return None
    sd = float(np.sqrt((count - 1) / count * ((slopes - slopes.mean()) ** 2).sum()))
    middle = _slope_ratio(square, width)
    least_s, most_s = (float(np.sqrt(12 * max(each, 0.0))) for each in (middle - 2 * sd, middle + 2 * sd))
    return Exposure(least_s, most_s)


def _slope_ratio(across: FloatArray, up: FloatArray) -> float:
    from_mean = across - across.mean()
    return float((from_mean * up).sum() / max((from_mean**2).sum(), 1e-12))


def _moving_sides(look: Look) -> tuple[FloatArray, FloatArray, NDArray[np.int64]]:
    """Speed across itself [px/s], blur [px] and frame of every side whose tag was seen in the frames around."""
    seen = look.sightings
    order = np.lexsort((seen.frame, seen.tag))
    frame, tag = seen.frame[order], seen.tag[order]
    middle = np.flatnonzero((tag[2:] == tag[:-2]) & (frame[2:] - frame[:-2] == 2)) + 1
    before, here, after = (order[middle + step] for step in (-1, 0, 1))
    step_s = seen.time_s[seen.frame[after]] - seen.time_s[seen.frame[before]]
    speed = (seen.corners_px[after] - seen.corners_px[before]) / step_s[:, None, None]
    corners_px = seen.corners_px[here]
    along = np.roll(corners_px, -1, axis=1) - corners_px
    outward = np.stack([along[..., 1], -along[..., 0]], axis=-1) / np.linalg.norm(along, axis=-1, keepdims=True)
    across = (((speed + np.roll(speed, -1, axis=1)) / 2) * outward).sum(axis=-1)
    blur_px = look.blur_px[here]
    is_good = np.isfinite(blur_px)
    return across[is_good], blur_px[is_good], np.repeat(seen.frame[here][:, None], 4, axis=1)[is_good]
