"""Start lag against smooth starts of known moment, and its band against how often it holds the truth."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.stats import binom

from onthree.kinematics.segment_motion import FloatArray, SegmentMotion
from onthree.kinematics.start_lag import TURNED_BACK, start_lag
from onthree.kinematics.start_noise import MeasuringNoise
from tests.invented_starts import hold_case, lag_of, start_case
from tests.unit.kinematics.recorded import recorded

STILL_S = (0.0, 1.2)
RATE_HZ = 60
TIME_S = np.arange(round(3.6 * RATE_HZ)) / RATE_HZ


def rolled_deg(start_s: float, lasts_s: float = 2.0) -> FloatArray:
    """A roll by 90 degrees with minimum jerk (Flash and Hogan 1985)."""
    share = np.clip((TIME_S - start_s) / lasts_s, 0, 1)
    return 90 * (10 * share**3 - 15 * share**4 + 6 * share**5)


def rolled(start_s: float, chance: np.random.Generator) -> Rotation:
    """Rolled about the long axis, with independent noise of 0.05 degrees about each axis."""
    vector_deg = np.outer(rolled_deg(start_s), (0, 1, 0))
    noise_deg = chance.normal(0, 0.05, (len(TIME_S), 3))
    return Rotation.from_rotvec(np.radians(vector_deg)) * Rotation.from_rotvec(np.radians(noise_deg))


def film(seed: int, lag_s: float, start_s: float = 1.5, lost: slice = slice(0, 0)) -> SegmentMotion:
    chance = np.random.default_rng(seed)
    return recorded(rolled(start_s + lag_s, chance), rolled(start_s, chance), RATE_HZ, lost)


def test_a_positive_lag_is_the_body_first() -> None:
    late, early = (start_lag(film(1, lag_s), STILL_S, TIME_S[-1], 0.0) for lag_s in (0.15, -0.15))

    assert late.lag_s == pytest.approx(0.15, abs=0.03)
    assert late.said.startswith(f"the body first, the head {1000 * late.lag_s:.0f} ms later (95 % band ")
    assert early.lag_s == pytest.approx(-0.15, abs=0.03)
    assert early.said.startswith(f"the head first, the body {-1000 * early.lag_s:.0f} ms later (95 % band ")
    assert late.said.endswith(" ms, by the first degree)"), "alike but for the lag: another pace is not told"


def test_what_the_band_does_not_tell_apart_is_not_told_apart() -> None:
    found = start_lag(film(2, 0.0), STILL_S, TIME_S[-1], 0.0)

    assert found.low_s < 0 < found.high_s
    assert found.said.startswith("who was first is not told apart, the head is ")


def test_the_band_holds_the_lag_about_as_often_as_it_says() -> None:
    """95 times in 100, within what 60 tries can tell; head and body start alike, so it is the lag of their starts."""
    lags_s = np.random.default_rng(6).uniform(-0.1, 0.1, 60)
    found = [start_lag(film(100 + seed, lag_s), STILL_S, TIME_S[-1], 0.0) for seed, lag_s in enumerate(lags_s)]
    held = sum(each.low_s <= lag_s <= each.high_s for each, lag_s in zip(found, lags_s, strict=True))
    errors_s = np.array([each.lag_s for each in found]) - lags_s

    assert held >= binom.ppf(0.001, 60, 0.95)
    assert abs(errors_s.mean()) < 0.005
    assert np.sqrt((errors_s**2).mean()) < 0.010


def test_the_bands_hold_when_each_first_passed_its_sizes() -> None:
    """95 times in 100, within what 60 tries can tell, of every manner; against the signals without noise and unrest."""
    cases = [start_case(seed) for seed in range(40, 100)]
    found = [lag_of(case) for case in cases]
    first = [(each.lag_s - case.first_turn_lag_s, each) for each, case in zip(found, cases, strict=True)]
    later = [(each.later.lag_s - case.later_turn_lag_s, each.later) for each, case in zip(found, cases, strict=True)]

    for off, most_s in ((first, 0.006), (later, 0.004)):
        held = sum(each.low_s <= each.lag_s - off_s <= each.high_s for off_s, each in off)
        assert held >= binom.ppf(0.001, 60, 0.95)
        assert np.median([abs(off_s) for off_s, _ in off]) < most_s
        assert np.median([each.high_s - each.low_s for _, each in off]) < 0.04, "no band is held by being wide"


def test_a_head_that_goes_the_other_way_first_is_said_to() -> None:
    """Pushed back by 4 degrees within 0.25 s and let go, then rolled as the body is: its first degree is the push's."""
    chance = np.random.default_rng(9)
    away_deg = 4 * np.sin(np.pi * np.clip((TIME_S - 1.7) / 0.5, 0, 1)) ** 2
    noise = Rotation.from_rotvec(np.radians(chance.normal(0, 0.05, (len(TIME_S), 3))))
    head_deg = rolled_deg(1.7) - away_deg
    head = Rotation.from_rotvec(np.radians(np.outer(head_deg, (0, 1, 0)))) * noise
    found = start_lag(recorded(head, rolled(1.5, chance), RATE_HZ), STILL_S, TIME_S[-1], 0.0)
    passed_s = [np.interp(1.0, np.abs(each[:110]), TIME_S[:110]) for each in (head_deg, rolled_deg(1.5))]

    assert found.is_turned_back
    assert f"; {TURNED_BACK}" in found.said
    assert found.lag_s == pytest.approx(passed_s[0] - passed_s[1], abs=0.01)
    assert found.low_s <= passed_s[0] - passed_s[1] <= found.high_s


