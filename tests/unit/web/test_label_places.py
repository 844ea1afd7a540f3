"""Labels of a plan: off lines, marks and each other where there is room."""

from itertools import combinations

import pytest

from onthree.demo.conference import conference_records
from onthree.programme.drawn_plan import Drawn, Point, read_drawn
from onthree.programme.records import PlanMark
from onthree.web.forms.label_places import Box, LabelPlace, label_places, lines_of

FRAME = Box(-90.0, -70.0, 90.0, 70.0)


def of(*texts: str) -> list[Drawn]:
    return [read_drawn(text) for text in texts]


def placed(drawings: list[Drawn], words: str = "gear of the medical team") -> list[LabelPlace]:
    return label_places([(each, words) for each in drawings], [], FRAME)


def test_on_the_plans_of_the_demo_no_label_touches_a_label_a_line_or_a_mark() -> None:
    marks = [each for each in conference_records() if isinstance(each, PlanMark)]
    by_venue = {venue: [each for each in marks if each.venue == venue] for venue in {each.venue for each in marks}}
    assert by_venue
    for found in by_venue.values():
        drawings = [read_drawn(each.drawn) for each in found]
        labels = [(drawn, f"1 {each.label or each.kind}") for drawn, each in zip(drawings, found, strict=True)]
        field = lines_of(Drawn("POLYGON", (Point(-54, -24), Point(54, -24), Point(54, 24), Point(-54, 24))))
        places = label_places(labels, field, FRAME)

        assert not [pair for pair in combinations([place.box for place in places], 2) if pair[0].overlaps(pair[1])]
        lines = [*field, *(line for drawn in drawings for line in lines_of(drawn))]
        assert not [line for line in lines for place in places if place.box.is_crossed_by(line)]
        points = [drawn.points[0] for drawn in drawings if drawn.shape == "POINT"]
        assert not [
            point
            for point in points
            for place in places
            if place.box.overlaps(Box(point.x_m - 2, point.y_m - 2, point.x_m + 2, point.y_m + 2))
        ]


def test_a_label_right_beside_its_mark_needs_no_leader() -> None:
    (place,) = placed(of("POINT (0 0)"), "tub")

    assert (place.leader, place.is_start, place.at) == (None, True, Point(2.6, -1.2))


def test_marks_that_crowd_each_other_get_leaders_and_every_label_its_own_ground() -> None:
    places = placed(of(*(f"POINT ({x} {y})" for x in (0, 5, 10) for y in (0, 5))))

    assert not [pair for pair in combinations([place.box for place in places], 2) if pair[0].overlaps(pair[1])]
    assert [place for place in places if place.leader]


def test_a_label_stays_in_the_frame() -> None:
    (place,) = placed(of("POINT (85 65)"))

    assert not place.is_start
    assert place.box.right_m <= FRAME.right_m
    assert place.box.above_m <= FRAME.above_m


@pytest.mark.parametrize(
    ("text", "is_crossed"),
    [
        ("LINESTRING (-5 1, 5 1)", True),
        ("LINESTRING (1 1, 1.5 1.5)", True),
        ("LINESTRING (-5 3, 5 3)", False),
        ("LINESTRING (-1 1, 1 -1)", False),
        ("LINESTRING (0 -5, 0 5)", False),
    ],
)
def test_a_line_crosses_a_box_where_some_of_it_lies_inside(text: str, is_crossed: bool) -> None:
    (line,) = lines_of(read_drawn(text))

    assert Box(0.0, 0.0, 2.0, 2.0).is_crossed_by(line) is is_crossed


def test_where_there_is_no_room_it_says_so_by_hitting_least() -> None:
    places = label_places([(each, "x" * 28) for each in of(*["POINT (0 0)"] * 60)], [], Box(-30, -10, 30, 10))

    assert len(places) == 60
