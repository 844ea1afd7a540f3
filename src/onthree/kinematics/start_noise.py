"""How unquiet a segment lies before it starts: noise of measuring, which may hide, and breath and trembling hands.

A picture in which nothing moves may be written once and shown again and again: its noise is then frozen, and comes back
when something moves. So what measuring is said to be off by is a floor under what the rest shows. Breath lasts longer
than most rests: what a rest shows of it is weighed over several lengths of time.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import helmert, solve_triangular
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped]

from onthree.kinematics.segment_motion import FloatArray

_TREMBLING_S, _BREATH_S = (0.05, 0.3), 1.0
_LASTING_S = (*_TREMBLING_S, _BREATH_S)
"""Within what time unrest, which goes up and down smoothly, stays alike; breath comes beside any trembling of hands."""
_UNREST_RATIOS = np.array([0.0, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0])
"""Variances of unrest, in those of the noise of measuring, that are tried on the rest."""
_MOST_FITTED = 100
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
    ``_LASTING_S``; ``hidden_ratio`` what stood still in the rest, so that its whole level is off by it.
    """

    root: FloatArray
    independent_ratio: float
    lasting: FloatArray
    hidden_ratio: float

    @property
    def sd_ratio(self) -> float:
        """One standard deviation in units of the noise."""
        return float(np.sqrt(self.independent_ratio + self.lasting.sum()))

    def in_units(self, displacement: FloatArray) -> FloatArray:
        """Displacements (n, 3) in units of the noise."""
        units: FloatArray = np.asarray(np.linalg.solve(self.root, displacement.T).T, dtype=np.float64)
        return units

    def sd_rad_or_m(self, direction: FloatArray, time_s: FloatArray, weights: FloatArray) -> float:
        """Standard deviation [rad or m] along a direction (3) of a sum of moments (n) with their weights, from rest.

        It is what is to be expected beyond the rest, weighed over all that the rest leaves open.
        """
        used = weights != 0
        weights, apart_s = weights[used], np.abs(time_s[used, None] - time_s[used])
        variance = self.independent_ratio * float(weights @ weights) + self.hidden_ratio
        for lasting_s, ratio in zip(_LASTING_S, self.lasting, strict=True):
            variance += ratio * float(weights @ _alike(apart_s, lasting_s) @ weights)
        unit = np.linalg.norm(self.root.T @ direction) / np.linalg.norm(direction)
        return float(unit * np.sqrt(variance))


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
    with threadpool_limits(1):  # small matrices: threads cost more than they save, above all where much else runs
        variances = _fitted(time_s[some], units[some])
    shown_ratio, breath_ratio = float(variances.sum()), float((variances * _UNREST_RATIOS).sum())
    lasting = np.append((variances * _UNREST_RATIOS[:, None]).sum(axis=(1, 2)), breath_ratio)
    hidden_ratio = max(0.0, floor_ratio - shown_ratio - float(lasting.sum()))
    return RestNoise(root, max(shown_ratio, floor_ratio, _ROUNDING), lasting, hidden_ratio)


def _fitted(time_s: FloatArray, units: FloatArray) -> FloatArray:
    """Variances of the noise beside each kind of unrest, times how likely that is.

    All (lengths of trembling, its sizes, sizes of breath), by restricted likelihood: on contrasts that no level
    touches, turned so that breath is independent there.
    """
    contrasts = helmert(len(time_s))
    left, apart_s = contrasts @ units, np.abs(time_s[:, None] - time_s)
    breath = contrasts @ _alike(apart_s, _BREATH_S) @ contrasts.T
    scores, variances = [], []
    for lasting_s, ratio in product(_TREMBLING_S, _UNREST_RATIOS):
        trembling = ratio * contrasts @ _alike(apart_s, lasting_s) @ contrasts.T
        lower = np.linalg.cholesky(np.eye(len(left)) + trembling)
        half = solve_triangular(lower, breath, lower=True)
        spread, axes = np.linalg.eigh(solve_triangular(lower, half.T, lower=True))
        expected = 1 + _UNREST_RATIOS[:, None] * np.maximum(spread, 0.0)
        white = axes.T @ solve_triangular(lower, left, lower=True)
        size = np.maximum(((white**2).sum(axis=1) / expected).sum(axis=1) / left.size, _ROUNDING)
        volume = 2 * float(np.log(np.diag(lower)).sum()) + np.log(expected).sum(axis=1)
        scores.append(-left.size / 2 * np.log(size) - 3 / 2 * volume)
        variances.append(size)
    shape = (len(_TREMBLING_S), len(_UNREST_RATIOS), len(_UNREST_RATIOS))
    weights = np.exp(np.array(scores) - np.max(scores)).reshape(shape)
    likely: FloatArray = weights * np.array(variances).reshape(shape) / weights.sum()
    return likely


def _alike(apart_s: FloatArray, lasting_s: float) -> FloatArray:
    """How alike smooth unrest is at moments so far apart, 1 to 0."""
    alike: FloatArray = np.exp(-((apart_s / lasting_s) ** 2) / 2)
    return alike