@pytest.mark.parametrize(("share", "said"), [(0.5, "more slowly"), (1.0, ""), (2.0, "more quickly")])
def test_a_lag_that_grows_or_shrinks_is_said_to(share: float, said: str) -> None:
    """A head that is 0.1 s late, and turns by so much of what the body turns."""
    chance = np.random.default_rng(11)
    noise = Rotation.from_rotvec(np.radians(chance.normal(0, 0.05, (len(TIME_S), 3))))
    head = Rotation.from_rotvec(np.radians(np.outer(share * rolled_deg(1.6), (0, 1, 0)))) * noise
    found = start_lag(recorded(head, rolled(1.5, chance), RATE_HZ), STILL_S, TIME_S[-1], 0.0)

    assert found.pace == (f"the head went on {said} than the body" if said else "")
    assert found.said.endswith(found.pace or "by the first degree)")


def test_who_holds_still_does_not_start() -> None:
    found = [lag_of(hold_case(seed)) for seed in range(10)]

    assert all(np.isnan(each.lag_s) for each in found)


def test_a_frozen_picture_does_not_make_the_lag_sure() -> None:
    """Noise that lies still with the body comes back when it moves: what measuring is off by stays the floor."""
    chance = np.random.default_rng(8)
    turned = []
    for start_s in (1.75, 1.5):
        noise_deg = chance.normal(0, 0.05, (len(TIME_S), 3))
        noise_deg[start_s > TIME_S] *= 0.02
        turned.append(Rotation.from_rotvec(np.radians(np.outer(rolled_deg(start_s), (0, 1, 0)) + noise_deg)))
    noise = MeasuringNoise(np.tile(np.radians(0.05) ** 2 * np.eye(3), (len(TIME_S), 1, 1)))
    motion = recorded(turned[0], turned[1], RATE_HZ)
    found = start_lag(motion, STILL_S, TIME_S[-1], 0.0, noise_of={"head": noise, "trunk": noise})

    assert found.low_s <= 0.25 <= found.high_s
    assert found.lag_s == pytest.approx(0.25, abs=0.015)


def test_each_passing_has_its_band() -> None:
    found = start_lag(film(3, 0.1), STILL_S, TIME_S[-1], 0.0)

    for passing, start_s in ((found.head, 1.6), (found.body, 1.5)):
        true_s = np.interp(1.0, rolled_deg(start_s)[:150], TIME_S[:150])
        assert passing.low_s <= true_s <= passing.high_s
        assert passing.at_s == pytest.approx(true_s, abs=0.01)
        assert passing.high_s - passing.low_s < 0.03


def test_clocks_that_disagree_widen_the_band() -> None:
    one, two = (start_lag(film(4, 0.05), STILL_S, TIME_S[-1], sd_s) for sd_s in (0.0, 0.05))

    assert two.lag_s == one.lag_s
    assert two.high_s - two.low_s > 2 * 1.96 * 0.05 > one.high_s - one.low_s


def test_a_start_by_shifting() -> None:
    chance = np.random.default_rng(7)
    position_m = np.zeros((len(TIME_S), 2, 3))
    for column, start_s in enumerate((1.6, 1.5)):
        position_m[:, column, 1] = rolled_deg(start_s) / 90
    position_m += chance.normal(0, 0.0005, position_m.shape)
    motion = recorded(Rotation.identity(len(TIME_S)), rate_hz=RATE_HZ, position_m=position_m)

    assert start_lag(motion, STILL_S, TIME_S[-1], 0.0, by="position").lag_s == pytest.approx(0.1, abs=0.03)
    with pytest.raises(ValueError, match="ask for the start by rotation"):
        start_lag(replace(motion, position_m=None), STILL_S, TIME_S[-1], 0.0, by="position")


def test_who_never_starts_leaves_the_lag_unknown() -> None:
    found = start_lag(film(5, 99.0), STILL_S, TIME_S[-1], 0.0)

    assert np.isnan(found.lag_s)
    assert np.isnan(found.head.at_s)
    assert found.body.at_s == pytest.approx(1.72, abs=0.02)
    assert "unknown" in found.said


def test_a_start_inside_a_gap_is_unknown() -> None:
    found = start_lag(film(5, 0.0, lost=slice(85, 100)), STILL_S, TIME_S[-1], 0.0)

    assert np.isnan(found.lag_s)


def test_a_still_stretch_that_was_not_seen_is_refused() -> None:
    with pytest.raises(ValueError, match="head is seen at 3 moments of the still stretch"):
        start_lag(film(5, 0.0, lost=slice(3, 80)), STILL_S, TIME_S[-1], 0.0)
