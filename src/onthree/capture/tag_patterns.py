"""What is black on a printed tag or board: cells and rectangles, upright as printed, for drawing them true to size."""

from collections.abc import Iterable
from ctypes import POINTER, c_int32
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pupil_apriltags.bindings import _ApriltagFamily  # type: ignore[import-untyped]

from onthree.capture.board import BOARD, Board, opencv_board
from onthree.capture.detectors import _PupilLibrary

SMALLEST_FAMILY = "tag16h5"
BoolArray = NDArray[np.bool_]
Rectangle = tuple[float, float, float, float]
"""Left, top, width, height [m], from the upper left corner of what is drawn."""


@dataclass(frozen=True, eq=False)
class TagPattern:
    """One tag: ``is_white`` (n, n), rows from the top of the upright sheet; ``side_cells`` across the measured square.

    The measured square is the one whose corners the detector gives and whose side a rig file calls ``size_m``: the
    black square, or, in families with cells outside it, the white frame.
    """

    is_white: BoolArray
    side_cells: int

    @property
    def cells(self) -> int:
        """Cells across, with what is outside of the measured square."""
        return len(self.is_white)

    @property
    def is_ringed_white(self) -> bool:
        """Whether the outermost cells are white, all of them: a quiet zone of one cell."""
        inner = self.is_white.copy()
        inner[1:-1, 1:-1] = True
        return bool(inner.all())

    def black_m(self, cell_m: float) -> list[Rectangle]:
        """Black rectangles that share no area."""
        return _black_runs_m(self.is_white, cell_m)


def tag_patterns(family: str, ids: Iterable[int]) -> dict[int, TagPattern]:
    """The tags of a family by id, from the codes of the detector itself. Raises ValueError for ids it does not have."""
    wanted = list(ids)
    codes = _codes_of(family)
    if beyond := [tag for tag in wanted if not 0 <= tag < codes.ncodes]:
        raise ValueError(
            f"{family} has {codes.ncodes} ids, 0 to {codes.ncodes - 1}; {min(beyond)} to {max(beyond)} asked too: "
            "ask for fewer tags, a lower first id or another family"
        )
    cells, side = codes.total_width, codes.width_at_border
    ring = (cells - side) // 2 - (0 if codes.reversed_border else 1)
    blank = np.zeros((cells, cells), dtype=bool)
    blank[ring : cells - ring, ring : cells - ring] = True
    blank[ring + 1 : cells - ring - 1, ring + 1 : cells - ring - 1] = False
    places = [
        [(cells - side) // 2 + c_int32(each[bit]).value for each in (codes.bit_y, codes.bit_x)]
        for bit in range(codes.nbits)
    ]
    patterns = {}
    for tag in wanted:
        is_white = blank.copy()
        for bit, (row, column) in enumerate(places):
            is_white[row, column] = bool(codes.codes[tag] >> (codes.nbits - 1 - bit) & 1)
        patterns[tag] = TagPattern(np.rot90(is_white, 2), side)  # the library takes our upright sheet to be upside down
    return patterns


def _codes_of(family: str) -> Any:
    """A family as the library describes it, without its tables for finding tags: those of the largest take a minute."""
    create = getattr(_PupilLibrary(families=SMALLEST_FAMILY).libc, f"{family}_create")
    create.restype = POINTER(_ApriltagFamily)
    return create().contents


def board_black_m(board: Board = BOARD) -> list[Rectangle]:
    """The black rectangles of the board, from OpenCV's own layout of it."""
    drawn = opencv_board(board)
    dictionary = drawn.getDictionary()
    cell_m = board.marker_m / (dictionary.markerSize + 2)
    black: list[Rectangle] = []
    with_marker = set()
    for corners, marker in zip(drawn.getObjPoints(), drawn.getIds().ravel(), strict=True):
        left_m, top_m = (float(value) for value in corners.min(axis=0)[:2])
        with_marker.add((int(left_m / board.square_m), int(top_m / board.square_m)))
        is_white = np.zeros((dictionary.markerSize + 2, dictionary.markerSize + 2), dtype=bool)
        bits = dictionary.getBitsFromByteList(dictionary.bytesList[marker : marker + 1], dictionary.markerSize)
        is_white[1:-1, 1:-1] = bits > 0
        black += [(left_m + x, top_m + y, width, height) for x, y, width, height in _black_runs_m(is_white, cell_m)]
    black += [
        (column * board.square_m, row * board.square_m, board.square_m, board.square_m)
        for row in range(board.rows)
        for column in range(board.columns)
        if (column, row) not in with_marker
    ]
    return black


def _black_runs_m(is_white: BoolArray, cell_m: float) -> list[Rectangle]:
    """Runs of black cells, row by row."""
    runs: list[Rectangle] = []
    for row, cells in enumerate(is_white):
        edges = np.flatnonzero(np.diff(np.concatenate([[True], cells, [True]]).astype(int)))
        for first, end in zip(edges[::2], edges[1::2], strict=True):
            runs.append((float(first) * cell_m, row * cell_m, float(end - first) * cell_m, cell_m))
    return runs
