"""The 95 % band of head on trunk at each moment, for small errors; the bands of measures come from draws instead."""

import numpy as np
from scipy.spatial.transform import Rotation
from scipy.stats import norm

from onthree.kinematics.angles import HeadOnTrunk, angles_deg
from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty

_STEP_RAD = 1e-5
_TAIL_PROB = 0.975


def half_widths_deg(track: HeadOnTrunk, uncertainty: RelativeUncertainty) -> FloatArray:
    """Half widths (n, 4) of the bands of the three angles and of the total angle [deg], NaN where unknown.

    An error e of the measured rotation, and e0 of neutral, turn head on trunk R by e - R e0, to the first order.
    """
    inside = track.is_seen & (track.time_s >= track.neutral_s[0]) & (track.time_s <= track.neutral_s[1])
    turned = track.rotation.as_matrix()
    back = np.einsum("nij,kj->kni", turned, uncertainty.shared_rad[:, inside].mean(axis=1))
    shared = uncertainty.shared_rad - back
    covariance = uncertainty.noise_cov_rad2 + np.einsum("kni,knj->nij", shared, shared)
    neutral = _noise_of_mean(uncertainty, track.time_s[inside], uncertainty.noise_cov_rad2[inside])
    covariance = covariance + turned @ neutral @ turned.transpose(0, 2, 1)
    slopes = _slopes(track.rotation)
    variance = np.einsum("nai,nij,naj->na", slopes, covariance, slopes)
    half_deg: FloatArray = np.degrees(norm.ppf(_TAIL_PROB) * np.sqrt(np.maximum(variance, 0.0)))
    half_deg[~track.is_seen] = np.nan
    half_deg[:, :3][np.isnan(track.angles_deg)] = np.nan
    return half_deg


def _noise_of_mean(uncertainty: RelativeUncertainty, time_s: FloatArray, noise_cov_rad2: FloatArray) -> FloatArray:
    """The covariance (3, 3) of the mean of noise that fades with its correlation time."""
    correlation_s = uncertainty.noise_correlation_s
    apart_s = np.abs(time_s[:, None] - time_s)
    alike = np.exp(-apart_s / correlation_s).mean() if correlation_s > 0 else 1 / len(time_s)
    mean: FloatArray = noise_cov_rad2.mean(axis=0) * alike
    return mean


def _slopes(rotation: Rotation) -> FloatArray:
    """How the angles and the total (n, 4) change with a small turn about each trunk axis (n, 4, 3)."""
    columns = []
    for axis in np.eye(3):
        ends = [Rotation.from_rotvec(sign * _STEP_RAD * axis) * rotation for sign in (1, -1)]
        angles = [np.radians(angles_deg(end)) for end in ends]
        turned = (angles[0] - angles[1] + np.pi) % (2 * np.pi) - np.pi
        total = ends[0].magnitude() - ends[1].magnitude()
        columns.append(np.column_stack([turned, total]) / (2 * _STEP_RAD))
    return np.stack(columns, axis=-1)
