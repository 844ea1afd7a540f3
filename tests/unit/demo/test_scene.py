"""Scenes: movements between their poses, staging, and what is true of them."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation, Slerp

from onthree.capture.poses import Poses
from onthree.demo.hard_cases import HARD_CASES, ordinary_scene
from onthree.demo.scene import Movement, Phone, Slip, Zoom, looking, still
from onthree.demo.staging import Handling, boom_and_stalk, frame_times, minimum_jerk, movements
from tests.invented_film import CAMERA


def test_movement_turns_evenly_between_its_poses_as_the_library_does() -> None:
    time_s = np.linspace(0, 1, 51)
    turned = Rotation.from_rotvec(np.outer(np.sin(3 * time_s), [0.4, -0.8, 0.3]))
    moving = Movement(time_s, Poses(turned.as_matrix(), np.outer(time_s**2, [1.0, 2.0, 3.0])))
    asked_s = np.array([0.0, 0.013, 0.5, 0.777, 1.0])

    found = moving.at(asked_s)

    expected = Slerp(time_s, turned)(asked_s)
    assert (Rotation.from_matrix(found.rotation) * expected.inv()).magnitude().max() < 1e-6
    np.testing.assert_allclose(found.place_m[1], np.array([1, 2, 3]) * (0.02**2 * 0.65), atol=1e-12)
    np.testing.assert_allclose(moving.at(np.array([-1.0, 9.0])).place_m, [[0, 0, 0], [1, 2, 3]])


def test_camera_looks_at_its_point_and_stands_upright() -> None:
    pose = looking(np.array([0.5, -3.0, 1.5]), np.array([0.2, 0.1, 0.2])).at(np.zeros(1)).inverse()

    seen = pose.after(still(None, np.array([0.2, 0.1, 0.2])).at(np.zeros(1))).place_m[0]
    above = pose.after(still(None, np.array([0.2, 0.1, 0.7])).at(np.zeros(1))).place_m[0]
    np.testing.assert_allclose(seen[:2], 0, atol=1e-12)
    assert seen[2] > 0
    assert above[1] < -0.3
    assert abs(above[0]) < 1e-12


def test_head_starts_later_by_the_lag_and_is_at_rest_before() -> None:
    handling = Handling(still_s=1.0, roll_deg=60, lag_s=0.2, unrest_deg=0.0)
    moving = movements(handling, 6.0)

    def gone_deg(segment: str, time_s: float) -> float:
        poses = moving[segment].at(np.array([0.5, time_s]))
        first, now = Rotation.from_matrix(poses.rotation)
        return float(np.degrees((first.inv() * now).magnitude()))

    assert gone_deg("trunk", 1.0) == pytest.approx(0, abs=1e-6)
    assert gone_deg("head", 1.2) == pytest.approx(0, abs=1e-6)
    assert gone_deg("head", 1.55) == pytest.approx(gone_deg("trunk", 1.35), abs=1e-3)
    assert gone_deg("trunk", 3.2) == pytest.approx(60, abs=1e-6)


def test_roll_towards_the_phone_lifts_the_far_side() -> None:
    """In trunk axes Z is right; the athlete's right side lies away from the first phone."""
    trunk = movements(Handling(roll_deg=90, unrest_deg=0.0), 8.0)["trunk"].at(np.array([0.0, 4.1]))

    np.testing.assert_allclose(trunk.rotation[0, :, 0], [0, 0, 1], atol=1e-9)  # chest up
    np.testing.assert_allclose(trunk.rotation[1, :, 0], [0, -1, 0], atol=1e-9)  # chest towards the phone
    np.testing.assert_allclose(trunk.rotation[1, :, 2], [0, 0, 1], atol=1e-9)  # right side up


