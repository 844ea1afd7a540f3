"""A single tag reads two ways: what is around it decides, and where nothing does, nothing is claimed."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.capture.camera import projected
from onthree.capture.poses import SQUARE, Poses, Views
from onthree.capture.readings import Read, read_bodies
from tests.invented_film import CAMERA

SD_PX = 0.05
SIZE_M = 0.07
LAYOUT = Poses(
    np.stack([np.eye(3), Rotation.from_euler("y", 70, degrees=True).as_matrix()]),
    np.array([[0, 0, 0], [0.1, 0, -0.05]]),
)


def film_of_tags(tilt_deg: np.ndarray, shows_both: np.ndarray, noise_px: float = SD_PX) -> tuple[Views, Rotation]:
    """A segment that tilts before the camera at 3 m; its second tag is seen only in some of the frames."""
    rng = np.random.default_rng(1)
    turned = Rotation.from_euler("x", 180, degrees=True) * Rotation.from_euler(
        "xy", np.stack([tilt_deg, 0.3 * tilt_deg], 1), True
    )
    corners, tags, bodies = [], [], []
    for frame in range(len(tilt_deg)):
        for tag in range(1 + int(shows_both[frame])):
            inside = (SIZE_M * SQUARE) @ LAYOUT.rotation[tag].T + LAYOUT.place_m[tag]
            corners.append(projected(CAMERA, turned[frame].apply(inside) + np.array([0.0, 0.1, 3.0])))
            tags.append(tag)
            bodies.append(frame)
    places = np.array(corners) + rng.normal(0, noise_px, (len(corners), 4, 2))
    return Views(places, np.tile(SIZE_M * SQUARE, (len(tags), 1, 1)), np.array(tags), np.array(bodies)), turned


def read_and_off_deg(tilt_deg: np.ndarray, shows_both: np.ndarray, noise_px: float = SD_PX) -> tuple[Read, np.ndarray]:
    views, true = film_of_tags(tilt_deg, shows_both, noise_px)
    read = read_bodies(CAMERA, LAYOUT, views, np.arange(len(tilt_deg)) / 30, noise_px)
    return read, np.degrees((Rotation.from_matrix(read.bodies.rotation) * true.inv()).magnitude())


def test_frames_with_two_tags_decide_for_those_with_one() -> None:
    shows_both = np.arange(63) % 20 < 3
    read, off_deg = read_and_off_deg(25 + 8 * np.sin(np.arange(63) / 8), shows_both, noise_px=0.3)

    assert read.is_decided.all()
    assert off_deg.max() < 12, "a flip would be off by twice the tilt"


@pytest.mark.parametrize("level_deg", [2.0, 4.0, 8.0, 12.0, 20.0, 30.0])
def test_no_flip_is_silent(level_deg: float) -> None:
    """One tag, little turned, much noise: what is claimed is right within what is stated, the rest is not claimed."""
    read, off_deg = read_and_off_deg(np.full(40, level_deg), np.zeros(40, dtype=bool), noise_px=0.5)
    spread_rad2 = np.linalg.inv(read.information)[:, :3, :3].trace(axis1=1, axis2=2)

    assert not (read.is_decided & (off_deg > 4 * np.degrees(np.sqrt(spread_rad2)))).any()


def test_a_frame_without_a_tag_is_not_claimed() -> None:
    views, _ = film_of_tags(np.full(10, 30.0), np.ones(10, dtype=bool))
    read = read_bodies(CAMERA, LAYOUT, views.of(views.body != 4), np.arange(10) / 30, SD_PX)

    assert not read.is_decided[4]
    assert read.is_decided[[3, 5]].all()
