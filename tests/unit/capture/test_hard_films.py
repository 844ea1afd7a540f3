"""Hard rendered films: no error above two degrees that is not said, and lost frames are declared."""

from dataclasses import replace

import numpy as np
import pytest

from onthree.capture.tagged_video import TaggedVideo, read_tagged_video, unsure_moments
from onthree.demo.film_writer import Encoding, Truth, film_of, truth_of
from onthree.demo.hard_cases import HARD_CASES
from onthree.demo.render import true_corners_px
from onthree.kinematics.angles import about_neutral, relative_rotation

STILL_S = (0.0, 1.3)
EVERY = 4
"""Of the frames of the hard case only each fourth is drawn, to be quick."""


@pytest.fixture(scope="module")
def far(tmp_path_factory: pytest.TempPathFactory) -> tuple[TaggedVideo, Truth]:
    """Tags of 6 cm at 4 m: some twenty pixels, one or two of each segment at a time."""
    case = HARD_CASES["far-and-small"]()
    phone = replace(case.scene.phones[0], frame_s=case.scene.phones[0].frame_s[::EVERY])
    scene = replace(case.scene, phones=(phone,))
    path = tmp_path_factory.mktemp("far") / "far.mp4"
    film_of(scene, phone, path, Encoding(crf=18, preset="ultrafast"))
    return read_tagged_video(path, case.by_hand, neutral_s=STILL_S), truth_of(scene, phone, case.by_hand)


def test_every_error_above_two_degrees_is_said(far: tuple[TaggedVideo, Truth]) -> None:
    video, truth = far
    found, true = (
        about_neutral(video.motion, rotation, None, "head", "trunk").angles_deg
        for rotation in (relative_rotation(video.motion, "head", "trunk"), truth.rotation)
    )
    is_wrong = np.abs(found - true).max(axis=1) > 2
    is_said = unsure_moments(video.motion, video.uncertainty[0])

    assert is_wrong.any(), "a film that is not hard tells nothing"
    assert not (is_wrong & ~is_said).any()
    assert any("is not sure to 2 degrees" in flag for flag in video.motion.flags)


def test_lost_frames_are_declared(far: tuple[TaggedVideo, Truth]) -> None:
    video, _ = far
    lost = int((~video.motion.is_valid).sum(axis=0).max())

    assert lost > 0
    assert any(f"is not known in {lost} of {len(video.motion.time_s)} frames" in flag for flag in video.motion.flags)


def test_tags_that_only_the_hand_places_are_named(far: tuple[TaggedVideo, Truth]) -> None:
    video, _ = far

    assert any("together with the others of trunk" in flag for flag in video.layout.flags)


def test_both_sheets_with_one_id_face_the_phone() -> None:
    case = HARD_CASES["two-with-one-id"]()
    phone = case.scene.phones[0]
    both = [row for row, tag in enumerate(case.scene.rig.tags) if tag.id == 0]
    facing = [np.isfinite(true_corners_px(case.scene, phone, moment_s)[both]).all() for moment_s in phone.frame_s[::10]]

    assert len(both) == 2
    assert sum(facing) > 3
    assert [tag.id for tag in case.by_hand.tags].count(0) == 1
