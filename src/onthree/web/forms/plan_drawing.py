"""A plan as the page draws it: everything in metres, y downwards as drawings have it; and the same as a table."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from onthree.actions.venue_plan import Plan
from onthree.programme.drawn_plan import Drawn, Point, farthest_corner_m
from onthree.programme.records import PlanMark

_AROUND_M = 20.0
_EMPTY_GROUND_M = (120.0, 80.0)
_GRID_M = 10
_RULER_M = 20.0
_LETTER_M = 2.1  # of a label, about
_MOST_LETTERS = 28


class Box(NamedTuple):
    """Where a label or mark is [m]: left, below, right, above."""

    left_m: float
    below_m: float
    right_m: float
    above_m: float

    def overlaps(self, other: "Box") -> bool:
        """Whether the two have some ground in common."""
        is_beside = self.left_m >= other.right_m or other.left_m >= self.right_m
        return not (is_beside or self.below_m >= other.above_m or other.below_m >= self.above_m)


@dataclass(frozen=True)
class MarkShown:
    """One mark: where it is drawn, and what the table says of it."""

    mark: PlanMark
    shape: str
    points: str
    at_x: str
    at_y: str
    words: str
    words_x: str
    words_y: str
    anchor: str
    told: str


@dataclass(frozen=True)
class PlanShown:
    """The whole drawing: its frame, field and ruler as numbers of an SVG, the marks, and where lines lie every 10 m."""

    frame: str
    top: str
    bottom: str
    field: dict[str, str]
    ruler: dict[str, str]
    marks: tuple[MarkShown, ...]
    lines_at: tuple[str, ...]


def plan_shown(plan: Plan) -> PlanShown:
    """The drawing of a plan: the field in the middle, all marks inside."""
    length_m, width_m = (plan.field.length_m, plan.field.width_m) if plan.field else _EMPTY_GROUND_M
    points = [point for _, drawn in plan.marks for point in drawn.points]
    right_m = max([length_m / 2, *(abs(point.x_m) for point in points)]) + _AROUND_M
    up_m = max([width_m / 2, *(abs(point.y_m) for point in points)]) + _AROUND_M
    places = _label_places([(_at(drawn), _words(mark)) for mark, drawn in plan.marks])
    marks = tuple(_shown(mark, drawn, plan, place) for (mark, drawn), place in zip(plan.marks, places, strict=True))
    field = {"x": f"{-length_m / 2:g}", "y": f"{-width_m / 2:g}", "width": f"{length_m:g}", "height": f"{width_m:g}"}
    ruler = {"x": f"{-right_m + 5:g}", "end": f"{-right_m + 5 + _RULER_M:g}", "y": f"{up_m - 5:g}"}
    frame = f"{-right_m:g} {-up_m:g} {2 * right_m:g} {2 * up_m:g}"
    tens = range(-int(right_m // _GRID_M) * _GRID_M, int(right_m) + 1, _GRID_M)
    field["bottom"] = f"{width_m / 2:g}"
    return PlanShown(frame, f"{-up_m:g}", f"{up_m:g}", field, ruler, marks, tuple(map(str, tens)))


def _at(drawn: Drawn) -> Point:
    """The point of a mark that its label stands beside."""
    return drawn.points[len(drawn.points) // 2 if drawn.shape == "LINESTRING" else 0]


def _words(mark: PlanMark) -> str:
    words = mark.label or mark.kind
    return words if len(words) <= _MOST_LETTERS else f"{words[: _MOST_LETTERS - 1]}…"


def _label_places(labels: Sequence[tuple[Point, str]]) -> list[tuple[str, str, str]]:
    """For each label x, y and anchor of its text: beside its mark, where no other label and no other mark is."""
    taken = [Box(at.x_m - 2, at.y_m - 2, at.x_m + 2, at.y_m + 2) for at, _ in labels]
    made = []
    for at, words in labels:
        wide_m = _LETTER_M * (len(words) + 3)
        tried = [(side, up_m) for up_m in (2.2, -4.8, 6.6, -9.2) for side in (1, -1)]
        boxes = [_box(at, side, up_m, wide_m) for side, up_m in tried]
        best = min(range(len(tried)), key=lambda index: (sum(boxes[index].overlaps(box) for box in taken), index))
        taken.append(boxes[best])
        side, up_m = tried[best]
        made.append((f"{at.x_m + 2.6 * side:g}", f"{-(at.y_m + up_m):g}", "start" if side > 0 else "end"))
    return made


def _box(at: Point, side: int, up_m: float, wide_m: float) -> Box:
    near_m, far_m = at.x_m + 2.6 * side, at.x_m + (2.6 + wide_m) * side
    return Box(min(near_m, far_m), at.y_m + up_m - 0.8, max(near_m, far_m), at.y_m + up_m + 3)


def _shown(mark: PlanMark, drawn: Drawn, plan: Plan, place: tuple[str, str, str]) -> MarkShown:
    points = " ".join(f"{point.x_m:g},{-point.y_m:g}" for point in drawn.points)
    at = _at(drawn)
    return MarkShown(mark, drawn.shape, points, f"{at.x_m:g}", f"{-at.y_m:g}", _words(mark), *place, _told(drawn, plan))


def _told(drawn: Drawn, plan: Plan) -> str:
    """How long it is, or where, in metres."""
    if drawn.shape == "LINESTRING":
        return f"{drawn.length_m:.0f} m along it"
    if drawn.shape == "POLYGON":
        return f"{drawn.length_m:.0f} m round it"
    place = _place(drawn.points[0])
    if plan.field is None:
        return place
    corner_m = farthest_corner_m(drawn.points[0], plan.field.length_m, plan.field.width_m)
    return f"{place}; {corner_m:.0f} m straight to the farthest corner of the field"


def _place(point: Point) -> str:
    across = f"{abs(point.x_m):g} m {'right' if point.x_m >= 0 else 'left'}"
    return f"{across}, {abs(point.y_m):g} m {'up' if point.y_m >= 0 else 'down'} from the centre"
