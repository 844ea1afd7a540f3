"""Axes from movements: what a hand-measured direction costs comes back, and what stays is stated."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import head_on_trunk, relative_rotation
from onthree.kinematics.functional_axes import (
    AXES_BY_MOVEMENT,
    Axes,
    axes_from_movements,
    axes_from_pose,
    mean_helical_axis,
    with_axes,
)
from onthree.kinematics.segment_motion import BoolArray, FloatArray, SegmentMotion
from tests.unit.kinematics.recorded import about, recorded, uncertain

RATE_HZ = 60.0
TIME_S = np.arange(int(17 * RATE_HZ)) / RATE_HZ
NOD_S, TURN_S, LIFT_S = (1.5, 6.5), (7.0, 12.0), (12.5, 16.5)


def during(stretch_s: tuple[float, float]) -> BoolArray:
    return np.abs(TIME_S - np.mean(stretch_s)) <= np.ptp(stretch_s) / 2


def angles_deg(rng: np.random.Generator, impure_deg: float = 1.5) -> FloatArray:
    """Still for a second, three nods (first forward), three turns (first to the left), then a motion in all planes."""
    angles = np.zeros((len(TIME_S), 3))
    for (start_s, end_s), plane, size_deg in ((NOD_S, 0, -20.0), (TURN_S, 2, 30.0)):
        inside = during((start_s, end_s))
        phase = (TIME_S[inside] - start_s) / (end_s - start_s)
        angles[inside, plane] = size_deg * np.sin(6 * np.pi * phase)
        for other in {0, 1, 2} - {plane}:
            wave, shift = rng.uniform(2, 9), rng.uniform(0, 2 * np.pi)
            angles[inside, other] += impure_deg * np.sin(np.pi * phase) ** 2 * np.sin(wave * phase + shift)
    inside = during(LIFT_S)
    phase = (TIME_S[inside] - LIFT_S[0]) / (LIFT_S[1] - LIFT_S[0])
    angles[inside] = np.outer(np.sin(2 * np.pi * phase), [30.0, 12.0, 20.0])
    return angles


def crooked(rng: np.random.Generator, axes: Rotation, impure_deg: float = 1.5) -> tuple[SegmentMotion, FloatArray]:
    """The motion as recorded with crooked axes of the trunk and other ones of the head, and its true angles [deg]."""
    angles = angles_deg(rng, impure_deg)
    trunk = Rotation.from_rotvec(np.outer(np.sin(TIME_S), [0.3, 0.8, -0.2]))
    noise = Rotation.from_rotvec(rng.normal(0, np.radians(0.03), (len(TIME_S), 3)))
    head = trunk * about(angles) * noise * Rotation.from_rotvec([0.05, -0.1, 0.08])
    return recorded(head, trunk * axes, rate_hz=RATE_HZ), angles


def worst_deg(motion: SegmentMotion, true_deg: FloatArray) -> float:
    """The largest error of an angle in the last motion."""
    inside = during(LIFT_S)
    return float(np.abs(head_on_trunk(motion).angles_deg - true_deg)[inside].max())


def test_the_mean_axis_of_a_hinge_is_its_axis() -> None:
    """A hinge has one helical axis, that of scipy's rotation vector between any two moments."""
    axis = np.array([0.2, -0.3, 0.93]) / np.linalg.norm([0.2, -0.3, 0.93])
    motion = recorded(Rotation.from_rotvec(np.outer(0.4 * np.sin(TIME_S), axis)), rate_hz=RATE_HZ)
    found = mean_helical_axis(motion, NOD_S)
    finite = (motion.frame_from_segment["head"][200] * motion.frame_from_segment["head"][100].inv()).as_rotvec()

    assert abs(found.direction @ axis) == pytest.approx(1.0, abs=1e-12)
    assert abs(found.direction @ finite) == pytest.approx(np.linalg.norm(finite), abs=1e-12)
    assert found.sd_rad < 1e-9


def test_pure_movements_give_the_axes_back() -> None:
    turned = Rotation.from_euler("XYZ", [2.0, -3.0, 1.5], degrees=True)
    motion, true_deg = crooked(np.random.default_rng(1), turned, impure_deg=0.0)
    found = axes_from_movements(motion, NOD_S, TURN_S)
    straight, _ = with_axes(motion, uncertain(len(TIME_S)), found)

    assert np.degrees((found.reference_from_anatomical * turned).magnitude()) < 0.05
    assert worst_deg(motion, true_deg) > 1.0
    assert worst_deg(straight, true_deg) < 0.2


def test_impure_movements_recover_most_of_what_the_hand_loses() -> None:
    """Axes by hand are two degrees off each way; nods and turns by a person who also sways by a degree and a half."""
    by_hand, by_movement, scores = [], [], []
    for seed in range(30):
        rng = np.random.default_rng(seed)
        turned = Rotation.from_rotvec(rng.normal(0, np.radians(2.0), 3))
        motion, true_deg = crooked(rng, turned)
        found = axes_from_movements(motion, NOD_S, TURN_S)
        straight, _ = with_axes(motion, uncertain(len(TIME_S)), found)
        by_hand.append(worst_deg(motion, true_deg))
        by_movement.append(worst_deg(straight, true_deg))
        off = (found.reference_from_anatomical.inv() * turned.inv()).as_rotvec()
        assert found.covariance_rad2 is not None
        scores.append(off @ np.linalg.solve(found.covariance_rad2, off) / 3)

    assert np.sqrt(np.mean(np.square(by_movement))) < 0.4 * np.sqrt(np.mean(np.square(by_hand)))
    assert 0.4 < np.mean(scores) < 2.0, "as sure as stated, over thirty people"


