"""Poses against another program: OpenCV's perspective-n-point finds the same body and the same tag."""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.layout import views_of
from onthree.capture.poses import SQUARE, Poses, both_readings
from onthree.capture.readings import read_bodies
from tests.invented_film import CAMERA, invented_film

FloatArray = NDArray[np.float64]

MATRIX = np.array([[CAMERA[0], 0, CAMERA[2]], [0, CAMERA[0] * CAMERA[1], CAMERA[3]], [0, 0, 1]])
APART_DEG, APART_M = 0.01, 2e-4


def apart(ours: Poses, row: int, turn: FloatArray, place_m: FloatArray) -> tuple[float, float]:
    """Degrees and metres between one of our poses and one of OpenCV's."""
    between = Rotation.from_matrix(ours.rotation[row]).inv() * Rotation.from_rotvec(np.ravel(turn))
    return float(np.degrees(between.magnitude())), float(np.linalg.norm(ours.place_m[row] - np.ravel(place_m)))


@pytest.mark.parametrize("sd_px", [0.0, 0.05])
def test_a_body_of_several_tags_is_where_opencv_finds_it(sd_px: float) -> None:
    film = invented_film(np.random.default_rng(4), 12, sd_px)
    tags = tuple(tag for tag in film.rig.tags if tag.segment == "head")
    layout = Poses(
        np.array([Rotation.from_rotvec(tag.rotvec_rad).as_matrix() for tag in tags]),
        np.array([tag.centre_m for tag in tags]),
    )
    views = views_of(film.sightings, tags, ("head",))
    read = read_bodies(CAMERA, layout, views, film.sightings.time_s, 0.05)

    compared = 0
    for frame in range(12):
        inside = views.body == frame
        if inside.sum() < 2:
            continue
        points = np.einsum("nij,nkj->nki", layout.rotation[views.tag[inside]], views.corner_m[inside])
        points = (points + layout.place_m[views.tag[inside]][:, None]).reshape(-1, 3)
        pixels = views.corners_px[inside].reshape(-1, 2)
        _, turn, place_m = cv2.solvePnP(points, pixels, MATRIX, CAMERA[4:], flags=cv2.SOLVEPNP_SQPNP)
        turn, place_m = cv2.solvePnPRefineLM(points, pixels, MATRIX, CAMERA[4:], turn, place_m)
        off_deg, off_m = apart(read.bodies, frame, turn, place_m)
        assert off_deg < APART_DEG
        assert off_m < APART_M
        compared += 1
    assert compared >= 8


def test_both_readings_of_a_tag_are_those_of_opencv() -> None:
    """OpenCV's solver for squares (Collins and Bartoli 2014) gives two poses; ours, only a start, are near them."""
    film = invented_film(np.random.default_rng(4), 6, 0.0)
    tags = tuple(tag for tag in film.rig.tags if tag.segment == "trunk")
    views = views_of(film.sightings, tags, ("trunk",))
    ours = both_readings(CAMERA, views)

    for row in range(len(views)):
        square = SQUARE * (views.corner_m[row, 1, 0] - views.corner_m[row, 0, 0])
        found = cv2.solvePnPGeneric(square, views.corners_px[row], MATRIX, CAMERA[4:], flags=cv2.SOLVEPNP_IPPE_SQUARE)
        for turn, place_m in zip(found[1], found[2], strict=True):
            off = [apart(ours, each, turn, place_m) for each in (row, row + len(views))]
            assert min(off_deg for off_deg, _ in off) < 0.1
            assert min(off_m for _, off_m in off) < 2e-3
