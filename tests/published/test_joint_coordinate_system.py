"""Angles between the axes of two segments, by the definition of the joint coordinate system instead of a matrix."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import angles_deg
from onthree.kinematics.choices import choices
from tests.printed import assert_agrees


@pytest.mark.published("grood-suntay-1983", where="definition of the floating axis and the three angles, from memory")
@pytest.mark.published("wu-2002", where="joint coordinate system of the spine: Z first, Y last, from memory")
def test_angles_are_those_between_the_axes_of_the_joint_coordinate_system() -> None:
    rotations = Rotation.from_quat(np.random.default_rng(1).normal(size=(1000, 4)))
    anterior, cranial, right = np.eye(3)
    head_cranial, head_right = rotations.apply(cranial), rotations.apply(right)
    floating = np.cross(head_cranial, right)
    floating /= np.linalg.norm(floating, axis=1, keepdims=True)
    extension = np.arctan2(floating @ cranial, floating @ anterior)
    lateral = np.arcsin(head_cranial @ right)
    axial = np.arctan2(
        np.einsum("ni,ni->n", floating, head_right), np.einsum("ni,ni->n", floating, rotations.apply(anterior))
    )

    assert angles_deg(rotations) == pytest.approx(np.degrees(np.stack([extension, lateral, axial], axis=1)), abs=1e-6)


@pytest.mark.published("grood-suntay-1983", where="first and third angle cannot be told apart at 90, from memory")
def test_at_the_bound_of_the_warning_an_error_is_doubled() -> None:
    bent = Rotation.from_euler("X", [[choices().gimbal_warning_deg]], degrees=True)
    found = angles_deg(Rotation.from_rotvec([0, 1e-6, 0]) * bent)

    assert_agrees(np.radians(found[0, 2]) / 1e-6, "2.0")
