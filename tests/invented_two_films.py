"""One invented run before two cameras on opposite sides, each with its own clock and rate: corners with noise."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.poses import Poses
from onthree.capture.rig import Rig
from onthree.capture.tags import Sightings
from onthree.kinematics.segment_motion import Clock
from tests.invented_film import seen, true_rig

FloatArray = NDArray[np.float64]

START_S = 1.5
"""Still until then."""
OPPOSITE = Poses(
    (Rotation.from_euler("y", 165, degrees=True) * Rotation.from_euler("xz", [6, -4], degrees=True)).as_matrix()[None],
    np.array([[0.5, 0.1, 4.3]]),
)
"""The second camera in the axes of the first: on the other side of the athlete."""


@dataclass(frozen=True, eq=False)
class TwoFilms:
    """The rig, sightings of both films on their own clocks, and the true poses by film and segment in its camera."""

    rig: Rig
    clock: Clock
    sightings: tuple[Sightings, Sightings]
    bodies: tuple[dict[str, Poses], dict[str, Poses]]


def run(time_s: FloatArray, seed: int = 0) -> dict[str, Poses]:
    """Trunk and head in the first camera's axes: still, then the trunk rolls, the head follows 60 ms later."""
    rng = np.random.default_rng(seed)
    speeds, phases = rng.uniform(0.6, 2.2, 6), rng.uniform(-0.4, 0.4, 6)

    def waves(start_s: float, sizes: list[float], part: slice) -> FloatArray:
        since_s = np.maximum(time_s - start_s, 0.0)[:, None]
        grown = since_s**3 / (since_s**3 + 0.5)
        turned: FloatArray = grown * sizes * np.sin(speeds[part] * since_s + phases[part])
        return turned

    trunk = Rotation.from_euler("x", np.pi) * Rotation.from_euler("yxz", waves(START_S, [0.8, 0.3, 0.2], slice(3)))
    head = trunk * Rotation.from_euler("ZXY", waves(START_S + 0.06, [0.3, 0.2, 0.4], slice(3, 6)))
    place_m = np.array([0.1, 0.25, 2.2]) + 0.1 * waves(START_S, [1, 0.7, 0.5], slice(3))
    return {
        "head": Poses(head.as_matrix(), place_m + trunk.apply([0.0, 0.38, 0.0])),
        "trunk": Poses(trunk.as_matrix(), place_m),
    }


def frame_times(rng: np.random.Generator, long_s: float, rate_hz: float) -> FloatArray:
    """Times of frames as phones write them: the first at zero, steps a millisecond uneven."""
    time_s = np.arange(0, long_s, 1 / rate_hz)
    time_s[1:] += rng.normal(0, 0.001, len(time_s) - 1)
    return time_s


def two_films(
    rng: np.random.Generator,
    long_s: float = 7.0,
    rates_hz: tuple[float, float] = (30.0, 60.0),
    clock: Clock | None = None,
    sd_px: float = 0.05,
) -> TwoFilms:
    """Two films of one run; time of the first = offset + time of the second x (1 + rate)."""
    clock, rig = clock or Clock(0.137, None, 20.0), true_rig()
    times = [frame_times(rng, long_s, rate_hz) for rate_hz in rates_hz]
    first = run(times[0])
    there = run(clock.offset_s + times[1] * (1 + 1e-6 * clock.rate_ppm))
    second = {name: OPPOSITE.inverse()[np.zeros(len(times[1]), int)].after(body) for name, body in there.items()}
    sightings = tuple(seen(rig, each, time_s, sd_px, rng) for each, time_s in zip((first, second), times, strict=True))
    return TwoFilms(rig, clock, (sightings[0], sightings[1]), (first, second))
