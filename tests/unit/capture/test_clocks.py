"""The clocks of two films from the motion both show: how well, how honestly, and when it cannot be told."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from scipy.stats import binom

from onthree.capture.clocks import Agreement, ClockError, Track, agreement, clock_beliefs
from onthree.capture.poses import Poses
from onthree.capture.smoothing import smoothed
from onthree.kinematics.segment_motion import Clock
from tests.invented_two_films import OPPOSITE, frame_times, run

FloatArray = NDArray[np.float64]
Run = Callable[[FloatArray], dict[str, Poses]]

SD_RAD = np.radians(0.1)
ALONG = 0.3
"""Correlation of the error of one frame with that of the next."""
CASES = 40
OTHER_AXES = Rotation.from_rotvec([0.02, 0.05, -0.04])
"""The second film need not give a segment the same axes."""


def track(rng: np.random.Generator, time_s: FloatArray, true: Rotation) -> Track:
    """What a film makes of true rotations: errors of a tenth of a degree that go along from frame to frame."""
    error = rng.normal(0, SD_RAD, (len(time_s), 3))
    for index in range(1, len(error)):
        error[index] = ALONG * error[index - 1] + np.sqrt(1 - ALONG**2) * error[index]
    measured = Rotation.from_rotvec(error) * true
    covariance = np.tile(np.diag([SD_RAD**2] * 3 + [1e-6] * 3), (len(time_s), 1, 1))
    smooth = smoothed(time_s, measured, np.zeros((len(time_s), 3)), covariance * (1 + ALONG) / (1 - ALONG))
    return Track(time_s, measured, covariance[:, :3, :3], smooth.rotation, smooth.covariance[:, :3, :3])


def tracks(
    rng: np.random.Generator, of: Run, long_s: float, rate_hz: float = 30.0, clock: Clock | None = None
) -> dict[str, Track]:
    """The tracks of a film; with a clock it is the second one's, on the other side."""
    time_s = frame_times(rng, long_s, rate_hz)
    if clock is None:
        return {name: track(rng, time_s, Rotation.from_matrix(body.rotation)) for name, body in of(time_s).items()}
    back = Rotation.from_matrix(OPPOSITE.rotation[0]).inv()
    there = of(clock.offset_s + time_s * (1 + 1e-6 * clock.rate_ppm))
    return {
        name: track(rng, time_s, back * Rotation.from_matrix(body.rotation) * OTHER_AXES)
        for name, body in there.items()
    }


def test_offsets_of_many_runs_are_within_a_millisecond_and_as_sure_as_stated() -> None:
    """Rates of 30 and 60 a second, clocks 20 ppm apart: of 40 bands of 95 %, 35 to 40 hold with a chance of 95 %."""
    rates_hz = [(30.0, 60.0), (60.0, 30.0), (30.0, 30.0), (60.0, 24.0)]
    off_s, held = [], []
    for seed in range(CASES):
        rng = np.random.default_rng(seed)
        clock = Clock(0.137 if seed == 0 else rng.uniform(-0.8, 0.8), None, 20.0)
        first_hz, second_hz = rates_hz[seed % len(rates_hz)]

        def of(time_s: FloatArray, seed: int = seed) -> dict[str, Poses]:
            return {"head": run(time_s, seed)["head"]}

        found = agreement(tracks(rng, of, 5.0, first_hz), tracks(rng, of, 5.0, second_hz, clock)).clock
        assert found.offset_sd_s is not None
        off_s.append(found.offset_s - clock.offset_s)
        without_pictures_s = np.sqrt(found.offset_sd_s**2 - clock_beliefs().picture_sd_s ** 2)
        held.append(abs(off_s[-1]) < 1.96 * without_pictures_s)
    least, most = binom.interval(0.95, CASES, 0.95)

    assert np.abs(off_s).max() < 0.0015
    assert np.sqrt(np.mean(np.square(off_s))) < 0.001
    assert least <= sum(held) <= most