def test_the_first_movement_says_which_way_where_the_axes_say_nothing() -> None:
    turned = Rotation.from_euler("XYZ", [170.0, 40.0, -60.0], degrees=True)
    motion, true_deg = crooked(np.random.default_rng(2), turned)
    found = axes_from_movements(motion, NOD_S, TURN_S, is_forward_first=True)
    straight, _ = with_axes(motion, uncertain(len(TIME_S)), found)

    assert worst_deg(straight, true_deg) < 1.0


def test_head_on_trunk_is_the_identity_in_neutral() -> None:
    motion, _ = crooked(np.random.default_rng(3), Rotation.from_rotvec([0.03, 0.02, -0.04]))
    for axes in (axes_from_movements(motion, NOD_S, TURN_S), axes_from_pose(motion)):
        straight, _ = with_axes(motion, uncertain(len(TIME_S)), axes)
        still = relative_rotation(straight)[TIME_S <= 1.0]

        assert np.degrees(still.mean().magnitude()) < 1e-6
        assert straight.flags[-1] == axes.said


def test_up_in_a_supine_pose_is_the_axis_to_the_front() -> None:
    turned = Rotation.from_euler("YZ", [2.0, -3.0], degrees=True)
    motion, _ = crooked(np.random.default_rng(4), turned)
    still = motion.frame_from_segment["trunk"][TIME_S <= 1.0].mean() * turned.inv()
    found = axes_from_pose(motion, up=still.apply([1.0, 0.0, 0.0]), up_sd_rad=0.02)

    assert (turned * found.reference_from_anatomical).apply([1.0, 0.0, 0.0]) == pytest.approx([1, 0, 0], abs=1e-3)
    assert found.covariance_rad2 == pytest.approx(np.diag([0.0, 0.0004, 0.0004]))


def test_errors_of_the_old_axes_give_way_to_those_of_the_new() -> None:
    motion, _ = crooked(np.random.default_rng(5), Rotation.identity())
    count = len(TIME_S)
    names = ("focal", "axes of head 1", "axes of trunk 1", "origin of head 1")
    shared_rad = np.stack([np.full((count, 3), size) for size in (0.001, 0.03, 0.03, 0.0)])
    old = uncertain(
        count,
        shared_names=names,
        shared_rad=shared_rad,
        position_cov_m2=np.tile(1e-6 * np.eye(3), (count, 1, 1)),
        position_shared_m=0.1 * shared_rad,
    )
    axes = axes_from_movements(motion, NOD_S, TURN_S)
    straight, new = with_axes(motion, old, axes)
    by_movement = [row for row, name in enumerate(new.shared_names) if name.startswith(AXES_BY_MOVEMENT)]
    relative = relative_rotation(straight)[900].as_matrix()
    assert axes.covariance_rad2 is not None
    stated = (relative - np.eye(3)) @ axes.covariance_rad2 @ (relative - np.eye(3)).T

    assert new.shared_names[:3] == ("focal", "axes of head 1", "origin of head 1")
    assert np.abs(new.shared_rad[1]).max() == 0
    assert np.abs(new.position_shared_m[1]).max() > 0, "what it shifts is still not known"
    assert new.shared_rad[by_movement, 900].T @ new.shared_rad[by_movement, 900] == pytest.approx(stated)


def test_a_small_movement_is_refused() -> None:
    motion = recorded(about(0.1 * angles_deg(np.random.default_rng(6))), rate_hz=RATE_HZ)

    with pytest.raises(ValueError, match=r"turned by 4\.\d degrees, at least 15 expected"):
        axes_from_movements(motion, NOD_S, TURN_S)


def test_a_movement_that_nobody_saw_is_refused() -> None:
    motion, _ = crooked(np.random.default_rng(7), Rotation.identity())
    with pytest.raises(ValueError, match="head and trunk are not seen from 90 to 95 s"):
        axes_from_movements(motion, (90, 95), TURN_S)
    with pytest.raises(ValueError, match=r"moments seen from 2 to 2.1 s, 24 expected"):
        axes_from_movements(motion, (2, 2.1), TURN_S)


def test_axes_of_other_segments_are_refused() -> None:
    motion, _ = crooked(np.random.default_rng(8), Rotation.identity())
    other = Axes(
        moving="device",
        reference="trunk",
        moving_from_anatomical=Rotation.identity(),
        reference_from_anatomical=Rotation.identity(),
        covariance_rad2=None,
        said="",
    )
    with pytest.raises(ValueError, match="uncertainty of head on trunk given, device on trunk expected"):
        with_axes(motion, uncertain(len(TIME_S)), other)
