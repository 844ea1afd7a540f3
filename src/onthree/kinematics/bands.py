"""The 95 % band of every measure of a phase, by seeded draws of what the truth may have been; and what makes it wide.

One draw turns the measured rotation back by one possible error: noise that lasts as long as it does, plus each
shared error times one number of unit variance. The place of the moving origin is shifted back in the same way, by the
same numbers for the shared errors. Neutral is taken anew in each draw, so its own error is in the band.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import HeadOnTrunk, about_neutral, relative_place_m, relative_rotation
from onthree.kinematics.choices import choices
from onthree.kinematics.measures import NAMES, Phase, measures
from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty, SegmentMotion

NOISE = "noise"
MOSTLY_NOISE = ("path_deg", "peak_speed_deg_s", "_m")
"""Measures of a raw track that noise makes up so much of that no band was found to hold them."""
_TAILS = (0.025, 0.975)
SMOOTH_CORRELATION_RAD = 1.23965
"""Where exp(-x) (cos x + sin x) is 1/e."""
MOMENTS_AT_ONCE = 1_200_000
"""Moments times draws that are held together: a film of ten minutes takes no more memory than one of a minute."""


@dataclass(frozen=True, eq=False)
class Bands:
    """Ends of the 95 % band of m numbers (m), and the share (m, k + 1) of its variance that each source makes.

    ``sources`` names the k shared errors and, last, the noise with all that is not proportional to one of them. NaN
    where a number is unknown, or the errors given do not speak of it (translations). ``peak_s`` holds the earliest and
    latest moment at which 95 % of the draws have the largest turn, if the numbers are the measures of a phase.
    """

    low: FloatArray
    high: FloatArray
    sources: tuple[str, ...]
    share_ratios: FloatArray
    peak_s: tuple[float, float] = (np.nan, np.nan)


def phase_bands(
    motion: SegmentMotion,
    uncertainty: RelativeUncertainty,
    phases: Sequence[Phase],
    rng: np.random.Generator,
    bound_deg: float | None = None,
    neutral_s: tuple[float, float] | None = None,
) -> tuple[Bands, ...]:
    """The bands of the measures (in the order of ``NAMES``) of each phase, all from the same draws.

    Translations have a band where the uncertainty speaks of places. Path, peak speed and translations of a raw track
    are mostly noise and have none: read them of the smoothed one. No measure is below zero, so no band is either.
    """

    def of_every_phase(track: HeadOnTrunk) -> FloatArray:
        found = [measures(track, phase, bound_deg) for phase in phases]
        return np.concatenate([[*one.values, one.moment_s("peak_total_deg")] for one in found])

    drawn = bands(motion, uncertainty, of_every_phase, rng, neutral_s)
    has_place = uncertainty.position_cov_m2 is not None
    has_band = np.array([has_place or not name.endswith("_m") for name in NAMES])
    if not uncertainty.is_smoothed:
        has_band &= np.array([not name.endswith(MOSTLY_NOISE) for name in NAMES])
    found = []
    for number, phase in enumerate(phases):
        peak = number * (len(NAMES) + 1) + len(NAMES)
        part = slice(peak - len(NAMES), peak)
        low = np.where(has_band, np.maximum(drawn.low[part], 0.0), np.nan)
        high = np.where(has_band, np.maximum(drawn.high[part], 0.0), np.nan)
        shares = np.where(has_band[:, None], drawn.share_ratios[part], np.nan)
        peak_s = np.clip([drawn.low[peak], drawn.high[peak]], phase.start_s, phase.end_s)
        found.append(Bands(low, high, drawn.sources, shares, (float(peak_s[0]), float(peak_s[1]))))
    return tuple(found)


def bands(
    motion: SegmentMotion,
    uncertainty: RelativeUncertainty,
    measure: Callable[[HeadOnTrunk], FloatArray],
    rng: np.random.Generator,
    neutral_s: tuple[float, float] | None = None,
) -> Bands:
    """The bands of any numbers (m) taken from head on trunk, by ``rng``.

    A raw track holds its noise, and drawing adds it a second time: a path, a range come out too large twice. The middle
    95 % of the draws, mirrored at the measured value, takes that off once. Of a smoothed track nobody knows how much is
    noise left in and how much motion smoothed away: there the band holds the mirrored one, and the one that is laid
    with its middle on the measured value. Where errors only shift a value all are the same.
    Raises ValueError if the uncertainty is of other moments than the motion.
    """
    if len(uncertainty.noise_cov_rad2) != len(motion.time_s):
        given = f"{len(uncertainty.noise_cov_rad2)} moments of uncertainty"
        raise ValueError(f"{given} given, {len(motion.time_s)} as in the motion expected")
    moving, reference = uncertainty.moving, uncertainty.reference
    relative = relative_rotation(motion, moving, reference)
    place_m = relative_place_m(motion, moving, reference)
    measured = measure(about_neutral(motion, relative, place_m, moving, reference, neutral_s))
    rows, units = [], []
    for count in _draws_at_once(int(choices().draws_count), len(motion.time_s)):
        errors_rad, unit = drawn_errors(uncertainty, motion.time_s, rng, count)
        errors_m = drawn_place_errors(uncertainty, motion.time_s, rng, unit)
        units.append(unit)
        for number in range(count):
            turned = Rotation.from_rotvec(-errors_rad[number]) * relative
            shifted_m = place_m if place_m is None or errors_m is None else place_m - errors_m[number]
            rows.append(measure(about_neutral(motion, turned, shifted_m, moving, reference, neutral_s)))
    drawn = np.array(rows)
    low, high = np.quantile(drawn, _TAILS, axis=0)
    mirrored = 2 * measured - high, 2 * measured - low
    middle = measured - np.median(drawn, axis=0)
    if uncertainty.is_smoothed:
        low, high = np.minimum(low + middle, mirrored[0]), np.maximum(high + middle, mirrored[1])
    else:
        low, high = mirrored
    return Bands(low, high, (*uncertainty.shared_names, NOISE), _share_ratios(drawn, np.concatenate(units)))


def _draws_at_once(draws_count: int, moments_count: int) -> list[int]:
    """How many draws are held together, one number for each time."""
    most = max(1, MOMENTS_AT_ONCE // moments_count)
    return [min(most, draws_count - first) for first in range(0, draws_count, most)]


def drawn_errors(
    uncertainty: RelativeUncertainty, time_s: FloatArray, rng: np.random.Generator, count: int
) -> tuple[FloatArray, FloatArray]:
    """Errors (count, n, 3) [rad] that may have been made, and the unit numbers (count, k) of their shared parts.

    How large the noise of a raw track is, is itself not exactly known, and a range takes it up as it is.
    """
    units = rng.standard_normal((count, len(uncertainty.shared_names)))
    unit = _unit_noise(uncertainty.noise_correlation_s, uncertainty.is_smoothed, time_s, rng, count)
    noise = np.einsum("nij,ncj->cni", _roots(uncertainty.noise_cov_rad2), unit)
    if not uncertainty.is_smoothed:
        sd = choices().noise_sd_ratio
        noise *= np.exp(sd * rng.standard_normal(count) - sd**2)[:, None, None]
    return noise + np.einsum("ck,kni->cni", units, uncertainty.shared_rad), units


def drawn_place_errors(
    uncertainty: RelativeUncertainty, time_s: FloatArray, rng: np.random.Generator, units: FloatArray
) -> FloatArray | None:
    """Errors of the place (count, n, 3) [m] that go with the unit numbers (count, k); None where nothing is known."""
    covariance, shared = uncertainty.position_cov_m2, uncertainty.position_shared_m
    if covariance is None or shared is None:
        return None
    unit = _unit_noise(uncertainty.position_correlation_s, uncertainty.is_smoothed, time_s, rng, len(units))
    noise = np.einsum("nij,ncj->cni", _roots(covariance), unit)
    errors_m: FloatArray = noise + np.einsum("ck,kni->cni", units, shared)
    return errors_m


def _unit_noise(
    correlation_s: float, is_smoothed: bool, time_s: FloatArray, rng: np.random.Generator, count: int
) -> FloatArray:
    """Noise (n, count, 3) of variance one, whose correlation falls to 1/e in the correlation time.

    That of measuring is autoregressive of the first order: exp(-step / correlation time) of it stays. What a smoothed
    track leaves unknown is itself smooth: with white noise and a velocity that is a random walk its spectrum is
    1 / (1 + (frequency / cut-off)^4), whose correlation after a time t is exp(-at) (cos at + sin at).
    """
    fresh = rng.standard_normal((len(time_s), count, 3))
    if correlation_s <= 0:
        return fresh
    steps_s = np.diff(time_s)
    if not is_smoothed:
        for moment, stays in enumerate(np.exp(-steps_s / correlation_s), start=1):
            fresh[moment] = stays * fresh[moment - 1] + np.sqrt(1 - stays**2) * fresh[moment]
        return fresh
    turned_rad = SMOOTH_CORRELATION_RAD * steps_s / correlation_s
    return _oscillating(turned_rad, fresh, rng)


def _oscillating(turned_rad: FloatArray, noise: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Noise (n, count, 3) made smooth: a critically fast oscillator driven by noise, its speed in units of its own sd.

    Each step goes on by an angle of ``turned_rad`` (n - 1).
    """
    cos, sin, fade = np.cos(turned_rad), np.sin(turned_rad), np.exp(-turned_rad)
    kept = fade[:, None, None] * np.stack([cos + sin, np.sqrt(2) * sin, -np.sqrt(2) * sin, cos - sin], -1).reshape(
        -1, 2, 2
    )
    roots = _roots(np.eye(2) - kept @ kept.transpose(0, 2, 1))
    speed = rng.standard_normal(noise.shape[1:])
    for moment, (stays, root) in enumerate(zip(kept, roots, strict=True), start=1):
        before, driven = noise[moment - 1], (noise[moment].copy(), rng.standard_normal(speed.shape))
        noise[moment] = stays[0, 0] * before + stays[0, 1] * speed + root[0, 0] * driven[0] + root[0, 1] * driven[1]
        speed = stays[1, 0] * before + stays[1, 1] * speed + root[1, 0] * driven[0] + root[1, 1] * driven[1]
    return noise


def _roots(covariance: FloatArray) -> FloatArray:
    """Symmetric square roots of matrices (n, d, d); unlike a triangular one, also of a covariance without full rank."""
    variances, axes = np.linalg.eigh(covariance)
    roots: FloatArray = np.einsum("nij,nj,nkj->nik", axes, np.sqrt(np.maximum(variances, 0.0)), axes)
    return roots


def _share_ratios(drawn: FloatArray, units: FloatArray) -> FloatArray:
    """The share of the variance of each drawn number (m, k + 1) that is proportional to each unit number; the rest."""
    centred = drawn - drawn.mean(axis=0)
    variance = (centred**2).sum(axis=0)
    unit = units - units.mean(axis=0)
    explained = (unit.T @ centred) ** 2 / (unit**2).sum(axis=0)[:, None]
    shares = np.divide(explained, variance, out=np.full_like(explained, np.nan), where=variance > 0).T
    return np.column_stack([shares, np.maximum(1.0 - shares.sum(axis=1), 0.0)])
