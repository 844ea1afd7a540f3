"""Corners of a drawn square, finer than a pixel, with something dark beside its quiet zone."""

import cv2
import numpy as np
import pytest

from onthree.capture.corners import refined_corners

CELL_PX, SIDE_CELLS, FINE = 3.5, 8, 10
BLUR_PX, PICTURE_PX = 0.8, 60


@pytest.mark.parametrize("shift_px", [0.0, 0.3, 0.7])
def test_what_stands_beside_the_quiet_zone_hardly_moves_a_side(shift_px: float) -> None:
    """A dark plate one cell to the right of a small tag; without it the same corners are exact to 0.02 px."""
    start_px = 14.0 + shift_px
    side_px = CELL_PX * SIDE_CELLS
    true = start_px + side_px * np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])

    alone, beside = (
        refined_corners(_picture(start_px, side_px, has_plate), (true + 0.3)[None])[0][0] - true
        for has_plate in (False, True)
    )

    assert np.abs(alone).max() < 0.02
    assert np.abs(beside).max() < 0.10, "up to 0.14 if all pixels counted alike"


def _picture(start_px: float, side_px: float, has_plate: bool) -> np.ndarray:
    """A black square on white, blurred, pixel centres at integers; perhaps black again beyond the quiet zone."""
    fine = (np.arange(PICTURE_PX * FINE) + 0.5) / FINE - 0.5
    inside = (fine >= start_px) & (fine <= start_px + side_px)
    light = np.where(inside[:, None] & inside, 30.0, 220.0)
    if has_plate:
        light[:, fine > start_px + side_px + CELL_PX] = 30.0
    blurred = cv2.GaussianBlur(light, (0, 0), BLUR_PX * FINE)
    return np.rint(blurred.reshape(PICTURE_PX, FINE, PICTURE_PX, FINE).mean(axis=(1, 3))).astype(np.uint8)
