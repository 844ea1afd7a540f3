"""Smooths measured poses: the likeliest motion whose velocity wanders as much as the film itself says.

measured = exp(error) true for the rotation, measured = true + error for the place, with both errors of known covariance
together, in fixed axes. Angular velocity and velocity are random walks (white acceleration of spectral density
wander^2, in rad/s^1.5 and m/s^1.5); the wanders taken are those that make the film likeliest. All moments are solved at
once, as a banded system that is linearised again until it stands. Moments without a measurement are no part of it:
nothing is interpolated.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

from onthree.kinematics.bands import SMOOTH_CORRELATION_RAD

FloatArray = NDArray[np.float64]

WANDER_RAD_S = (0.005, 50.0)
"""In rad/s^1.5: from a segment held still to one that is thrown about."""
WANDER_M_S = (0.001, 20.0)
"""The same for the place, in m/s^1.5."""
ROUNDS = 3


@dataclass(frozen=True, eq=False)
class Smoothed:
    """Rotations (n), places (n, 3) [m], how fast both change (n, 6) [rad/s, m/s], and what is still unknown.

    ``covariance`` (n, 6, 6) [rad, m] of rotation and place together; ``correlation_s`` and ``place_correlation_s`` how
    long each error lasts; ``wander_rad_s`` and ``place_wander_m_s`` how much the velocities wander.
    """

    rotation: Rotation
    place_m: FloatArray
    speed: FloatArray
    covariance: FloatArray
    correlation_s: float
    place_correlation_s: float
    wander_rad_s: float
    place_wander_m_s: float


@dataclass(frozen=True, eq=False)
class _Chain:
    """Block-tridiagonal equations: blocks on the diagonal (n, s, s), beside it (n - 1, s, s), right side (n, s)."""

    diagonal: FloatArray
    beside: FloatArray
    right: FloatArray
    cost: np.float64
    log_noise: np.float64


def smoothed(time_s: FloatArray, measured: Rotation, place_m: FloatArray, covariance: FloatArray) -> Smoothed:
    """The smoothed motion of poses measured at ``time_s`` (n) with errors of ``covariance`` (n, 6, 6) [rad, m]."""
    turned = (measured[1:] * measured[:-1].inv()).as_rotvec()
    log_rad_s, log_m_s = (np.log(ends) for ends in (WANDER_RAD_S, WANDER_M_S))
    wander_rad_s = np.exp(_likeliest(time_s, turned, covariance[:, :3, :3], log_rad_s))
    wander_m_s = np.exp(_likeliest(time_s, np.diff(place_m, axis=0), covariance[:, 3:, 3:], log_m_s))
    wander = np.repeat([wander_rad_s, wander_m_s], 3)
    information = np.linalg.inv(covariance).astype(float)
    here, here_m, speed = measured, place_m, np.zeros((len(time_s), 6))
    for _ in range(ROUNDS):
        off = np.concatenate([(measured * here.inv()).as_rotvec(), place_m - here_m], axis=1)
        moved = np.concatenate([(here[1:] * here[:-1].inv()).as_rotvec(), np.diff(here_m, axis=0)], axis=1)
        chain = _chain(time_s, off, moved, speed, information, wander)
        change = cho_solve_banded((cholesky_banded(_banded(chain)), False), chain.right.reshape(-1)).reshape(-1, 12)
        here = Rotation.from_rotvec(change[:, :3]) * here
        here_m, speed = here_m + change[:, 3:6], speed + change[:, 6:]
    still_unknown, with_next = _covariances(chain)
    return Smoothed(
        rotation=here,
        place_m=here_m,
        speed=speed,
        covariance=still_unknown,
        correlation_s=_correlation_s(time_s, still_unknown[:, :3, :3], with_next[:, :3, :3]),
        place_correlation_s=_correlation_s(time_s, still_unknown[:, 3:, 3:], with_next[:, 3:, 3:]),
        wander_rad_s=float(wander_rad_s),
        place_wander_m_s=float(wander_m_s),
    )


def _likeliest(time_s: FloatArray, moved: FloatArray, covariance: FloatArray, log_ends: FloatArray) -> np.float64:
    """The logarithm of the wander that makes steps (n - 1, 3) likeliest, if errors have a covariance (n, 3, 3)."""
    still = np.zeros((len(time_s), 3))
    information = np.linalg.inv(covariance).astype(float)

    def unlikeliness(log_wander: np.float64) -> np.float64:
        chain = _chain(time_s, still, moved, still, information, np.full(3, np.exp(log_wander)))
        factor = cholesky_banded(_banded(chain))
        flat = chain.right.reshape(-1)
        gain = np.dot(flat, cho_solve_banded((factor, False), flat))
        return np.float64(chain.cost - gain + 2 * np.log(factor[-1]).sum() + chain.log_noise)

    bounds = (float(log_ends[0]), float(log_ends[1]))
    return np.float64(minimize_scalar(unlikeliness, bounds=bounds, method="bounded", options={"xatol": 0.05}).x)


def _chain(
    time_s: FloatArray,
    off: FloatArray,
    moved: FloatArray,
    speed: FloatArray,
    information: FloatArray,
    wander: FloatArray,
) -> _Chain:
    """Equations for corrections of d numbers and their speeds: how far they are off (n, d) and moved (n - 1, d)."""
    step_s, count = np.diff(time_s), len(wander)
    wanted = np.stack([moved - speed[:-1] * step_s[:, None], np.diff(speed, axis=0)], axis=1)
    noise = np.stack([step_s**3 / 3, step_s**2 / 2, step_s**2 / 2, step_s], axis=-1).reshape(-1, 2, 2)
    known = np.linalg.inv(noise).astype(float)
    before = np.zeros((len(step_s), 2, 2))
    before[:, 0, 0] = before[:, 1, 1] = -1
    before[:, 0, 1] = -step_s
    known_before = known @ before
    weight = wander**-2
    diagonal = np.zeros((len(time_s), 2 * count, 2 * count))
    diagonal[:, :count, :count] = information
    diagonal[1:] += _by_number(known, weight)
    diagonal[:-1] += _by_number(before.transpose(0, 2, 1) @ known_before, weight)
    right = np.zeros((len(time_s), 2, count))
    right[:, 0] = np.einsum("nij,nj->ni", information, off)
    right[1:] -= known @ wanted * weight
    right[:-1] -= known_before.transpose(0, 2, 1) @ wanted * weight
    cost = np.einsum("ni,nij,nj->", off, information, off)
    cost = cost + np.einsum("nai,nab,nbi,i->", wanted, known, wanted, weight)
    log_noise = count * np.linalg.slogdet(noise)[1].sum() - 2 * len(step_s) * np.log(weight).sum()
    beside = _by_number(known_before.transpose(0, 2, 1), weight)
    return _Chain(diagonal, beside, right.reshape(-1, 2 * count), cost, log_noise)


def _by_number(blocks: FloatArray, weight: FloatArray) -> FloatArray:
    """Blocks (n, 2, 2) for a number and its speed, spread (n, 2d, 2d) over d numbers by their weights."""
    count = len(weight)
    spread: FloatArray = np.einsum("nab,ij->naibj", blocks, np.diag(weight)).reshape(-1, 2 * count, 2 * count)
    return spread


def _banded(chain: _Chain) -> FloatArray:
    """The upper band (2 s, s n) of the symmetric matrix, as scipy wants it."""
    count, size = chain.right.shape
    band = np.zeros((2 * size, count, size))
    for row in range(size):
        for column in range(size):
            if row <= column:
                band[2 * size - 1 + row - column, :, column] = chain.diagonal[:, row, column]
            band[size - 1 + row - column, 1:, column] = chain.beside[:, row, column]
    return band.reshape(2 * size, -1)


def _covariances(chain: _Chain) -> tuple[FloatArray, FloatArray]:
    """Covariance of the numbers at each moment (n, d, d), and with the next moment (n - 1, d, d), speeds left out."""
    count, size = chain.right.shape
    ahead, behind = chain.diagonal.copy(), chain.diagonal.copy()
    for index in range(1, count):
        beside = chain.beside[index - 1]
        ahead[index] -= beside.T @ np.linalg.solve(ahead[index - 1], beside)
        behind[-index - 1] -= chain.beside[-index] @ np.linalg.solve(behind[-index], chain.beside[-index].T)
    covariance = np.linalg.inv(ahead + behind - chain.diagonal).astype(float)
    with_next: FloatArray = -np.linalg.solve(ahead[:-1], chain.beside) @ covariance[1:]
    half = size // 2
    return covariance[:, :half, :half], with_next[:, :half, :half]


def _correlation_s(time_s: FloatArray, covariance: FloatArray, with_next: FloatArray) -> float:
    """The time in which the correlation of errors falls to 1/e, from neighbouring moments.

    Errors of this model are correlated by exp(-x) (cos x + sin x), with x in proportion to the time between them.
    """
    scale = np.sqrt(np.einsum("nii->ni", covariance))
    correlation = np.einsum("nii->ni", with_next) / (scale[1:] * scale[:-1])
    usual = float(np.clip(np.median(correlation), 1e-6, 1 - 1e-6))
    turned_rad = np.linspace(np.pi / 2, 1e-3, 4000)
    fallen = np.exp(-turned_rad) * (np.cos(turned_rad) + np.sin(turned_rad))
    step_rad = np.interp(usual, fallen, turned_rad)
    return float(np.median(np.diff(time_s)) * SMOOTH_CORRELATION_RAD / step_rad)
