"""The printed board a camera is calibrated with: squares like those of chess, a marker in each white one (ChArUco)."""

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Board:
    """Squares across and down, sides of a square and of the black square of a marker [m], and the marker dictionary."""

    columns: int
    rows: int
    square_m: float
    marker_m: float
    dictionary: str

    @property
    def corners_count(self) -> int:
        """Corners between squares that a camera can find."""
        return (self.columns - 1) * (self.rows - 1)


BOARD = Board(columns=5, rows=7, square_m=0.030, marker_m=0.0225, dictionary="DICT_4X4_50")
"""Fits A4 and letter with white around it; its markers are of another family than the tags that are worn."""


def opencv_board(board: Board = BOARD) -> Any:
    """The board as OpenCV knows it, for its detector: ``cv2.aruco.CharucoDetector(opencv_board())``."""
    import cv2

    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, board.dictionary))
    return cv2.aruco.CharucoBoard((board.columns, board.rows), board.square_m, board.marker_m, dictionary)
