"""Points, lines and areas of a drawn plan: read from text and written again, and how far things are apart.

Text is well-known text (OGC 06-103r4, Simple feature access, part 1) of two numbers a point: metres from the centre of
the field, x along it to the right, y across it upwards.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist, hypot
from typing import Literal, NamedTuple

Shape = Literal["POINT", "LINESTRING", "POLYGON"]

MOST_POINTS = 60
FARTHEST_M = 2000.0
"""From the centre; what lies farther belongs on a map."""
LEAST_POINTS = {"POINT": 1, "LINESTRING": 2, "POLYGON": 3}

_NUMBER = r"-?\d{1,6}(?:\.\d{1,6})?"
_PAIR = rf"{_NUMBER}\s+{_NUMBER}"
_LIST = rf"{_PAIR}(?:\s*,\s*{_PAIR})*"
_TEXT = re.compile(
    rf"(POINT|LINESTRING|POLYGON)\s*(?:\(\s*({_LIST})\s*\)|\(\s*\(\s*({_LIST})\s*\)\s*\))", re.IGNORECASE
)
_EXPECTED = "POINT (x y), LINESTRING (x y, x y) or POLYGON ((x y, x y, x y)) in metres"


class Point(NamedTuple):
    """A point of a plan [m]: along the field to the right and across it upwards, from its centre."""

    x_m: float
    y_m: float


class DrawnError(ValueError):
    """Text that is no drawing; says what was given, what was expected and what to do."""

    def __init__(self, given: str, expected: str, fix: str) -> None:
        super().__init__(f"{given!r} given, {expected} expected: {fix}")
        self.given, self.expected, self.fix = given, expected, fix


@dataclass(frozen=True)
class Drawn:
    """A shape and its points [m]; of an area the last point is not the first again."""

    shape: Shape
    points: tuple[Point, ...]

    def __str__(self) -> str:
        closed = (*self.points, self.points[0]) if self.shape == "POLYGON" else self.points
        listed = ", ".join(f"{_shown(x_m)} {_shown(y_m)}" for x_m, y_m in closed)
        return f"{self.shape} (({listed}))" if self.shape == "POLYGON" else f"{self.shape} ({listed})"

    @property
    def length_m(self) -> float:
        """Along the line, or once round the area [m]; 0 for a point."""
        closed = (*self.points, self.points[0]) if self.shape == "POLYGON" else self.points
        return sum(dist(one, other) for one, other in pairwise(closed))


def read_drawn(text: str) -> Drawn:
    """The drawing of a text. Raises DrawnError."""
    match = _TEXT.fullmatch(text.strip())
    if match is None:
        raise DrawnError(text, _EXPECTED, "write numbers with a decimal point, a blank between x and y")
    shape, listed = match[1].upper(), match[2] or match[3]
    if (shape == "POLYGON") != (match[3] is not None):
        raise DrawnError(text, _EXPECTED, "an area has two brackets, points and lines have one")
    points = [Point(float(x), float(y)) for x, y in (pair.split() for pair in listed.split(","))]
    return drawn_of(shape, points, text)


def drawn_of(shape: str, points: Sequence[Point], text: str = "") -> Drawn:
    """A drawing of points [m]; an area is closed by itself. Raises DrawnError."""
    if shape not in LEAST_POINTS:
        raise DrawnError(text or shape, _EXPECTED, "draw a point, a line or an area")
    kept = [points[0], *(after for before, after in pairwise(points) if after != before)] if points else []
    if shape == "POLYGON" and len(kept) > 1 and kept[0] == kept[-1]:
        kept.pop()
    least = LEAST_POINTS[shape]
    if len(kept) < least or (shape == "POINT" and len(kept) > 1) or len(kept) > MOST_POINTS:
        count = "one point" if shape == "POINT" else f"{least} to {MOST_POINTS} points that differ"
        raise DrawnError(text, f"{count} for {shape}", f"{len(kept)} are there: add or leave out some")
    if any(abs(along_m) > FARTHEST_M for point in kept for along_m in point):
        raise DrawnError(text, f"metres from -{FARTHEST_M:g} to {FARTHEST_M:g}", "measure from the centre of the field")
    if shape == "POLYGON" and _crosses_itself(kept):
        raise DrawnError(text, "an area whose edge does not cross itself", "give its corners in order round it")
    return Drawn(shape, tuple(kept))  # type: ignore[arg-type]


def farthest_corner_m(point: Point, length_m: float, width_m: float) -> float:
    """Straight from a point to the corner of the field that is farthest from it [m]."""
    return hypot(abs(point.x_m) + length_m / 2, abs(point.y_m) + width_m / 2)


def _shown(along_m: float) -> str:
    """Metres to the centimetre, without needless noughts and without a nought below nought."""
    text = f"{along_m:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _crosses_itself(points: Sequence[Point]) -> bool:
    edges = [(points[index], points[(index + 1) % len(points)]) for index in range(len(points))]
    return any(
        _cross(one, edges[other])
        for index, one in enumerate(edges)
        for other in range(index + 2, len(edges))
        if not (index == 0 and other == len(edges) - 1)
    )


def _cross(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two edges cross: the ends of each lie on both sides of the other."""
    return _parted(one, other) and _parted(other, one)


def _parted(edge: tuple[Point, Point], ends: tuple[Point, Point]) -> bool:
    return _turn(*edge, ends[0]) * _turn(*edge, ends[1]) < 0


def _turn(a: Point, b: Point, c: Point) -> int:
    doubled = (b.x_m - a.x_m) * (c.y_m - a.y_m) - (b.y_m - a.y_m) * (c.x_m - a.x_m)
    return (doubled > 0) - (doubled < 0)
