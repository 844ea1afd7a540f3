"""How unquiet a segment lies before it starts: noise of measuring, which may hide, and breath and trembling hands.

A picture in which nothing moves may be written once and shown again and again: its noise is then frozen, and comes back
when something moves. So what measuring is said to be off by is a floor under what the rest shows. Breath lasts longer
than most rests: what a rest shows of it is weighed over several lengths of time.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from onthree.kinematics.segment_motion import FloatArray

_LASTING_S = (0.05, 0.3, 1.0)
"""How long unrest may stay alike; between trembling hands and breath."""
_UNREST_RATIOS = (0.0, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0)
"""Variances of unrest, in those of the noise of measuring, that are tried on the rest."""
_MOST_FITTED = 150
"""Of a rest of more moments every second, third and so on tells how long unrest lasts."""
_ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class MeasuringNoise:
    """What measuring a segment is off by: covariance (n, 3, 3) [rad^2 or m^2] in axes of the frame, by moment."""

    covariance: FloatArray


@dataclass(frozen=True, eq=False)
class RestNoise:
    """Noise along three axes where it is alike: units of it are ``root`` (3, 3) of the displacement.

    ``independent_ratio`` is the variance that changes from moment to moment; ``lasting`` those that stay for
    ``_LASTING_S``.
    """

    root: FloatArray
    independent_ratio: float
    lasting: FloatArray

    @property
    def sd_ratio(self) -> float:
        """One standard deviation in units of the noise."""
        return float(np.sqrt(self.independent_ratio + self.lasting.sum()))

    def in_units(self, displacement: FloatArray) -> FloatArray:
        """Displacements (n, 3) in units of the noise."""
        units: FloatArray = np.asarray(np.linalg.solve(self.root, displacement.T).T, dtype=np.float64)
        return units

    def covariance(self, time_s: FloatArray) -> FloatArray:
        """Of moments (n, n), alike along each axis, in units of the noise."""
        apart_s = np.abs(time_s[:, None] - time_s)
        found: FloatArray = self.independent_ratio * np.eye(len(time_s))
        for lasting_s, variance in zip(_LASTING_S, self.lasting, strict=True):
            found += variance * np.exp(-apart_s / lasting_s)
        return found


def rest_noise(time_s: FloatArray, displacement: FloatArray, measuring: FloatArray | None) -> RestNoise:
    """The noise of a rest, displacements (n, 3) about its mean; no less than ``measuring`` (3, 3) where it is given."""
    tiny = np.finfo(float).eps * max(1.0, float(np.abs(displacement).max() ** 2)) * np.eye(3)
    seen = np.cov(displacement, rowvar=False) + tiny
    root = np.asarray(np.linalg.cholesky(seen), dtype=np.float64)
    floor_ratio = 0.0
    if measuring is not None:
        base = np.linalg.cholesky(measuring + tiny)
        half = np.linalg.solve(base, np.linalg.solve(base, seen).T)
        sizes, axes = np.linalg.eigh((half + half.T) / 2)
        root = np.asarray(base @ axes * np.sqrt(np.maximum(sizes, 1.0)), dtype=np.float64)
        floor_ratio = float(np.exp((np.linalg.slogdet(measuring + tiny)[1] - 2 * np.linalg.slogdet(root)[1]) / 3))
    units: FloatArray = np.asarray(np.linalg.solve(root, displacement.T).T, dtype=np.float64)
    some = slice(None, None, -(-len(time_s) // _MOST_FITTED))
    scores, variances = np.array([_fitted_ratio(time_s[some], units[some], *each) for each in _tried_s_ratio()]).T
    weights = np.exp(scores - scores.max())
    weights *= variances / weights.sum()
    ratios = np.array([ratio for _, ratio in _tried_s_ratio()])
    lasting: FloatArray = (weights * ratios).reshape(len(_LASTING_S), -1).sum(axis=1)
    return RestNoise(root, max(float(weights.sum()), floor_ratio, _ROUNDING), lasting)


def _tried_s_ratio() -> list[tuple[float, float]]:
    return [(lasting_s, ratio) for lasting_s in _LASTING_S for ratio in _UNREST_RATIOS]


def _fitted_ratio(time_s: FloatArray, units: FloatArray, lasting_s: float, ratio: float) -> tuple[float, float]:
    """Restricted log likelihood of one kind of unrest, the level left free, and the variance of the noise beside it."""
    apart_s = np.abs(time_s[:, None] - time_s)
    covariance = np.eye(len(time_s)) + ratio * np.exp(-apart_s / lasting_s)
    lower = np.linalg.cholesky(covariance)
    white = solve_triangular(lower, np.column_stack([np.ones(len(time_s)), units]), lower=True)
    level, left = white[:, 0], white[:, 1:]
    length = float(level @ level)
    left = left - np.outer(level, level @ left / length)
    freedom = 3 * (len(time_s) - 1)
    size = max(float((left**2).sum()) / freedom, _ROUNDING)
    volume = 2 * float(np.log(np.diag(lower)).sum()) + float(np.log(length))
    return -freedom / 2 * np.log(size) - 3 / 2 * volume, size
