"""Smoothing of rotations: the motion a dense solution finds, errors as large as stated, nothing between gaps."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.capture.smoothing import Smoothed, smoothed

SD_RAD = np.radians(0.1)
SD_M = 0.001


def turned_only(time_s: np.ndarray, measured: Rotation) -> Smoothed:
    """Rotations with errors of 0.1 degrees, smoothed; the place stays."""
    covariance = np.diag([SD_RAD**2] * 3 + [SD_M**2] * 3)
    return smoothed(time_s, measured, np.zeros((len(time_s), 3)), np.tile(covariance, (len(time_s), 1, 1)))


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
    found = turned_only(time_s, Rotation.from_rotvec(np.outer(angle, [0, 0, 1])))

    np.testing.assert_allclose(
        found.rotation.as_rotvec()[:, 2], dense(time_s, angle, found.wander_rad_s, SD_RAD), atol=2e-6
    )


def dense(time_s: np.ndarray, measured: np.ndarray, wander: float, sd: float) -> np.ndarray:
    """The mean of a motion of known wander, measured (n) with independent errors."""
    early = np.minimum.outer(time_s, time_s) - time_s[0]
    late = np.maximum.outer(time_s, time_s) - time_s[0]
    prior = wander**2 * early**2 * (3 * late - early) / 6
    known = np.stack([np.ones(len(time_s)), time_s], axis=1)
    noisy = np.linalg.inv(prior + sd**2 * np.eye(len(time_s)))
    level = np.linalg.solve(known.T @ noisy @ known, known.T @ noisy @ measured)
    return known @ level + prior @ noisy @ (measured - known @ level)


def test_errors_last_as_long_as_those_of_the_dense_solution() -> None:
    rng = np.random.default_rng(9)
    time_s = np.arange(240) / 60
    found = turned_only(
        time_s,
        Rotation.from_rotvec(np.outer(wandering(rng, time_s, 0.5) + rng.normal(0, SD_RAD, 240), [0, 0, 1])),
    )
    early, late = (pick.outer(time_s, time_s) for pick in (np.minimum, np.maximum))
    prior = found.wander_rad_s**2 * early**2 * (3 * late - early) / 6 + 1e3 * (1 + np.outer(time_s, time_s))
    left = np.linalg.inv(np.linalg.inv(prior) + np.eye(240) / SD_RAD**2)
    correlation = left[120] / np.sqrt(left[120, 120] * np.diag(left))
    faded_s = np.interp(-np.exp(-1), -correlation[120:], time_s[120:] - time_s[120])

    assert found.correlation_s == pytest.approx(faded_s, rel=0.1)
    assert found.covariance[120, 2, 2] == pytest.approx(left[120, 120], rel=0.01)


def test_the_place_is_the_dense_solution_too() -> None:
    rng = np.random.default_rng(5)
    time_s = np.sort(rng.uniform(0, 3, 60))
    place_m = wandering(rng, time_s, 0.1) + rng.normal(0, SD_M, 60)
    covariance = np.tile(np.diag([SD_RAD**2] * 3 + [SD_M**2] * 3), (60, 1, 1))
    found = smoothed(time_s, Rotation.identity(60), np.outer(place_m, [1, 0, 0]), covariance)

    np.testing.assert_allclose(found.place_m[:, 0], dense(time_s, place_m, found.place_wander_m_s, SD_M), atol=2e-6)


def test_what_is_known_of_the_place_helps_the_rotation_whose_error_goes_along() -> None:
    """A segment that only shifts: errors of depth and tilt that are one error leave the steady place, and the tilt."""
    rng = np.random.default_rng(8)
    time_s = np.arange(150) / 30
    one = rng.normal(0, 1, 150)
    tilt = 0.9 * SD_RAD * one + 0.1 * rng.normal(0, SD_RAD, 150)
    place_m = np.outer(SD_M * one, [0, 0, 1])
    tilting = wandering(rng, time_s, 2.0)
    covariance = np.diag([SD_RAD**2] * 3 + [SD_M**2] * 3)
    covariance[0, 5] = covariance[5, 0] = 0.9 * SD_RAD * SD_M
    measured = Rotation.from_rotvec(np.outer(tilting + tilt, [1, 0, 0]))
    found = smoothed(time_s, measured, place_m, np.tile(covariance, (150, 1, 1)))
    apart = turned_only(time_s, measured)
    true = Rotation.from_rotvec(np.outer(tilting, [1, 0, 0]))
    off = [np.sqrt(((each.rotation * true.inv()).magnitude() ** 2).mean()) for each in (found, apart)]

    assert off[0] < 0.6 * off[1]


def test_errors_are_as_large_as_stated_and_smaller_than_measured() -> None:
    scores, shares = [], []
    for seed in range(8):
        rng = np.random.default_rng(seed)
        time_s = np.arange(200) / 30
        true = Rotation.from_rotvec(np.stack([wandering(rng, time_s, 0.4) for _ in range(3)], axis=1))
        measured = Rotation.from_rotvec(rng.normal(0, SD_RAD, (200, 3))) * true
        found = turned_only(time_s, measured)
        error = (found.rotation * true.inv()).as_rotvec()
        scores.append(np.einsum("ni,nij,nj->n", error, np.linalg.inv(found.covariance[:, :3, :3]), error).mean() / 3)
        shares.append(np.sqrt((error**2).mean()) / SD_RAD)

    assert abs(np.mean(scores) - 1) < 0.15
    assert np.mean(shares) < 0.7


def test_a_still_segment_is_averaged_and_its_errors_hang_together() -> None:
    rng = np.random.default_rng(6)
    time_s = np.arange(150) / 30
    measured = Rotation.from_rotvec(rng.normal(0, SD_RAD, (150, 3)))
    found = turned_only(time_s, measured)

    assert np.sqrt((found.rotation.as_rotvec() ** 2).mean()) < 0.35 * SD_RAD
    assert found.correlation_s > 0.2


def test_across_a_long_gap_neither_side_pulls_the_other() -> None:
    rng = np.random.default_rng(7)
    time_s = np.concatenate([np.arange(60) / 30, 30 + np.arange(60) / 30])
    true = np.where(time_s < 10, 0.0, 1.0)
    angle = true + rng.normal(0, SD_RAD, 120)
    found = turned_only(time_s, Rotation.from_rotvec(np.outer(angle, [0, 1, 0])))

    assert len(found.rotation) == 120, "no moment is added"
    assert np.abs(found.rotation.as_rotvec()[:, 1] - true).max() < 3 * SD_RAD