def test_way_of_least_jerk_is_half_gone_at_half_time_and_starts_as_a_cube() -> None:
    """Flash and Hogan (1985): 10 t^3 - 15 t^4 + 6 t^5, from memory."""
    np.testing.assert_allclose(minimum_jerk(np.array([-1.0, 0.0, 0.5, 1.0, 2.0])), [0, 0, 0.5, 1, 1])
    assert minimum_jerk(np.array([1e-3]))[0] == pytest.approx(1e-8, rel=0.01)


def test_plates_of_the_usual_layout_do_not_touch_each_other() -> None:
    """A free border of a cell around each black square, as the sheets have it."""
    tags = boom_and_stalk(has_more=True).tags
    for segment in ("head", "trunk"):
        plates = [tag for tag in tags if tag.segment == segment]
        for one in plates:
            for other in plates:
                if one.id < other.id:
                    assert one.centre_m is not None and other.centre_m is not None
                    gap_m = np.linalg.norm(one.centre_m - other.centre_m)
                    assert gap_m > 0.95 * one.size_m, (one.id, other.id)


def test_phone_shows_its_own_time() -> None:
    phone = Phone(CAMERA, 64, 48, still(), np.array([2.0, 2.5, 3.0]), clock_rate_ppm=100.0)

    np.testing.assert_allclose(phone.shown_s, [0, 0.50005, 1.0001])
    np.testing.assert_allclose(phone.shown_at_s(np.array([2.25])), 0.250025)


def test_rows_of_a_rolling_shutter_have_their_own_moment_about_the_middle_row() -> None:
    phone = Phone(CAMERA, 64, 48, still(), np.zeros(1), readout_s=0.016)

    np.testing.assert_allclose(
        phone.row_s(1.0, np.array([23.5, 0.0, 47.0])), [1.0, 1 - 0.016 * 23.5 / 48, 1 + 0.016 * 23.5 / 48]
    )


def test_focal_length_changes_while_the_film_runs() -> None:
    phone = Phone(CAMERA, 64, 48, still(), np.zeros(1), zoom=Zoom(1.0, 0.5, 1.1))

    assert [phone.camera_at(time_s)[0] / CAMERA[0] for time_s in (0.9, 1.25, 2.0)] == pytest.approx([1.0, 1.05, 1.1])


def test_frame_times_vary_as_asked_and_rise() -> None:
    rng = np.random.default_rng(1)

    steady, varied = frame_times(30, 2, rng), frame_times(30, 2, rng, jitter_s=0.004)

    np.testing.assert_allclose(np.diff(steady), 1 / 30)
    assert np.diff(varied).min() > 0
    assert np.diff(varied).std() == pytest.approx(0.004, rel=0.3)


def test_ordinary_scenes_differ_by_seed_and_are_the_same_again() -> None:
    one, again, other = ordinary_scene(3), ordinary_scene(3), ordinary_scene(4)

    np.testing.assert_array_equal(one.scene.phones[0].camera, again.scene.phones[0].camera)
    np.testing.assert_array_equal(one.truths[0].place_m, again.truths[0].place_m)
    assert one.scene.phones[0].camera[0] != other.scene.phones[0].camera[0]


@pytest.mark.parametrize("name", HARD_CASES)
def test_hard_case_knows_its_truth_at_every_frame(name: str) -> None:
    case = HARD_CASES[name]()

    assert case.name == name
    assert len(case.truths) == len(case.scene.phones)
    for phone, truth in zip(case.scene.phones, case.truths, strict=True):
        assert len(truth.time_s) == len(truth.rotation) == len(phone.frame_s)
        assert truth.time_s[0] == 0
        assert np.diff(truth.time_s).min() > 0
    ids = [tag.id for tag in case.by_hand.tags]
    assert len(ids) == len(set(ids))


def test_slipped_plate_sits_elsewhere_from_the_moment_on() -> None:
    case = HARD_CASES["slipped-plate"]()
    slip = case.scene.slips[5]

    assert isinstance(slip, Slip)
    assert replace(slip, at_s=0.0).at_s == 0.0
    assert case.facts["slipped"] == [5]
