"""Finds printed tags in the frames of a film, and follows them: near where they were, else in the whole frame.

Image coordinates have pixel centres at integers. The corners of a tag go round as on the upright printed sheet seen
from the front: top left, top right, bottom right, bottom left.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pupil_apriltags import Detector  # type: ignore[import-untyped]

from onthree.capture.corners import refined_corners
from onthree.capture.film import ByteArray, Frame

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

PIXEL_CENTRE_PX = 0.5
"""The detector puts the centre of the first pixel at one half."""
OUR_ORDER = (1, 0, 3, 2)
"""The detector's corners go the other way round, and start at the bottom of a sheet it takes to be upside down."""
LEAST_MARGIN = 55.0
"""Decision margin (contrast of the code) below which a detection is not believed."""
MOST_MISFIT_RATIO, USUAL_MISFITS = 0.12, 3.5
"""Sides that fit worse, and worse than this many times the film's median, are partly covered."""
MARGIN_PX = 45
WHOLE_FRAME_EVERY_S = 2.0


@dataclass(frozen=True, eq=False)
class Sightings:
    """Tags seen in a film: n sightings, sorted by frame; all that is kept of its pictures.

    ``time_s`` (f) of each frame; ``frame``, ``tag`` (n) indices into the frames and tag ids; ``corners_px`` (n, 4, 2).
    """

    time_s: FloatArray
    frame: IntArray
    tag: IntArray
    corners_px: FloatArray

    def of(self, is_kept: NDArray[np.bool_]) -> "Sightings":
        """Some of the sightings."""
        return Sightings(self.time_s, self.frame[is_kept], self.tag[is_kept], self.corners_px[is_kept])


@dataclass(frozen=True, eq=False)
class Found:
    """Corners (4, 2) [px] of a tag in one frame, and how badly the worst of its sides fits."""

    corners_px: FloatArray
    misfit_ratio: float


class _Detector(Detector):  # type: ignore[misc]
    """The library's detector, ended in an order that does not crash: it frees the tag families its end still reads."""

    def __del__(self) -> None:
        pointer = getattr(self, "tag_detector_ptr", None)
        if pointer is not None:
            self.libc.apriltag_detector_destroy.restype = None
            self.libc.apriltag_detector_destroy(pointer)


class TagFinder:
    """Finds the tags of a rig in one frame after the other."""

    def __init__(self, family: str, segment_of_tag: Mapping[int, str]) -> None:
        self._detector = _Detector(families=family, nthreads=1, quad_decimate=2.0)
        self._segment_of_tag = dict(segment_of_tag)
        self._boxes: dict[str, IntArray] = {}
        self._whole_at_s = -np.inf

    def find(self, frame: Frame) -> dict[int, Found]:
        """Each tag of the rig that is seen once in the frame."""
        luma = frame.luma
        found: dict[int, FloatArray] = {}
        segments = set(self._segment_of_tag.values())
        if frame.time_s - self._whole_at_s < WHOLE_FRAME_EVERY_S and self._boxes.keys() == segments:
            found = self._in_boxes(luma)
        if self._segments(found) != segments:
            found = self._in_box(luma, np.array([0, 0, luma.shape[1], luma.shape[0]]))
            self._whole_at_s = frame.time_s
        self._boxes = self._next_boxes(found, luma.shape)
        if not found:
            return {}
        refined = refined_corners(luma, np.array(list(found.values())))
        return {tag: Found(corners_px, float(misfit)) for tag, corners_px, misfit in zip(found, *refined, strict=True)}

    def _segments(self, found: Mapping[int, FloatArray]) -> set[str]:
        return {self._segment_of_tag[tag] for tag in found}

    def _in_boxes(self, luma: ByteArray) -> dict[int, FloatArray]:
        boxes = _merged(list(self._boxes.values()))
        return {tag: corners_px for box in boxes for tag, corners_px in self._in_box(luma, box).items()}

    def _in_box(self, luma: ByteArray, box: IntArray) -> dict[int, FloatArray]:
        left, top, right, bottom = (int(side) for side in box)
        found: dict[int, FloatArray] = {}
        twice = set()
        for detection in self._detector.detect(np.ascontiguousarray(luma[top:bottom, left:right])):
            tag = detection.tag_id
            if tag in self._segment_of_tag and detection.hamming == 0 and detection.decision_margin >= LEAST_MARGIN:
                twice |= {tag} & found.keys()
                found[tag] = detection.corners[OUR_ORDER, :] - PIXEL_CENTRE_PX + (left, top)
        return {tag: corners_px for tag, corners_px in found.items() if tag not in twice}

    def _next_boxes(self, found: Mapping[int, FloatArray], shape: tuple[int, ...]) -> dict[str, IntArray]:
        boxes = {}
        for segment in self._segments(found):
            corners_px = np.concatenate([found[tag] for tag in found if self._segment_of_tag[tag] == segment])
            low = np.maximum(corners_px.min(axis=0) - MARGIN_PX, 0)
            high = np.minimum(corners_px.max(axis=0) + MARGIN_PX, (shape[1], shape[0]))
            boxes[segment] = np.concatenate([low, high]).astype(np.int64)
        return boxes


def find_tags(frames: Iterable[Frame], family: str, segment_of_tag: Mapping[int, str]) -> Sightings:
    """The tags of a rig in every frame of a film; frames are let go one by one."""
    finder = TagFinder(family, segment_of_tag)
    times_s: list[float] = []
    frame_of, tags, corners, misfits = [], [], [], []
    for index, frame in enumerate(frames):
        times_s.append(frame.time_s)
        for tag, found in sorted(finder.find(frame).items()):
            frame_of.append(index)
            tags.append(tag)
            corners.append(found.corners_px)
            misfits.append(found.misfit_ratio)
    places = np.array(corners, dtype=float).reshape(-1, 4, 2)
    every = Sightings(np.array(times_s), np.array(frame_of, np.int64), np.array(tags, np.int64), places)
    return every.of(_is_uncovered(np.array(misfits)))


def _is_uncovered(misfit_ratio: FloatArray) -> NDArray[np.bool_]:
    """Whether nothing covers a part of the sides of each sighting, judged against what is usual in this film."""
    steps = misfit_ratio[np.isfinite(misfit_ratio)]
    usual = float(np.median(steps)) if len(steps) else 0.0
    return misfit_ratio <= max(MOST_MISFIT_RATIO, USUAL_MISFITS * usual)


def _merged(boxes: list[IntArray]) -> Iterator[IntArray]:
    """Boxes of which those that overlap are made one."""
    while boxes:
        box = boxes.pop()
        beside = [other for other in boxes if (box[:2] >= other[2:]).any() or (other[:2] >= box[2:]).any()]
        if len(beside) == len(boxes):
            yield box
            continue
        joined = [box, *(other for other in boxes if not any(other is each for each in beside))]
        low, high = np.min([each[:2] for each in joined], axis=0), np.max([each[2:] for each in joined], axis=0)
        boxes = [*beside, np.concatenate([low, high])]
