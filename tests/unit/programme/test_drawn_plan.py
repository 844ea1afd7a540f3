"""Drawings are read from well-known text and written again; what cannot be drawn is refused with what to do."""

import pytest

from onthree.programme.drawn_plan import DrawnError, Point, drawn_of, farthest_corner_m, read_drawn


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("POINT (1 2)", "POINT (1 2)"),
        ("point(-1.50 0)", "POINT (-1.5 0)"),
        ("LINESTRING (0 0, 3 4)", "LINESTRING (0 0, 3 4)"),
        ("POLYGON ((0 0, 4 0, 4 3, 0 0))", "POLYGON ((0 0, 4 0, 4 3, 0 0))"),
        ("POLYGON((0 0,4 0,4 3))", "POLYGON ((0 0, 4 0, 4 3, 0 0))"),
        ("POINT (-0.001 2)", "POINT (0 2)"),
    ],
)
def test_what_is_read_is_written_again(typed: str, written: str) -> None:
    drawn = read_drawn(typed)

    assert str(drawn) == written
    assert str(read_drawn(written)) == written


@pytest.mark.parametrize(
    ("typed", "fix"),
    [
        ("here", "write numbers"),
        ("POINT (1, 2)", "write numbers"),
        ("POINT (1 2, 3 4)", "2 are there"),
        ("LINESTRING (1 2)", "1 are there"),
        ("LINESTRING (1 2, 1 2)", "1 are there"),
        ("POLYGON (0 0, 4 0, 4 3)", "two brackets"),
        ("POINT ((1 2))", "two brackets"),
        ("POINT (5000 2)", "measure from the centre"),
        ("POLYGON ((0 0, 4 4, 4 0, 0 4))", "in order round it"),
    ],
)
def test_what_cannot_be_drawn_is_told(typed: str, fix: str) -> None:
    with pytest.raises(DrawnError) as raised:
        read_drawn(typed)

    assert fix in raised.value.fix
    assert raised.value.given == typed


def test_lengths_follow_pythagoras() -> None:
    assert read_drawn("LINESTRING (0 0, 3 4, 3 10)").length_m == 11
    assert read_drawn("POLYGON ((0 0, 3 0, 3 4))").length_m == 12
    assert farthest_corner_m(Point(-3, 0), 10, 12) == 10  # 8 m along and 6 m across


def test_an_area_needs_three_corners_that_differ() -> None:
    with pytest.raises(DrawnError):
        drawn_of("POLYGON", [Point(0, 0), Point(1, 0), Point(0, 0)])
