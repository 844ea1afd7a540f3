"""A camera file against a film: single tags tell little of the lens, and contradict no file that is right."""

import re

import numpy as np
import pytest

from onthree.capture.against_file import camera_file_flags
from onthree.capture.camera import Camera, guessed_camera
from tests.invented_film import CAMERA, HEIGHT, WIDTH, true_rig
from tests.invented_rehearsal import one_tag_each, rehearsal

SIZE_PX = (WIDTH, HEIGHT)
CALIBRATED = Camera(CAMERA, np.array([4.0, 0.0005, 3.0, 3.0, 0.005, 0.005, 0.0003, 0.0003]))


@pytest.mark.parametrize(("seed", "sd_px"), [(100, 0.1), (108, 0.1), (100, 0.4), (106, 0.4)])
def test_single_tags_contradict_no_file_that_is_right(seed: int, sd_px: float) -> None:
    """The focal length that films 108 and 106 tell alone is five standard deviations too short."""
    rng = np.random.default_rng(seed)
    rig = one_tag_each(true_rig(), turned_deg=rng.uniform(5, 30))
    film = rehearsal(rng, duration_s=6.0, distance_m=rng.uniform(2, 3), sd_px=sd_px, correlation_ratio=0.4, rig=rig)

    assert camera_file_flags(film.sightings, rig, CALIBRATED, SIZE_PX) == ()


def test_many_tags_contradict_a_wrong_file_and_none_that_is_right() -> None:
    film = rehearsal(np.random.default_rng(1), duration_s=2.0)
    wrong = Camera(CAMERA * np.array([1.165, 1, 1, 1, 1, 1, 1, 1]), CALIBRATED.sd)

    assert camera_file_flags(film.sightings, film.rig, CALIBRATED, SIZE_PX) == ()
    (told,) = camera_file_flags(film.sightings, film.rig, wrong, SIZE_PX)
    off, give = map(float, re.findall(r"([+-]?\d+\.\d)%", told))
    assert abs(off - 100 * (1 / 1.165 - 1)) < give


def test_without_a_file_there_is_nothing_to_contradict() -> None:
    film = rehearsal(np.random.default_rng(1), duration_s=1.0)

    assert camera_file_flags(film.sightings, film.rig, None, SIZE_PX) == ()
    assert camera_file_flags(film.sightings, film.rig, guessed_camera(*SIZE_PX, 1.2 * CAMERA[0]), SIZE_PX) == ()
