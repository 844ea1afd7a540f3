"""Finds printed tags in the frames of a film, and follows them: near where they were, else in the whole frame.

Image coordinates have pixel centres at integers. The corners of a tag go round as on the upright printed sheet seen
from the front: top left, top right, bottom right, bottom left.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from onthree.capture.corners import refined_corners
from onthree.capture.detectors import DECIMATED, Library, TagDetector, tag_detector
from onthree.capture.film import ByteArray, Frame
from onthree.capture.progress import Listener, watched

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

MOST_MISFIT_RATIO, USUAL_MISFITS, CLEAR_RATIO = 0.12, 3.5, 0.1
"""Sides that fit worse, and worse than so many times the clearest share of the film's sightings, are covered."""
LEAST_DEPTH_PX = 16.0
"""A tag seen so obliquely that a cell is less than two pixels deep: its sides have no clean black beside them."""
MARGIN_PX = 45
WHOLE_FRAME_EVERY_S = 2.0
FULL_SIDE_PX = 1920
"""The longer side of a film that margin and thinning are made for; larger ones have more of both."""
DOUBLE = "two tags with id"
TWICE_COUNT = 2
"""Frames that show an id twice from which on it is left out altogether: nobody knows which sheet was meant.

After the first, the next frame is searched as a whole: near the other tags perhaps only one of the two sheets is found.
"""


@dataclass(frozen=True, eq=False)
class Sightings:
    """Tags seen in a film: n sightings, sorted by frame; all that is kept of its pictures.

    ``time_s`` (f) of each frame; ``frame``, ``tag`` (n) indices into the frames and tag ids; ``corners_px`` (n, 4, 2);
    ``flags`` what was noticed.
    """

    time_s: FloatArray
    frame: IntArray
    tag: IntArray
    corners_px: FloatArray
    flags: tuple[str, ...] = ()

    def of(self, is_kept: NDArray[np.bool_]) -> "Sightings":
        """Some of the sightings."""
        return replace(self, frame=self.frame[is_kept], tag=self.tag[is_kept], corners_px=self.corners_px[is_kept])


@dataclass(frozen=True, eq=False)
class Found:
    """Corners (4, 2) [px] of a tag in one frame, and how badly the worst of its sides fits."""

    corners_px: FloatArray
    misfit_ratio: float


class TagFinder:
    """Finds the tags of a rig in one frame after the other; ``twice`` counts the frames that show an id twice."""

    def __init__(self, family: str, segment_of_tag: Mapping[int, str], library: Library = "pupil") -> None:
        self._library, self._family = library, family
        self._detectors = {DECIMATED: tag_detector(library, family)}
        self._segment_of_tag = dict(segment_of_tag)
        self._boxes: dict[str, IntArray] = {}
        self._whole_at_s = -np.inf
        self.twice: Counter[int] = Counter()

    def find(self, frame: Frame) -> dict[int, Found]:
        """Each tag of the rig that is seen once in the frame."""
        luma = frame.luma
        found: dict[int, FloatArray] = {}
        twice: set[int] = set()
        segments = set(self._segment_of_tag.values())
        if frame.time_s - self._whole_at_s < WHOLE_FRAME_EVERY_S and self._boxes.keys() == segments:
            found, twice = self._in_boxes(luma, _merged(list(self._boxes.values())))
        if self._segments(found) != segments:
            found, twice = self._in_boxes(luma, [np.array([0, 0, luma.shape[1], luma.shape[0]])])
            self._whole_at_s = frame.time_s
        self.twice.update(twice)
        is_doubtful = any(self.twice[tag] < TWICE_COUNT for tag in twice)
        self._boxes = {} if is_doubtful else self._next_boxes(found, luma.shape)
        if not found:
            return {}
        refined = refined_corners(luma, np.array(list(found.values())))
        return {tag: Found(corners_px, float(misfit)) for tag, corners_px, misfit in zip(found, *refined, strict=True)}

    def _segments(self, found: Mapping[int, FloatArray]) -> set[str]:
        return {self._segment_of_tag[tag] for tag in found}

    def _in_boxes(self, luma: ByteArray, boxes: Iterable[IntArray]) -> tuple[dict[int, FloatArray], set[int]]:
        """The tags of the rig that are seen once in the boxes, and those that are seen more than once."""
        found: dict[int, FloatArray] = {}
        twice = set()
        detector = self._detector(luma.shape)
        for left, top, right, bottom in boxes:
            for tag, corners_px in detector.detect(luma[top:bottom, left:right]):
                if tag in self._segment_of_tag:
                    twice |= {tag} & found.keys()
                    found[tag] = corners_px + np.array([left, top])
        return {tag: corners_px for tag, corners_px in found.items() if tag not in twice}, twice

    def _detector(self, shape: tuple[int, ...]) -> TagDetector:
        thinned = DECIMATED * _size_count(shape)
        if thinned not in self._detectors:
            self._detectors[thinned] = tag_detector(self._library, self._family, thinned)
        return self._detectors[thinned]

    def _next_boxes(self, found: Mapping[int, FloatArray], shape: tuple[int, ...]) -> dict[str, IntArray]:
        boxes = {}
        margin_px = MARGIN_PX * _size_count(shape)
        for segment in self._segments(found):
            corners_px = np.concatenate([found[tag] for tag in found if self._segment_of_tag[tag] == segment])
            low = np.maximum(corners_px.min(axis=0) - margin_px, 0)
            high = np.minimum(corners_px.max(axis=0) + margin_px, (shape[1], shape[0]))
            boxes[segment] = np.concatenate([low, high]).astype(np.int64)
        return boxes


