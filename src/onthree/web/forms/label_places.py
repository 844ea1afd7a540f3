"""Where the labels of a plan stand: off every line, mark and other label where there is room, nearest first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise, product
from math import hypot
from typing import NamedTuple

from onthree.programme.drawn_plan import Drawn, Point

LETTER_M = 2.2
"""Width of a letter [m], about; a label is measured with one more."""
_AWAY_M = 2.6
_MARK_M = 2.0
_LOW_M, _HIGH_M = 0.9, 2.9  # of the letters, under and above their line
_BESIDE_M = 5.0
_MOST_ANCHORS = 5
_UP_M = (-1.2, 2.2, -4.8, 6.6, -9.2, 11.0, -13.6, 15.4, -18.0)
_ASIDE_M = (0.0, 6.0, 12.0, 20.0)
_MOST_LOOKS, _LEAST_TRIES = 300_000, 2
"""How often a label is held against a line or another label over a whole plan, so that a crowded one opens too."""


class Box(NamedTuple):
    """A piece of ground [m]: left, below, right, above."""

    left_m: float
    below_m: float
    right_m: float
    above_m: float

    def overlaps(self, other: "Box") -> bool:
        """Whether the two have some ground in common."""
        is_beside = self.left_m >= other.right_m or other.left_m >= self.right_m
        return not (is_beside or self.below_m >= other.above_m or other.below_m >= self.above_m)

    def is_crossed_by(self, line: "Line") -> bool:
        """Whether some of a straight line lies on it: the line is cut at each side in turn (Liang and Barsky 1984)."""
        (x_m, y_m), end = line
        along_x_m, along_y_m = end.x_m - x_m, end.y_m - y_m
        first, last = 0.0, 1.0
        for along_m, room_m in (
            (-along_x_m, x_m - self.left_m),
            (along_x_m, self.right_m - x_m),
            (-along_y_m, y_m - self.below_m),
            (along_y_m, self.above_m - y_m),
        ):
            if along_m == 0:
                if room_m <= 0:
                    return False
            elif along_m < 0:
                first = max(first, room_m / along_m)
            else:
                last = min(last, room_m / along_m)
        return first < last

    def is_near(self, line: "Line") -> bool:
        """Whether the box around a line has some ground in common with it; a line that crosses it is near."""
        (x_m, y_m), (end_x_m, end_y_m) = line
        is_beside = max(x_m, end_x_m) < self.left_m or min(x_m, end_x_m) > self.right_m
        return not (is_beside or max(y_m, end_y_m) < self.below_m or min(y_m, end_y_m) > self.above_m)


Line = tuple[Point, Point]


@dataclass(frozen=True)
class LabelPlace:
    """Where a label stands: its first or last letter and which of them, the ground it covers, and a line to its mark.

    ``leader`` is None where the label stands right beside its mark.
    """

    at: Point
    is_start: bool
    box: Box
    leader: Line | None


def lines_of(drawn: Drawn) -> list[Line]:
    """The straight lines of a drawing."""
    points = (*drawn.points, drawn.points[0]) if drawn.shape == "POLYGON" else drawn.points
    return list(pairwise(points))


def label_places(labels: Sequence[tuple[Drawn, str]], others: Sequence[Line], frame: Box) -> list[LabelPlace]:
    """A place for each label; ``others`` are lines that are drawn besides, ``frame`` the ground that is shown."""
    lines = [*others, *(line for drawn, _ in labels for line in lines_of(drawn))]
    taken = [_around(drawn.points[0]) for drawn, _ in labels if drawn.shape == "POINT"]
    places = []
    for drawn, words in labels:
        tried = list(_candidates(drawn, words, frame))
        ground = _ground_of(tried)
        near = [box for box in taken if box.overlaps(ground)], [line for line in lines if ground.is_near(line)]
        tries = max(_LEAST_TRIES, _MOST_LOOKS // (len(labels) * (len(near[0]) + len(near[1]) + 1)))
        best = _best(islice(tried, tries), *near)
        places.append(best)
        taken.append(best.box)
        lines += [best.leader] if best.leader else []
    return places


def _best(candidates: Iterator[LabelPlace], taken: Sequence[Box], lines: Sequence[Line]) -> LabelPlace:
    """The first that hits nothing, else the one that hits least."""
    found: tuple[int, LabelPlace] | None = None
    for place in candidates:
        hits_count = _hits_count(place, taken, lines)
        if hits_count == 0:
            return place
        if found is None or hits_count < found[0]:
            found = hits_count, place
    assert found is not None
    return found[1]


def _hits_count(place: LabelPlace, taken: Sequence[Box], lines: Sequence[Line]) -> int:
    hits_count = sum(place.box.overlaps(box) for box in taken) + sum(place.box.is_crossed_by(line) for line in lines)
    if place.leader:
        start = _around(place.leader[0])
        hits_count += sum(box.is_crossed_by(place.leader) for box in taken if box != start)
    return hits_count


def _candidates(drawn: Drawn, words: str, frame: Box) -> Iterator[LabelPlace]:
    """Places of a label from near to far, those that lie in the frame first."""
    wide_m = LETTER_M * (len(words) + 1)
    made = [
        _place(anchor, side, up_m, aside_m, wide_m)
        for anchor in _anchors(drawn)
        for aside_m, up_m, side in product(_ASIDE_M, _UP_M, (1, -1))
    ]
    yield from sorted(made, key=lambda place: (not _is_within(place.box, frame), _length_m(place.leader)))


def _ground_of(places: Sequence[LabelPlace]) -> Box:
    """The ground on which all of these lie."""
    boxes = [place.box for place in places]
    return Box(
        min(box.left_m for box in boxes),
        min(box.below_m for box in boxes),
        max(box.right_m for box in boxes),
        max(box.above_m for box in boxes),
    )


def _length_m(leader: Line | None) -> float:
    return hypot(leader[1].x_m - leader[0].x_m, leader[1].y_m - leader[0].y_m) if leader else 0.0


def _anchors(drawn: Drawn) -> list[Point]:
    """The points that a label may stand beside: of a line or an area the middles of its sides, the middle one first."""
    if drawn.shape == "POINT":
        return [drawn.points[0]]
    sides = lines_of(drawn)
    middles = [Point((one.x_m + other.x_m) / 2, (one.y_m + other.y_m) / 2) for one, other in sides]
    return sorted(middles, key=lambda middle: abs(middles.index(middle) - (len(sides) - 1) / 2))[:_MOST_ANCHORS]


def _place(anchor: Point, side: int, up_m: float, aside_m: float, wide_m: float) -> LabelPlace:
    at = Point(anchor.x_m + side * (_AWAY_M + aside_m), anchor.y_m + up_m)
    far_x_m = at.x_m + side * wide_m
    box = Box(min(at.x_m, far_x_m), at.y_m - _LOW_M, max(at.x_m, far_x_m), at.y_m + _HIGH_M)
    to = Point(at.x_m - side * 0.5, at.y_m + (_HIGH_M - _LOW_M) / 2)
    is_beside = hypot(to.x_m - anchor.x_m, to.y_m - anchor.y_m) <= _BESIDE_M
    return LabelPlace(at, side > 0, box, None if is_beside else (anchor, to))


def _around(point: Point) -> Box:
    return Box(point.x_m - _MARK_M, point.y_m - _MARK_M, point.x_m + _MARK_M, point.y_m + _MARK_M)


def _is_within(box: Box, frame: Box) -> bool:
    return (
        frame.left_m <= box.left_m
        and frame.below_m <= box.below_m
        and box.right_m <= frame.right_m
        and box.above_m <= frame.above_m
    )
