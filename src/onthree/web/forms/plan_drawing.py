"""A plan as the page draws it: everything in metres, y downwards as drawings have it; and the same as a table."""

from dataclasses import dataclass

from onthree.actions.venue_plan import Plan
from onthree.programme.drawn_plan import Drawn, Point, farthest_corner_m
from onthree.programme.records import PlanMark
from onthree.web.forms.label_places import Box, LabelPlace, Line, label_places, lines_of

_AROUND_M = 20.0
_EMPTY_GROUND_M = (120.0, 80.0)
_GRID_M = 10
_RULER_M = 20.0
_MOST_LETTERS = 28


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
    leader: dict[str, str]
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
    labels = [(drawn, f"{number} {_words(mark)}") for number, (mark, drawn) in enumerate(plan.marks, start=1)]
    places = label_places(labels, _ground(length_m, width_m), Box(-right_m, -up_m, right_m, up_m))
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


def _ground(length_m: float, width_m: float) -> list[Line]:
    """The sides of the field and its middle line."""
    right_m, up_m = length_m / 2, width_m / 2
    corners = (Point(-right_m, -up_m), Point(right_m, -up_m), Point(right_m, up_m), Point(-right_m, up_m))
    return [*lines_of(Drawn("POLYGON", corners)), (Point(0.0, -up_m), Point(0.0, up_m))]


def _shown(mark: PlanMark, drawn: Drawn, plan: Plan, place: LabelPlace) -> MarkShown:
    points = " ".join(f"{point.x_m:g},{-point.y_m:g}" for point in drawn.points)
    at, label = _at(drawn), place.at
    return MarkShown(
        mark,
        drawn.shape,
        points,
        f"{at.x_m:g}",
        f"{-at.y_m:g}",
        _words(mark),
        f"{label.x_m:g}",
        f"{-label.y_m:g}",
        "start" if place.is_start else "end",
        _leader(place.leader),
        _told(drawn, plan),
    )


def _leader(line: Line | None) -> dict[str, str]:
    if line is None:
        return {}
    (x_m, y_m), end = line
    return {"x1": f"{x_m:g}", "y1": f"{-y_m:g}", "x2": f"{end.x_m:g}", "y2": f"{-end.y_m:g}"}


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