def _size_count(shape: tuple[int, ...]) -> int:
    """How many times larger than usual a frame is, in whole numbers: 1 up to 1920 pixels, 2 for twice as many."""
    return max(1, round(max(shape) / FULL_SIDE_PX))


def find_tags(
    frames: Iterable[Frame],
    family: str,
    segment_of_tag: Mapping[int, str],
    on_progress: Listener | None = None,
    of_s: float | None = None,
    library: Library = "pupil",
) -> Sightings:
    """The tags of a rig in every frame of a film; frames are let go one by one.

    ``on_progress`` is told how much of ``of_s`` seconds of film is done, and may raise Cancelled to end the reading.
    """
    finder = TagFinder(family, segment_of_tag, library)
    times_s: list[float] = []
    frame_of, tags, corners, misfits = [], [], [], []
    for index, frame in enumerate(watched(frames, of_s, on_progress)):
        times_s.append(frame.time_s)
        for tag, found in sorted(finder.find(frame).items()):
            frame_of.append(index)
            tags.append(tag)
            corners.append(found.corners_px)
            misfits.append(found.misfit_ratio)
    places = np.array(corners, dtype=float).reshape(-1, 4, 2)
    left_out = [tag for tag, count in finder.twice.items() if count >= TWICE_COUNT]
    every = Sightings(
        np.array(times_s), np.array(frame_of, np.int64), np.array(tags, np.int64), places, tuple(_flags(finder.twice))
    )
    return every.of(_is_uncovered(np.array(misfits)) & is_deep(places) & ~np.isin(every.tag, left_out))


def _flags(twice: Mapping[int, int]) -> Iterator[str]:
    for tag, count in sorted(twice.items()):
        where = "was left out" if count >= TWICE_COUNT else "was left out of it"
        frames = f"{count} frames" if count > 1 else "one frame"
        yield f"{DOUBLE} {tag} were seen in {frames}; the id {where}: cover or remove one of them"


def _is_uncovered(misfit_ratio: FloatArray) -> NDArray[np.bool_]:
    """Whether nothing covers a part of the sides of each sighting, judged against the clearest of this film."""
    steps = misfit_ratio[np.isfinite(misfit_ratio)]
    usual = float(np.quantile(steps, CLEAR_RATIO)) if len(steps) else 0.0
    return misfit_ratio <= max(MOST_MISFIT_RATIO, USUAL_MISFITS * usual)


def is_deep(corners_px: FloatArray) -> NDArray[np.bool_]:
    """Whether tags with corners (n, 4, 2) [px] are deep enough from each side to the one across."""
    side = np.roll(corners_px, -1, axis=1) - corners_px
    across = np.roll(corners_px, -2, axis=1) - corners_px
    area = np.abs(side[..., 0] * across[..., 1] - side[..., 1] * across[..., 0])
    deep: NDArray[np.bool_] = (area / np.linalg.norm(side, axis=-1)).min(axis=1) >= LEAST_DEPTH_PX
    return deep


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
