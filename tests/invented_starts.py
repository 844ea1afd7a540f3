"""Invented starts of head and body whose lag is known, in ways of moving that no estimator was made for; and holds.

Each segment turns about an axis of its own making: with least jerk, as a raised cosine, as a cut-off logistic, as a
ramp of limited jerk, as a beta curve of any power; some are pushed the other way first. White noise of measuring, that
may lie frozen as long as nothing moves, and unrest as of breath and trembling hands lie on top. Nothing here comes from
a source except least jerk (Flash and Hogan 1985, from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation
from scipy.special import betainc

from onthree.kinematics.segment_motion import FloatArray, SegmentMotion
from onthree.kinematics.start_lag import StartLag, start_lag
from onthree.kinematics.start_noise import MeasuringNoise

Way = Callable[[FloatArray], FloatArray]
"""From the share of the time of a motion that has passed (n), below 0 before it, to the share of the way."""


@dataclass(frozen=True, eq=False)
class Case:
    """A motion, its true lags and what is told of it: how alike the two start, noise, and how long it was still.

    ``first_turn_lag_s`` is the head's first passing of one degree less the body's, without noise and unrest;
    ``later_turn_lag_s`` that of five.
    """

    motion: SegmentMotion
    lag_s: float
    still_s: tuple[float, float]
    noise_rad: float
    manner: str
    lasts_s: float
    is_frozen: bool
    first_turn_lag_s: float = np.nan
    later_turn_lag_s: float = np.nan


def least_jerk(part: FloatArray) -> FloatArray:
    """From rest to rest with the least jerk."""
    part = np.clip(part, 0, 1)
    gone: FloatArray = part**3 * (10 - 15 * part + 6 * part**2)
    return gone


def raised_cosine(part: FloatArray) -> FloatArray:
    """Half a wave: acceleration jumps at the start."""
    gone: FloatArray = (1 - np.cos(np.pi * np.clip(part, 0, 1))) / 2
    return gone


def logistic(part: FloatArray) -> FloatArray:
    """A logistic curve cut off where it has hardly begun: it starts at a small speed at once."""
    ends = 1 / (1 + np.exp(5.0))
    gone: FloatArray = (1 / (1 + np.exp(-10 * (np.clip(part, 0, 1) - 0.5))) - ends) / (1 - 2 * ends)
    return gone


def ramp(part: FloatArray, rises: float = 0.25) -> FloatArray:
    """Jerk is limited: acceleration rises and falls in a share of the time, then the speed stays."""
    fine = np.linspace(0, 1, 4001)
    speed = least_cubed(fine / rises) * least_cubed((1 - fine) / rises)
    gone = np.concatenate([[0], np.cumsum((speed[1:] + speed[:-1]) / 2)])
    way: FloatArray = np.interp(np.clip(part, 0, 1), fine, gone / gone[-1])
    return way


def least_cubed(part: FloatArray) -> FloatArray:
    """From 0 to 1 with an acceleration that rises and falls evenly."""
    part = np.clip(part, 0, 1)
    return np.where(part < 0.5, 2 * part**2, 1 - 2 * (1 - part) ** 2)


def beta_of(power: float) -> Way:
    """A curve that starts as that power of time."""
    return lambda part: betainc(power, 3.0, np.clip(part, 0, 1))


def ways(rng: np.random.Generator) -> tuple[Way, ...]:
    """The ways of moving."""
    return least_jerk, raised_cosine, logistic, ramp, beta_of(rng.uniform(2.2, 4.0))


def unrest_rad(time_s: FloatArray, size_deg: float, rng: np.random.Generator) -> FloatArray:
    """Breath, slow trembling and quick trembling about each axis (n, 3) [rad]."""
    turned_deg = np.zeros((len(time_s), 3))
    for low_hz, high_hz, share in ((0.15, 0.4, 1.0), (0.8, 2.0, 0.3), (4.0, 9.0, 0.25)):
        for axis in range(3):
            turned_deg[:, axis] += share * np.sin(2 * np.pi * (rng.uniform(low_hz, high_hz) * time_s + rng.uniform()))
    return np.radians(size_deg * turned_deg)


def start_case(seed: int, manner: str | None = None) -> Case:
    """A start: of ``alike`` manner, at ``other paces``, in ``other ways``, with a head of ``its own`` or ``pushed``."""
    rng = np.random.default_rng((seed, 21))
    manner = manner or str(rng.choice(MANNERS))
    still_s, lag_s = rng.uniform(0.8, 2.5), float(rng.uniform(-0.3, 0.5))
    lasts_s, turned_deg = rng.uniform(0.5, 3.0), rng.uniform(15, 90)
    known = ways(rng)
    body = known[rng.integers(len(known))]
    head = known[rng.integers(len(known))] if manner == "other ways" else body
    head_lasts_s = lasts_s * (1.0 if manner == "alike" else rng.uniform(0.7, 1.4))
    head_deg = turned_deg * (1.0 if manner == "alike" else rng.uniform(0.6, 1.3))
    time_s = np.arange(0, still_s + 0.3 + max(lag_s, 0) + 1.5 * lasts_s, 1 / rng.choice([30, 60]))
    start_s = still_s + 0.1 + max(-lag_s, 0)
    axis = rng.normal(0, 1, 3)
    axis /= np.linalg.norm(axis)
    leans = axis + rng.normal(0, 0.15, 3)
    own_deg, own_lasts_s, own_axis = 0.0, 1.0, np.zeros(3)
    if manner == "its own":
        own_deg, own_lasts_s, own_axis = rng.uniform(2, 8), rng.uniform(0.5, 1.5), rng.normal(0, 0.6, 3)
    pushed_deg = rng.uniform(1, 4) if manner == "pushed" else 0.0

    def turned(at_s: FloatArray) -> dict[str, FloatArray]:
        since_s = np.maximum(at_s - start_s - lag_s, 0)
        away = least_jerk(since_s / 0.25) - least_jerk((since_s - 0.25) / 0.25)
        goes = np.outer(head_deg * head((at_s - start_s - lag_s) / head_lasts_s), leans)
        goes += np.outer(own_deg * least_jerk(since_s / own_lasts_s), own_axis) - np.outer(pushed_deg * away, axis)
        return {"head": goes, "trunk": np.outer(turned_deg * body((at_s - start_s) / lasts_s), axis)}

    fine_s = np.arange(0, time_s[-1], 0.0005)
    sizes_deg = {name: np.linalg.norm(vectors, axis=1) for name, vectors in turned(fine_s).items()}
    first_s, later_s = (
        float(fine_s[(sizes_deg["head"] >= size).argmax()] - fine_s[(sizes_deg["trunk"] >= size).argmax()])
        for size in (1, 5)
    )
    case = _case(time_s, turned(time_s), lag_s, (0.0, still_s), manner, lasts_s, rng)
    return replace(case, first_turn_lag_s=first_s, later_turn_lag_s=later_s)


def lag_of(case: Case, told_ratio: float = 1.0) -> StartLag:
    """The start lag of a case, told what its measuring is off by, times a ratio."""
    noise_rad = told_ratio * case.noise_rad
    noise = MeasuringNoise(np.tile(noise_rad**2 * np.eye(3), (len(case.motion.time_s), 1, 1)))
    until_s = float(case.motion.time_s[-1])
    return start_lag(case.motion, case.still_s, until_s, 0.0, noise_of={"head": noise, "trunk": noise})


MANNERS = ("alike", "other paces", "other ways", "its own", "pushed")


def hold_case(seed: int) -> Case:
    """A hold in which nobody starts: only breath and trembling, of up to 0.3 degrees, and noise."""
    rng = np.random.default_rng((seed, 22))
    time_s = np.arange(0, rng.uniform(5, 10), 1 / rng.choice([30, 60]))
    nothing = {name: np.zeros((len(time_s), 3)) for name in ("head", "trunk")}
    return _case(time_s, nothing, np.nan, (0.0, rng.uniform(0.8, 2.5)), "hold", 0.0, rng, most_unrest_deg=0.3)


def _case(
    time_s: FloatArray,
    vectors_deg: dict[str, FloatArray],
    lag_s: float,
    still_s: tuple[float, float],
    manner: str,
    lasts_s: float,
    rng: np.random.Generator,
    most_unrest_deg: float = 0.1,
) -> Case:
    noise_rad = np.radians(10 ** rng.uniform(-2, -0.7))
    is_frozen = rng.random() < 0.2
    unrest_deg = 0.0 if is_frozen and np.isfinite(lag_s) else rng.uniform(0, most_unrest_deg)
    turned = {}
    for name, vector_deg in vectors_deg.items():
        noise = rng.normal(0, noise_rad, (len(time_s), 3))
        if is_frozen:
            is_resting = np.linalg.norm(vector_deg, axis=1) < 0.02
            noise[is_resting] = noise[0] + 0.1 * noise[is_resting]
        shaken = Rotation.from_rotvec(noise + unrest_rad(time_s, unrest_deg, rng))
        turned[name] = Rotation.from_rotvec(np.radians(vector_deg)) * shaken
    motion = SegmentMotion(
        time_s=time_s,
        segments=("head", "trunk"),
        frame="laboratory",
        frame_from_segment=turned,
        is_valid=np.ones((len(time_s), 2), dtype=bool),
        position_m=None,
        measured_as="invented",
        neutral_s=still_s,
        source_sha256="0" * 64,
    )
    return Case(motion, lag_s, still_s, float(noise_rad), manner, lasts_s, is_frozen)
