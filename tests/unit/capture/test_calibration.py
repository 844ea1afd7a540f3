"""A camera from the printed board: the true one is found within what is said about it, and poor views are refused."""

from functools import cache

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.board import BOARD, opencv_board
from onthree.capture.calibration import BoardView, CalibrationError, board_views, calibrated
from onthree.capture.camera import projected
from onthree.capture.poses import Poses
from onthree.capture.rig import Rig
from onthree.demo.render import Renderer, board_plate
from onthree.demo.scene import Movement, Phone, Scene, still

FloatArray = NDArray[np.float64]

WIDTH, HEIGHT = 960, 540
CAMERA = np.array([725.0, 1.001, 484.0, 267.0, 0.05, -0.06, 0.0005, -0.0004])
FACING = Rotation.from_euler("x", np.pi)
"""Turns the board's own axes (x right, y down, z into it) onto a plate's."""


def poses(rng: np.random.Generator, count: int, tilt_deg: float = 35.0, spread: float = 1.0) -> Poses:
    """The board (x right, y down, z away) before the camera: tilted to all sides, all over the picture."""
    turned = Rotation.from_euler("xyz", rng.uniform(-1, 1, (count, 3)) * [tilt_deg, tilt_deg, 60], degrees=True)
    depth_m = rng.uniform(0.3, 0.5, count)
    aside = rng.uniform(-1, 1, (count, 2)) * [0.5, 0.25] * spread
    return Poses(turned.as_matrix(), np.stack([aside[:, 0] * depth_m, aside[:, 1] * depth_m, depth_m], axis=1))


def ideal_views(
    rng: np.random.Generator, at: Poses, sd_px: float = 0.1, camera: FloatArray = CAMERA
) -> list[BoardView]:
    """Corners as an ideal camera sees them, with noise; those outside of the picture are not seen."""
    corner_m = np.asarray(opencv_board().getChessboardCorners(), float)
    corner_m = corner_m - corner_m.mean(axis=0)
    views = []
    for rotation, place_m in zip(at.rotation, at.place_m, strict=True):
        pixels = projected(camera, corner_m @ rotation.T + place_m) + rng.normal(0, sd_px, (len(corner_m), 2))
        seen = np.flatnonzero(((pixels > 0) & (pixels < (WIDTH, HEIGHT))).all(axis=1))
        if len(seen) >= 8:
            views.append(BoardView(seen.astype(np.int64), pixels[seen]))
    return views


@cache
def rendered() -> tuple[NDArray[np.uint8], ...]:
    """Pictures of the board that are drawn with a known camera."""
    at = poses(np.random.default_rng(5), 26)
    plate = board_plate(opencv_board(), "board", Poses(FACING.as_matrix()[None], np.zeros((1, 3))))
    frame_s = np.arange(len(at.place_m), dtype=float)
    phone = Phone(CAMERA, WIDTH, HEIGHT, still(), frame_s, exposure_s=1e-4)
    rig = Rig("tag36h11", "nothing", (), 0.01, 0.09)
    scene = Scene(rig, {"board": Movement(frame_s, at)}, (phone,), (plate,))
    return tuple(Renderer(scene, phone).frames())


def test_the_focal_length_of_a_rendered_camera_is_found() -> None:
    views = list(board_views(rendered(), opencv_board()))
    found = calibrated(views, opencv_board(), WIDTH, HEIGHT, is_focus_locked=True)

    off = found.camera.values - CAMERA
    assert abs(off[0]) < 0.005 * CAMERA[0]
    assert (np.abs(off) < 3.5 * found.camera.sd).all(), f"{off / found.camera.sd}"
    assert found.camera.sd[0] < 0.003 * CAMERA[0]
    assert found.rms_px < 0.2
    assert found.view_count >= 15


def test_the_stated_sd_covers_and_is_that_of_opencv() -> None:
    """Thirty cameras of ideal corners: errors are as large as said. OpenCV says the same for the focal length."""
    shares = []
    for seed in range(30):
        rng = np.random.default_rng(seed)
        found = calibrated(ideal_views(rng, poses(rng, 20)), opencv_board(), WIDTH, HEIGHT, is_focus_locked=True)
        shares.append((found.camera.values - CAMERA) / found.camera.sd)
    assert (np.abs(shares) < 2).mean() > 0.93
    assert 0.4 < np.sqrt(np.mean(np.square(shares))) < 1.2

    rng = np.random.default_rng(3)
    views = ideal_views(rng, poses(rng, 20))
    found = calibrated(views, opencv_board(), WIDTH, HEIGHT, is_focus_locked=True)
    corner_m = np.asarray(opencv_board().getChessboardCorners(), np.float32)
    start = np.array([[700.0, 0, 480], [0, 700, 270], [0, 0, 1]])
    opencv = cv2.calibrateCameraExtended(
        [corner_m[view.ids] for view in views],
        [view.corners_px.astype(np.float32) for view in views],
        (WIDTH, HEIGHT),
        start,
        np.zeros(5),
        flags=cv2.CALIB_FIX_K3 | cv2.CALIB_USE_INTRINSIC_GUESS,
    )
    assert opencv[1][0, 0] == pytest.approx(found.camera.focal_px, rel=1e-3)
    assert 0.7 < found.camera.sd[0] / opencv[5][0, 0] < 2.0


def test_a_focus_that_may_move_is_less_sure() -> None:
    rng = np.random.default_rng(1)
    views = ideal_views(rng, poses(rng, 20))
    loose, locked = (calibrated(views, opencv_board(), WIDTH, HEIGHT, is_locked) for is_locked in (False, True))

    assert loose.camera.sd[0] == pytest.approx(np.hypot(locked.camera.sd[0], 0.005 * locked.camera.focal_px))


def test_too_few_views_are_refused() -> None:
    rng = np.random.default_rng(1)

    with pytest.raises(CalibrationError, match=r"found in 5 pictures, at least 8 are needed"):
        calibrated(ideal_views(rng, poses(rng, 5, spread=0.2)), opencv_board(), WIDTH, HEIGHT)


def test_a_board_that_is_always_flat_on_in_the_middle_is_refused_with_both_reasons() -> None:
    rng = np.random.default_rng(1)
    views = ideal_views(rng, poses(rng, 20, tilt_deg=4, spread=0.1))

    with pytest.raises(CalibrationError) as caught:
        calibrated(views, opencv_board(), WIDTH, HEIGHT)
    assert "turn it to each side" in str(caught.value)
    assert "bring it to every corner" in str(caught.value)


def test_another_board_is_not_found() -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50)
    other = cv2.aruco.CharucoBoard((BOARD.columns, BOARD.rows), BOARD.square_m, BOARD.marker_m, dictionary)
    picture = np.asarray(other.generateImage((500, 700), marginSize=20), np.uint8)

    assert list(board_views([picture] * 3, opencv_board())) == []
    with pytest.raises(CalibrationError, match="is it this board"):
        calibrated([], opencv_board(), WIDTH, HEIGHT)
