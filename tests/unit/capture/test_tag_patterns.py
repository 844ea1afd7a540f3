"""What is drawn is what is read: OpenCV's own dictionaries hold the same tags, drawn upright."""

import cv2
import numpy as np
import pytest

from onthree.capture.board import BOARD, opencv_board
from onthree.capture.detectors import OPENCV_FAMILIES
from onthree.capture.rig import FAMILIES
from onthree.capture.tag_patterns import board_black_m, tag_patterns

CELL_PX = 10


@pytest.mark.parametrize("family", OPENCV_FAMILIES)
def test_patterns_are_those_of_opencv(family: str) -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(OPENCV_FAMILIES[family])
    ids = range(len(dictionary.bytesList))

    for tag, pattern in tag_patterns(family, ids).items():
        drawn = cv2.aruco.generateImageMarker(dictionary, tag, pattern.side_cells)
        assert pattern.is_ringed_white
        assert (pattern.is_white[1:-1, 1:-1] == (drawn > 0)).all(), tag


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_has_its_square_and_ids_that_differ(family: str) -> None:
    patterns = list(tag_patterns(family, range(20)).values())
    first = patterns[0]
    outside = (first.cells - first.side_cells) // 2

    assert first.cells == first.side_cells + 2 * outside
    ring = np.ones((first.side_cells, first.side_cells), dtype=bool)
    ring[1:-1, 1:-1] = False
    for pattern in patterns:
        square = pattern.is_white[outside : first.cells - outside, outside : first.cells - outside]
        assert len(set(square[ring])) == 1, "one colour all around the measured square"
    for turn in range(4):
        assert not any((np.rot90(first.is_white, turn) == other.is_white).all() for other in patterns[1:])


@pytest.mark.parametrize("family", FAMILIES[:3])
def test_runs_cover_the_black_cells_and_nothing_else(family: str) -> None:
    for pattern in tag_patterns(family, range(5)).values():
        covered = np.zeros((pattern.cells, pattern.cells), dtype=int)
        for x, y, width, height in pattern.black_m(cell_m=1.0):
            covered[int(y) : int(y + height), int(x) : int(x + width)] += 1
        assert (covered == ~pattern.is_white).all()


def test_ids_beyond_the_family_are_named() -> None:
    with pytest.raises(ValueError, match="tag16h5 has 30 ids, 0 to 29; 30 to 31 asked too"):
        tag_patterns("tag16h5", range(28, 32))


def test_the_board_is_drawn_as_opencv_draws_it() -> None:
    cell_m = BOARD.marker_m / 6  # DICT_4X4: four cells and a black one at either side
    scale = CELL_PX / cell_m
    width, height = (round(count * BOARD.square_m * scale) for count in (BOARD.columns, BOARD.rows))
    drawn = np.full((height, width), 255, np.uint8)
    for x, y, w, h in board_black_m():
        drawn[round(y * scale) : round((y + h) * scale), round(x * scale) : round((x + w) * scale)] = 0

    assert (drawn == opencv_board().generateImage((width, height))).mean() == 1