def test_turns_between_cameras_and_axes_are_found() -> None:
    rng = np.random.default_rng(1)
    found = agreement(tracks(rng, run, 7.0), tracks(rng, run, 7.0, 60.0, Clock(0.137)))
    turn = Rotation.from_matrix(OPPOSITE.rotation[0])

    assert np.degrees((found.turn * turn.inv()).magnitude()) < 0.1
    for name in ("head", "trunk"):
        assert np.degrees((found.segment_turns[name] * OTHER_AXES).magnitude()) < 0.1
    assert found.overlap_s == pytest.approx((0.137, 7.0), abs=0.1)
    assert np.degrees(found.unsteady_rad) < 0.2


def test_the_rate_is_found_when_the_films_are_long() -> None:
    rng = np.random.default_rng(2)

    def of(time_s: FloatArray) -> dict[str, Poses]:
        return {"head": run(time_s)["head"]}

    found = agreement(tracks(rng, of, 60.0), tracks(rng, of, 60.0, 30.0, Clock(0.2, None, 80.0)))

    assert found.clock.rate_ppm == pytest.approx(80, abs=12)
    assert found.sd_s(np.array([30.0]))[0] < found.sd_s(np.array([0.0]))[0]


def test_a_clock_from_elsewhere_counts_with_its_spread() -> None:
    rng = np.random.default_rng(3)
    films = tracks(rng, run, 6.0), tracks(rng, run, 6.0, 30.0, Clock(0.137))
    alone = agreement(*films).clock
    loose = agreement(*films, Clock(0.145, 0.01)).clock
    tight = agreement(*films, Clock(0.1395, 1e-6)).clock

    assert loose.offset_s == pytest.approx(alone.offset_s, abs=1e-4)
    assert tight.offset_s == pytest.approx(0.1395, abs=1e-5)


def still(time_s: FloatArray) -> dict[str, Poses]:
    """Nothing moves."""
    return run(0 * time_s)


def swaying(time_s: FloatArray) -> dict[str, Poses]:
    """The same again every two seconds."""
    waves = np.stack([0.4 * np.sin(np.pi * time_s), 0.2 * np.cos(np.pi * time_s), 0 * time_s], axis=1)
    return {"head": Poses(Rotation.from_rotvec(waves).as_matrix(), np.zeros((len(time_s), 3)))}


def of_other_seed(time_s: FloatArray) -> dict[str, Poses]:
    """Another run."""
    return run(time_s, 5)


def only_trunk(time_s: FloatArray) -> dict[str, Poses]:
    """A film that never shows the head."""
    return {"trunk": run(time_s)["trunk"]}


def only_head(time_s: FloatArray) -> dict[str, Poses]:
    """A film that never shows the trunk."""
    return {"head": run(time_s)["head"]}


@pytest.mark.parametrize(
    ("first", "second", "offset_s", "says"),
    [
        (still, still, 0.1, "too little motion"),
        (swaying, swaying, 0.3, "it may be .* s or .* s"),
        (run, of_other_seed, 0.1, "not show the same motion"),
        (run, run, 9.0, "not show the same motion|no motion together"),
        (only_trunk, only_head, 0.1, "no segment is seen in both films"),
    ],
    ids=["still", "repeats itself", "another run", "no overlap", "no common segment"],
)
def test_what_cannot_be_told_is_said(first: Run, second: Run, offset_s: float, says: str) -> None:
    rng = np.random.default_rng(4)
    with pytest.raises(ClockError, match=says):
        agreement(tracks(rng, first, 7.0), tracks(rng, second, 7.0, 30.0, Clock(offset_s)))


def test_a_camera_that_was_kicked_is_seen() -> None:
    rng = np.random.default_rng(5)
    clock = Clock(0.137)
    time_s = frame_times(rng, 7.0, 30.0)
    kicked = Rotation.from_rotvec(np.outer(time_s > 4, [0, 0.07, 0.02]))
    back = Rotation.from_matrix(OPPOSITE.rotation[0]).inv()
    second = {
        name: track(rng, time_s, kicked * back * Rotation.from_matrix(body.rotation))
        for name, body in run(clock.offset_s + time_s).items()
    }
    found: Agreement = agreement(tracks(rng, run, 7.0), second)

    assert np.degrees(found.unsteady_rad) > 1
