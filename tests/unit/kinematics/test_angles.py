"""Head on trunk as angles: against scipy, worked matrices and plain turns of the head."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import angles_deg, head_on_trunk, mean_rotation
from tests.unit.kinematics.recorded import about, recorded

# Worked once with two other programs for rotations; to be had again from the definition with paper and pencil.
WORKED_DEG = (20.0, 10.0, -30.0)
WORKED = (
    (0.8434932687, -0.3368240888, -0.4184120444),
    (0.2146101771, 0.9254165784, -0.312324556),
    (0.4924038765, 0.1736481777, 0.852868532),
)
WORKED_VECTOR_DEG = (14.8720, -27.8732, 16.8752)


def test_the_worked_matrix() -> None:
    rotation = Rotation.from_matrix([WORKED])

    assert angles_deg(rotation)[0] == pytest.approx(WORKED_DEG, abs=1e-7)
    assert np.degrees(rotation.as_rotvec()[0]) == pytest.approx(WORKED_VECTOR_DEG, abs=5e-5)
    assert np.degrees(rotation.magnitude()[0]) == pytest.approx(35.8171, abs=5e-5)


def test_the_order_matters() -> None:
    rotation = Rotation.from_euler("ZXY", [8.0, 6.0, 4.0], degrees=True)

    assert np.linalg.norm(np.degrees(rotation.as_rotvec())) == pytest.approx(10.9203, abs=5e-5)
    assert rotation.as_euler("XYZ", degrees=True)[1] != pytest.approx(4.0, abs=0.5)
    assert angles_deg(Rotation.concatenate([rotation]))[0] == pytest.approx((8.0, 6.0, 4.0))


def test_angles_are_those_of_scipy() -> None:
    rotation = Rotation.from_quat(np.random.default_rng(3).normal(size=(1000, 4)))

    assert angles_deg(rotation) == pytest.approx(rotation.as_euler("ZXY", degrees=True), abs=1e-7)


@pytest.mark.parametrize(
    ("axis", "point", "goes_to", "plane"),
    [
        ("z", (1, 0, 0), (0, 1, 0), 0),  # the face goes up: extension
        ("x", (0, 1, 0), (0, 0, 1), 1),  # the crown goes right: right lateral bending
        ("y", (1, 0, 0), (0, 0, -1), 2),  # the face goes left: left axial rotation
    ],
)
def test_the_signs_are_those_of_the_body(axis: str, point: list[float], goes_to: list[float], plane: int) -> None:
    towards = Rotation.from_euler(axis, [[10.0], [90.0]], degrees=True)

    assert towards[1].apply(point) == pytest.approx(goes_to, abs=1e-12)
    assert angles_deg(towards)[0, plane] == pytest.approx(10.0)


def test_neutral_is_the_mean_of_the_still_stretch_and_the_mounting_does_not_matter() -> None:
    angles = np.zeros((90, 3))
    angles[60:] = (12.0, -5.0, 8.0)
    mounting = Rotation.from_euler("xyz", [40, 20, -70], degrees=True)
    track = head_on_trunk(recorded(about(angles) * mounting), neutral_s=(0.0, 0.9))

    assert track.angles_deg == pytest.approx(angles, abs=1e-9)
    assert track.total_deg[-1] == pytest.approx(np.degrees(about(angles)[-1].magnitude()))
    assert np.linalg.norm(track.rotation_vector_deg, axis=1) == pytest.approx(track.total_deg)


def test_what_is_not_seen_is_not_a_number() -> None:
    track = head_on_trunk(recorded(about(np.ones((90, 3))), lost=slice(70, 72)))

    assert np.flatnonzero(np.isnan(track.angles_deg[:, 0])).tolist() == [70, 71]
    assert np.flatnonzero(np.isnan(track.total_deg)).tolist() == [70, 71]


def test_no_neutral_is_no_answer() -> None:
    motion = recorded(Rotation.identity(90), lost=slice(0, 70))

    with pytest.raises(ValueError, match=r"not seen together from 0.0 to 1.0 s"):
        head_on_trunk(motion)


def test_near_gimbal_is_told() -> None:
    angles = np.zeros((90, 3))
    angles[75:, 1] = 61.0
    (warning,) = head_on_trunk(recorded(about(angles))).warnings

    assert "beyond 60 degrees at 1.25 s" in warning
    assert head_on_trunk(recorded(about(angles * 59 / 61))).warnings == ()


def test_translations_are_in_trunk_axes() -> None:
    turned = Rotation.from_euler("z", np.full((90, 1), 90.0), degrees=True)
    position_m = np.zeros((90, 2, 3))
    position_m[:, 0] = (0.0, 0.3, 0.0)
    position_m[70:, 0] += (0.0, 0.02, 0.0)
    track = head_on_trunk(recorded(turned, turned, position_m=position_m))

    assert track.position_m is not None
    assert track.position_m[-1] == pytest.approx((0.02, 0.0, 0.0))


def test_the_mean_of_rotations_is_that_of_scipy_where_they_are_near() -> None:
    near = Rotation.from_rotvec(np.random.default_rng(4).normal(0.5, 0.02, (50, 3)))

    assert (mean_rotation(near).inv() * near.mean()).magnitude() < 1e-4
