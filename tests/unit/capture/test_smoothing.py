"""Smoothing of rotations: the motion a dense solution finds, errors as large as stated, nothing between gaps."""

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.capture.smoothing import smoothed

SD_RAD = np.radians(0.1)


def wandering(rng: np.random.Generator, time_s: np.ndarray, wander_rad_s: float) -> np.ndarray:
    """Angles (n) whose speed is a random walk, stepped finely."""
    fine_s = np.linspace(time_s[0], time_s[-1], 20 * len(time_s))
    speed = np.cumsum(rng.normal(0, wander_rad_s * np.sqrt(fine_s[1] - fine_s[0]), len(fine_s)))
    angle = np.cumsum(speed) * (fine_s[1] - fine_s[0])
    return np.interp(time_s, fine_s, angle)


def test_one_axis_is_the_dense_solution_of_the_same_model() -> None:
    """Bayes by hand: prior covariance of the twice integrated noise, uneven times, an unknown start and speed."""
    rng = np.random.default_rng(4)
    time_s = np.sort(rng.uniform(0, 3, 60))
    angle = wandering(rng, time_s, 0.3) + rng.normal(0, SD_RAD, 60)
    found = smoothed(
        time_s, Rotation.from_rotvec(np.outer(angle, [0, 0, 1])), np.tile(SD_RAD**2 * np.eye(3), (60, 1, 1))
    )
    early = np.minimum.outer(time_s, time_s) - time_s[0]
    late = np.maximum.outer(time_s, time_s) - time_s[0]
    prior = found.wander_rad_s**2 * early**2 * (3 * late - early) / 6
    known = np.stack([np.ones(60), time_s], axis=1)
    noisy = np.linalg.inv(prior + SD_RAD**2 * np.eye(60))
    level = np.linalg.solve(known.T @ noisy @ known, known.T @ noisy @ angle)
    dense = known @ level + prior @ noisy @ (angle - known @ level)

    np.testing.assert_allclose(found.rotation.as_rotvec()[:, 2], dense, atol=2e-6)


def test_errors_are_as_large_as_stated_and_smaller_than_measured() -> None:
    scores, shares = [], []
    for seed in range(8):
        rng = np.random.default_rng(seed)
        time_s = np.arange(200) / 30
        true = Rotation.from_rotvec(np.stack([wandering(rng, time_s, 0.4) for _ in range(3)], axis=1))
        measured = Rotation.from_rotvec(rng.normal(0, SD_RAD, (200, 3))) * true
        found = smoothed(time_s, measured, np.tile(SD_RAD**2 * np.eye(3), (200, 1, 1)))
        error = (found.rotation * true.inv()).as_rotvec()
        scores.append(np.einsum("ni,nij,nj->n", error, np.linalg.inv(found.covariance_rad2), error).mean() / 3)
        shares.append(np.sqrt((error**2).mean()) / SD_RAD)

    assert abs(np.mean(scores) - 1) < 0.15
    assert np.mean(shares) < 0.7


def test_a_still_segment_is_averaged_and_its_errors_hang_together() -> None:
    rng = np.random.default_rng(6)
    time_s = np.arange(150) / 30
    measured = Rotation.from_rotvec(rng.normal(0, SD_RAD, (150, 3)))
    found = smoothed(time_s, measured, np.tile(SD_RAD**2 * np.eye(3), (150, 1, 1)))

    assert np.sqrt((found.rotation.as_rotvec() ** 2).mean()) < 0.35 * SD_RAD
    assert found.correlation_s > 0.2


def test_across_a_long_gap_neither_side_pulls_the_other() -> None:
    rng = np.random.default_rng(7)
    time_s = np.concatenate([np.arange(60) / 30, 30 + np.arange(60) / 30])
    true = np.where(time_s < 10, 0.0, 1.0)
    angle = true + rng.normal(0, SD_RAD, 120)
    found = smoothed(
        time_s, Rotation.from_rotvec(np.outer(angle, [0, 1, 0])), np.tile(SD_RAD**2 * np.eye(3), (120, 1, 1))
    )

    assert len(found.rotation) == 120, "no moment is added"
    assert np.abs(found.rotation.as_rotvec()[:, 1] - true).max() < 3 * SD_RAD
