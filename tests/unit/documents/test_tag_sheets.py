"""Where plates lie on a page: all of them, inside the margins, none on another."""

from itertools import combinations

import pytest

from onthree.documents.tag_sheets import (
    BOTTOM_MM,
    MARGIN_MM,
    PAPERS_MM,
    STRIP_MM,
    TOP_MM,
    PlacedTag,
    PrintedTag,
    plate_mm,
    sheets,
)


def tags(segment: str, first: int, count: int, side_mm: float) -> list[PrintedTag]:
    """Tags of one segment on plates of one size."""
    return [
        PrintedTag(tag, segment, segment.title(), "", side_mm * 0.8, side_mm, ()) for tag in range(first, first + count)
    ]


@pytest.mark.parametrize("paper", PAPERS_MM)
@pytest.mark.parametrize("side_mm", [25.0, 40.0, 65.0, 90.0, 95.0, 190.0])
def test_every_tag_is_on_a_page_with_room_around(paper: str, side_mm: float) -> None:
    wanted = tags("head", 3, 23, side_mm) + tags("trunk", 40, 1, side_mm)
    made = sheets(wanted, paper)
    width_mm, height_mm = PAPERS_MM[paper]

    assert [placed.tag for sheet in made for placed in sheet.tags] == wanted
    for sheet in made:
        for placed in sheet.tags:
            assert placed.left_mm >= MARGIN_MM - 1e-9
            assert placed.left_mm + side_mm <= width_mm - MARGIN_MM + 1e-9
            assert placed.top_mm - STRIP_MM >= TOP_MM - 1e-9
            assert placed.top_mm + side_mm <= height_mm - BOTTOM_MM + 1e-9
        assert not any(overlap(one, other) for one, other in combinations(sheet.tags, 2))


def overlap(one: PlacedTag, other: PlacedTag) -> bool:
    """Whether two plates with their strips share more than an edge."""
    across = abs(one.left_mm - other.left_mm) < one.tag.plate_mm - 1e-9
    return across and abs(one.top_mm - other.top_mm) < one.tag.plate_mm + STRIP_MM - 1e-9


def test_segments_never_share_a_page() -> None:
    made = sheets(tags("head", 0, 5, 90) + tags("trunk", 5, 4, 90), "a4")

    assert [(sheet.words, sheet.number, sheet.of, len(sheet.tags)) for sheet in made] == [
        ("Head", 1, 2, 4),
        ("Head", 2, 2, 1),
        ("Trunk", 1, 1, 4),
    ]


def test_a_plate_too_large_for_the_page_is_refused() -> None:
    with pytest.raises(ValueError, match="head: plates of 200 mm do not fit on letter paper"):
        sheets(tags("head", 0, 1, 200), "letter")


@pytest.mark.parametrize(
    ("size_mm", "cells", "side_cells", "quiet_cells", "expected_mm"),
    [(80, 10, 8, 0, 100), (70, 10, 8, 0, 90), (75, 10, 8, 0, 95), (50, 9, 5, 1, 110), (56, 9, 7, 0, 75)],
)
def test_plates_leave_a_cell_free(
    size_mm: float, cells: int, side_cells: int, quiet_cells: int, expected_mm: float
) -> None:
    side_mm = plate_mm(size_mm, cells, side_cells, quiet_cells)

    assert side_mm == expected_mm
    assert (side_mm - size_mm) / 2 >= size_mm / side_cells
