"""A mean screw axis: instantaneous axes count by how fast they turn, which makes it less sensitive to noise."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import relative_rotation
from onthree.kinematics.functional_axes import mean_helical_axis
from tests.unit.kinematics.recorded import recorded


@pytest.mark.published("ancillao-2022", where="abstract: weighted by the norm of the angular velocity, no threshold")
def test_an_axis_weighted_by_speed_is_nearer_than_one_that_is_not() -> None:
    time_s = np.arange(300) / 60
    axis = np.array([0.1, 0.2, 1.0]) / np.linalg.norm([0.1, 0.2, 1.0])
    weighted_rad, plain_rad = [], []
    for seed in range(20):
        noise = Rotation.from_rotvec(np.random.default_rng(seed).normal(0, np.radians(0.1), (300, 3)))
        motion = recorded(noise * Rotation.from_rotvec(np.outer(0.3 * np.sin(2 * time_s), axis)), rate_hz=60.0)
        steps = (relative_rotation(motion)[1:] * relative_rotation(motion)[:-1].inv()).as_rotvec()
        plain = (steps / np.linalg.norm(steps, axis=1, keepdims=True) * np.sign(steps @ axis)[:, None]).mean(axis=0)
        found = mean_helical_axis(motion, (0.0, 5.0)).direction
        weighted_rad.append(np.linalg.norm(np.cross(found, axis)))
        plain_rad.append(np.linalg.norm(np.cross(plain / np.linalg.norm(plain), axis)))

    assert np.sqrt(np.mean(np.square(weighted_rad))) < 0.7 * np.sqrt(np.mean(np.square(plain_rad)))
