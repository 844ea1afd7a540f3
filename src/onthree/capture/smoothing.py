"""Smooths measured rotations: the likeliest motion whose angular velocity wanders as much as the film itself says.

measured = exp(error) true, with the error a small rotation vector of known covariance in fixed axes. The angular speed
is a random walk (white acceleration of spectral density wander^2, in rad/s^1.5); the wander taken is the one that
makes the film likeliest. All moments are solved at once, as a banded system that is linearised again until it stands.
Moments without a measurement are no part of it: nothing is interpolated.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

FloatArray = NDArray[np.float64]

STATE_COUNT = 6
"""Correction of the rotation (3) [rad] and angular velocity (3) [rad/s]."""
LEAST_WANDER, MOST_WANDER = 0.005, 50.0
"""In rad/s^1.5: from a segment held still to one that is thrown about."""
ROUNDS = 3


@dataclass(frozen=True, eq=False)
class Smoothed:
    """Rotations (n), covariance (n, 3, 3) [rad^2] of what is still unknown, its correlation time [s], wander."""

    rotation: Rotation
    covariance_rad2: FloatArray
    correlation_s: float
    wander_rad_s: float


@dataclass(frozen=True, eq=False)
class _Chain:
    """Block-tridiagonal equations: blocks on the diagonal (n, 6, 6), beside it (n - 1, 6, 6), right side (n, 6)."""

    diagonal: FloatArray
    beside: FloatArray
    right: FloatArray
    cost: np.float64
    log_noise: np.float64


def smoothed(time_s: FloatArray, measured: Rotation, covariance_rad2: FloatArray) -> Smoothed:
    """The smoothed motion of rotations measured at ``time_s`` (n) with errors of ``covariance_rad2`` (n, 3, 3)."""
    still = np.zeros((len(time_s), 3))
    information = np.linalg.inv(covariance_rad2).astype(float)

    def unlikeliness(log_wander: np.float64) -> np.float64:
        chain = _chain(time_s, measured, measured, still, information, float(np.exp(log_wander)))
        factor = cholesky_banded(_banded(chain))
        flat = chain.right.reshape(-1)
        gain = np.dot(flat, cho_solve_banded((factor, False), flat))
        return np.float64(chain.cost - gain + 2 * np.log(factor[-1]).sum() + chain.log_noise)

    limits = (float(np.log(LEAST_WANDER)), float(np.log(MOST_WANDER)))
    found = minimize_scalar(unlikeliness, bounds=limits, method="bounded", options={"xatol": 0.05})
    wander_rad_s = float(np.exp(found.x))
    here, speed = measured, still
    for _ in range(ROUNDS):
        chain = _chain(time_s, measured, here, speed, information, wander_rad_s)
        change = cho_solve_banded((cholesky_banded(_banded(chain)), False), chain.right.reshape(-1)).reshape(-1, 6)
        here, speed = Rotation.from_rotvec(change[:, :3]) * here, speed + change[:, 3:]
    covariance, with_next = _covariances(chain)
    return Smoothed(here, covariance, _correlation_s(time_s, covariance, with_next), wander_rad_s)


def _chain(
    time_s: FloatArray,
    measured: Rotation,
    here: Rotation,
    speed: FloatArray,
    information: FloatArray,
    wander_rad_s: float,
) -> _Chain:
    step_s = np.diff(time_s)
    off = (measured * here.inv()).as_rotvec()
    turned = (here[1:] * here[:-1].inv()).as_rotvec() - speed[:-1] * step_s[:, None]
    wanted = np.stack([turned, np.diff(speed, axis=0)], axis=1)
    noise = wander_rad_s**2 * np.stack([step_s**3 / 3, step_s**2 / 2, step_s**2 / 2, step_s], axis=-1).reshape(-1, 2, 2)
    known = np.linalg.inv(noise).astype(float)
    before = np.zeros((len(step_s), 2, 2))
    before[:, 0, 0] = before[:, 1, 1] = -1
    before[:, 0, 1] = -step_s
    known_before = known @ before
    one = np.eye(3)
    diagonal = np.zeros((len(time_s), 6, 6))
    diagonal[:, :3, :3] = information
    diagonal[1:] += _by_axis(known, one)
    diagonal[:-1] += _by_axis(before.transpose(0, 2, 1) @ known_before, one)
    right = np.zeros((len(time_s), 2, 3))
    right[:, 0] = np.einsum("nij,nj->ni", information, off)
    right[1:] -= known @ wanted
    right[:-1] -= known_before.transpose(0, 2, 1) @ wanted
    cost = np.einsum("ni,nij,nj->", off, information, off) + np.einsum("nai,nab,nbi->", wanted, known, wanted)
    log_noise = 3 * np.linalg.slogdet(noise)[1].sum()
    beside = _by_axis(known_before.transpose(0, 2, 1), one)
    return _Chain(diagonal, beside, right.reshape(-1, 6), cost, log_noise)


def _by_axis(blocks: FloatArray, one: FloatArray) -> FloatArray:
    """Blocks (n, 2, 2) for rotation and speed, the same for each axis (n, 6, 6)."""
    spread: FloatArray = np.einsum("nab,ij->naibj", blocks, one).reshape(-1, 6, 6)
    return spread


def _banded(chain: _Chain) -> FloatArray:
    """The upper band (12, 6 n) of the symmetric matrix, as scipy wants it."""
    count = len(chain.diagonal)
    band = np.zeros((2 * STATE_COUNT, count, STATE_COUNT))
    for row in range(STATE_COUNT):
        for column in range(STATE_COUNT):
            if row <= column:
                band[2 * STATE_COUNT - 1 + row - column, :, column] = chain.diagonal[:, row, column]
            band[STATE_COUNT - 1 + row - column, 1:, column] = chain.beside[:, row, column]
    return band.reshape(2 * STATE_COUNT, -1)


def _covariances(chain: _Chain) -> tuple[FloatArray, FloatArray]:
    """Covariance of the rotation at each moment (n, 3, 3), and with the next moment (n - 1, 3, 3)."""
    count = len(chain.diagonal)
    ahead, behind = chain.diagonal.copy(), chain.diagonal.copy()
    for index in range(1, count):
        beside = chain.beside[index - 1]
        ahead[index] -= beside.T @ np.linalg.solve(ahead[index - 1], beside)
        behind[-index - 1] -= chain.beside[-index] @ np.linalg.solve(behind[-index], chain.beside[-index].T)
    covariance = np.linalg.inv(ahead + behind - chain.diagonal).astype(float)
    with_next: FloatArray = -np.linalg.solve(ahead[:-1], chain.beside) @ covariance[1:]
    return covariance[:, :3, :3], with_next[:, :3, :3]


def _correlation_s(time_s: FloatArray, covariance: FloatArray, with_next: FloatArray) -> float:
    """The time in which the correlation of errors falls to 1/e, from neighbouring moments."""
    scale = np.sqrt(np.einsum("nii->ni", covariance))
    correlation = np.einsum("nii->ni", with_next) / (scale[1:] * scale[:-1])
    usual = float(np.clip(np.median(correlation), 1e-6, 1 - 1e-6))
    return float(-np.median(np.diff(time_s)) / np.log(usual))
