"""The camera: its slopes are those of finite differences, its pixels those of another library."""

import cv2
import numpy as np
import pytest

from onthree.capture.camera import PARAMETERS, directions, guessed_camera, projected, projection_slopes
from tests.invented_film import CAMERA

POINTS = np.random.default_rng(1).normal(size=(30, 3)) * [0.3, 0.2, 0.2] + [0.0, 0.0, 1.5]


def test_pixels_are_those_of_opencv() -> None:
    matrix = np.array([[CAMERA[0], 0, CAMERA[2]], [0, CAMERA[0] * CAMERA[1], CAMERA[3]], [0, 0, 1]])
    expected, _ = cv2.projectPoints(POINTS, np.zeros(3), np.zeros(3), matrix, CAMERA[4:])

    np.testing.assert_allclose(projected(CAMERA, POINTS), expected[:, 0], atol=1e-9)


def test_directions_undo_the_projection() -> None:
    np.testing.assert_allclose(directions(CAMERA, projected(CAMERA, POINTS)), POINTS[:, :2] / POINTS[:, 2:], atol=1e-9)


@pytest.mark.parametrize("axis", range(3))
def test_slopes_by_the_point(axis: int) -> None:
    step = 1e-6 * np.eye(3)[axis]
    difference = (projected(CAMERA, POINTS + step) - projected(CAMERA, POINTS - step)) / 2e-6

    np.testing.assert_allclose(projection_slopes(CAMERA, POINTS)[0][..., axis], difference, atol=1e-3)


@pytest.mark.parametrize("parameter", range(len(PARAMETERS)), ids=PARAMETERS)
def test_slopes_by_the_camera(parameter: int) -> None:
    step = 1e-6 * np.eye(len(PARAMETERS))[parameter]
    difference = (projected(CAMERA + step, POINTS) - projected(CAMERA - step, POINTS)) / 2e-6

    np.testing.assert_allclose(projection_slopes(CAMERA, POINTS)[1][..., parameter], difference, atol=1e-3)


def test_a_guessed_camera_looks_through_the_middle() -> None:
    camera = guessed_camera(1920, 1080, 1500.0)

    assert camera.focal_px == 1500
    assert tuple(camera.values[2:4]) == (959.5, 539.5), "pixel centres are at integers"
