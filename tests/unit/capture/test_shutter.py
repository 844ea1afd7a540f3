"""Rows read one after the other: with exact row times, putting them right takes nearly all of the error away."""

import numpy as np
import pytest

from onthree.capture.camera import guessed_camera
from onthree.capture.readout import READOUT
from onthree.capture.tagged_video import TaggedVideo, video_from_sightings
from onthree.kinematics.angles import relative_rotation
from onthree.kinematics.segment_motion import FloatArray
from tests.invented_film import CAMERA, HEIGHT, WIDTH
from tests.invented_rehearsal import STILL_S, Rehearsal, rehearsal

READOUT_S = 0.025


def fast(readout_s: float, sd_px: float = 0.002) -> Rehearsal:
    return rehearsal(np.random.default_rng(21), duration_s=4.0, distance_m=2.2, sd_px=sd_px, readout_s=readout_s)


def read(film: Rehearsal, readout_s: float, height_px: int) -> TaggedVideo:
    camera = guessed_camera(WIDTH, HEIGHT, CAMERA[0])
    return video_from_sightings(film.sightings, film.rig, camera, STILL_S, readout_s, height_px)


def off_deg(film: Rehearsal, readout_s: float, height_px: int = HEIGHT) -> FloatArray:
    """The error of head on trunk (n, 3), from an exact rig; without a height nothing is done about rows."""
    error = relative_rotation(read(film, readout_s, height_px).raw) * film.relative().inv()
    return np.degrees((error[:20].mean().inv() * error).as_rotvec())


def rms_deg(film: Rehearsal, readout_s: float, height_px: int = HEIGHT) -> float:
    return float(np.sqrt((off_deg(film, readout_s, height_px) ** 2).mean()))


def test_the_error_of_the_read_out_falls_below_a_fifth() -> None:
    film = fast(READOUT_S)
    uncorrected_deg = rms_deg(film, 0.0, 0)

    assert uncorrected_deg > 0.05
    assert rms_deg(film, READOUT_S) < 0.2 * uncorrected_deg


@pytest.mark.parametrize("readout_s", [READOUT_S, 0.01, -0.01])
def test_a_film_tells_its_read_out_where_nobody_does(readout_s: float) -> None:
    film = fast(readout_s, 0.02)
    given_deg = rms_deg(film, readout_s)

    assert rms_deg(film, 0.0, 0) > 1.3 * given_deg
    assert rms_deg(film, 0.0) < 1.15 * given_deg


def test_what_the_film_does_not_tell_of_it_is_an_error_that_all_frames_share() -> None:
    """The noisier the corners, the less is told; where the read-out is given, nothing of it is left unknown."""
    clear_rad, noisy_rad = (
        np.abs(found.shared_rad[found.shared_names.index(READOUT)]).max()
        for found in (read(fast(0.01, sd_px), 0.0, HEIGHT).uncertainty[0] for sd_px in (0.05, 0.5))
    )

    assert noisy_rad > 2 * clear_rad > 0
    assert READOUT not in read(fast(READOUT_S), READOUT_S, HEIGHT).uncertainty[0].shared_names


def test_a_frame_read_at_once_stays_as_it_is() -> None:
    assert rms_deg(fast(0.0), 0.0) == pytest.approx(0.0, abs=0.01)
