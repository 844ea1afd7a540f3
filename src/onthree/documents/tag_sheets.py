"""Printed sheets at true size: tags to cut out, the calibration board, and the guide that says where tags go.

Lengths on paper are in millimetres from the upper left corner of the page.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from math import ceil, floor
from typing import Any

from onthree.documents.typeset import pdf_of

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM = 10.0
"""No printer that is common leaves more of a page white."""
TOP_MM, BOTTOM_MM = 33.0, 39.0
"""Where tags begin and end: the headline is above them, rulers and foot below."""
STRIP_MM = 8.0
"""The strip above each tag that says which it is; it is folded back."""
Rectangle = tuple[float, float, float, float]


@dataclass(frozen=True)
class PrintedTag:
    """A tag to print: the square that is measured, the plate it is cut to, and its black rectangles [mm] on the plate.

    ``face`` says where it goes on a cube, empty where it is glued on its own.
    """

    id: int
    segment: str
    words: str
    face: str
    size_mm: float
    plate_mm: float
    black_mm: tuple[Rectangle, ...]


@dataclass(frozen=True)
class PlacedTag:
    """A tag and the upper left corner of its plate on a page."""

    tag: PrintedTag
    left_mm: float
    top_mm: float


@dataclass(frozen=True)
class Sheet:
    """One page of tags of one segment."""

    words: str
    number: int
    of: int
    tags: tuple[PlacedTag, ...]


def plate_mm(size_mm: float, cells: int, side_cells: int, quiet_cells: int) -> float:
    """The side of a plate: the pattern with a quiet zone of at least ``quiet_cells``, rounded up to 5 mm."""
    least_mm = size_mm * (cells + 2 * quiet_cells) / side_cells
    return 5.0 * ceil(round(least_mm / 5, 9))


def fitting(plate_mm: float, paper: str) -> tuple[int, int]:
    """How many plates fit on a page, across and down; zero where not even one does."""
    width_mm, height_mm = PAPERS_MM[paper]
    across = floor((width_mm - 2 * MARGIN_MM) / plate_mm + 1e-9)
    down = floor((height_mm - TOP_MM - BOTTOM_MM) / (plate_mm + STRIP_MM) + 1e-9)
    return across, down


def sheets(tags: Sequence[PrintedTag], paper: str) -> list[Sheet]:
    """Every tag on a page of its segment, in the order given. Raises ValueError for a plate no page can hold."""
    made: list[Sheet] = []
    for segment, group in groupby(tags, key=lambda tag: tag.segment):
        of_segment = list(group)
        across, down = fitting(of_segment[0].plate_mm, paper)
        if not across * down:
            raise ValueError(f"{segment}: plates of {of_segment[0].plate_mm:g} mm do not fit on {paper} paper")
        pages = [of_segment[start : start + across * down] for start in range(0, len(of_segment), across * down)]
        for number, page in enumerate(pages, start=1):
            placed = tuple(_placed(page, across, PAPERS_MM[paper][0]))
            made.append(Sheet(of_segment[0].words, number, len(pages), placed))
    return made


def _placed(tags: Sequence[PrintedTag], across: int, width_mm: float) -> Iterator[PlacedTag]:
    """Row by row, in the middle of the page; neighbours share their cut."""
    side_mm = tags[0].plate_mm
    left_mm = (width_mm - across * side_mm) / 2
    for index, tag in enumerate(tags):
        row, column = divmod(index, across)
        yield PlacedTag(tag, left_mm + column * side_mm, TOP_MM + STRIP_MM + row * (side_mm + STRIP_MM))


def tag_sheets_pdf(made: Sequence[Sheet], family: str, paper: str, on: date) -> bytes:
    """The tags, a page or more for each segment."""
    return pdf_of("tag_sheets", _page(paper, on) | {"family": family, "sheets": [_sheet_data(each) for each in made]})


def board_pdf(
    black_mm: Sequence[Rectangle],
    size_mm: tuple[float, float],
    square_mm: float,
    marker_mm: float,
    paper: str,
    on: date,
) -> bytes:
    """The calibration board, with the sides of its squares and of the black squares in them."""
    width_mm, height_mm = size_mm
    page_mm = PAPERS_MM[paper]
    board = {
        "black_mm": black_mm,
        "left_mm": (page_mm[0] - width_mm) / 2,
        "top_mm": TOP_MM - 5 + (page_mm[1] - TOP_MM + 5 - BOTTOM_MM - height_mm) / 2,
        "width_mm": width_mm,
        "height_mm": height_mm,
        "square_mm": square_mm,
        "marker_mm": marker_mm,
    }
    return pdf_of("calibration_board", _page(paper, on) | {"board": board})


def guide_pdf(guide: dict[str, Any], paper: str, on: date) -> bytes:
    """Where tags go, how phones stand, and what comes before every run."""
    return pdf_of("tag_guide", _page(paper, on) | guide)


def _page(paper: str, on: date) -> dict[str, Any]:
    width_mm, height_mm = PAPERS_MM[paper]
    return {"on": on, "paper": paper, "page_mm": [width_mm, height_mm], "bottom_mm": height_mm - BOTTOM_MM}


def _sheet_data(sheet: Sheet) -> dict[str, Any]:
    tags = [
        {
            "id": placed.tag.id,
            "segment": placed.tag.segment,
            "face": placed.tag.face,
            "size_mm": placed.tag.size_mm,
            "plate_mm": placed.tag.plate_mm,
            "left_mm": placed.left_mm,
            "top_mm": placed.top_mm,
            "black_mm": placed.tag.black_mm,
        }
        for placed in sheet.tags
    ]
    return {"words": sheet.words, "number": sheet.number, "of": sheet.of, "tags": tags, "strip_mm": STRIP_MM}
