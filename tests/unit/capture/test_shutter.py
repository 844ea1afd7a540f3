"""Rows read one after the other: with exact row times, putting them right takes nearly all of the error away."""

import numpy as np
import pytest

from onthree.capture.camera import guessed_camera
from onthree.capture.tagged_video import video_from_sightings
from onthree.kinematics.angles import relative_rotation
from onthree.kinematics.segment_motion import FloatArray
from tests.invented_film import CAMERA, HEIGHT, WIDTH
from tests.invented_rehearsal import STILL_S, Rehearsal, rehearsal

READOUT_S = 0.025


def fast(readout_s: float) -> Rehearsal:
    return rehearsal(np.random.default_rng(21), duration_s=4.0, distance_m=2.2, sd_px=0.002, readout_s=readout_s)


def off_deg(film: Rehearsal, readout_s: float) -> FloatArray:
    """The error of head on trunk (n, 3), from an exact rig."""
    camera = guessed_camera(WIDTH, HEIGHT, CAMERA[0])
    video = video_from_sightings(film.sightings, film.rig, camera, STILL_S, readout_s, HEIGHT)
    error = relative_rotation(video.raw) * film.relative().inv()
    return np.degrees((error[:20].mean().inv() * error).as_rotvec())


def test_the_error_of_the_read_out_falls_below_a_fifth() -> None:
    film = fast(READOUT_S)
    left_deg, uncorrected_deg = (np.sqrt((off_deg(film, readout_s) ** 2).mean()) for readout_s in (READOUT_S, 0.0))

    assert uncorrected_deg > 0.05
    assert left_deg < 0.2 * uncorrected_deg


def test_a_frame_read_at_once_stays_as_it_is() -> None:
    assert np.sqrt((off_deg(fast(0.0), 0.0) ** 2).mean()) == pytest.approx(0.0, abs=0.01)
