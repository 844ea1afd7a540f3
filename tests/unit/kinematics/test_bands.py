"""Bands against noise of known correlation, and against how often they hold the truth."""

import tracemalloc

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.stats import binom

from onthree.kinematics.angles import HeadOnTrunk, head_on_trunk
from onthree.kinematics.bands import SMOOTH_CORRELATION_RAD, bands, drawn_errors, phase_bands
from onthree.kinematics.measures import NAMES, Phase
from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty
from tests.unit.kinematics.recorded import about, recorded, uncertain

COUNT, RATE_HZ = 90, 30.0
TIME_S = np.arange(COUNT) / RATE_HZ
TRUE_DEG = np.zeros((COUNT, 3))
TRUE_DEG[30:, 0] = 8 * np.sin(np.pi * (TIME_S[30:] - 1) / 2) ** 2
PHASE = Phase("lift", 1.0, 2.96)


def test_drawn_noise_is_autoregressive() -> None:
    """Theory of the first order: variance as given, correlation exp(-lag / correlation time), uneven steps too."""
    time_s = np.cumsum(np.tile((0.01, 0.03), 50))
    covariance = np.array([[4.0, 1.0, 0.0], [1.0, 2.0, 0.5], [0.0, 0.5, 1.0]]) * 1e-6
    uncertainty = uncertain(100, noise_cov_rad2=np.tile(covariance, (100, 1, 1)), noise_correlation_s=0.05)
    drawn, units = drawn_errors(uncertainty, time_s, np.random.default_rng(8), 20000)
    apart_s = time_s[60] - time_s[57]

    assert units.shape == (20000, 0)
    assert np.cov(drawn[:, 57], rowvar=False) == pytest.approx(covariance, rel=0.06, abs=4e-8)
    across = drawn[:, 57].T @ drawn[:, 60] / 20000
    assert across == pytest.approx(covariance * np.exp(-apart_s / 0.05), abs=1e-7)


def test_drawn_noise_without_correlation_time_is_independent() -> None:
    drawn, _ = drawn_errors(uncertain(3), np.arange(3.0), np.random.default_rng(9), 20000)

    assert np.corrcoef(drawn[:, :, 0], rowvar=False) == pytest.approx(np.eye(3), abs=0.03)


def test_what_a_smoothed_track_leaves_unknown_is_smooth_itself() -> None:
    """White noise over a spectrum 1 + w^4: its inverse Fourier transform, here by sums, at uneven steps too."""
    time_s = np.cumsum(np.tile((0.01, 0.03), 50))
    drawn, _ = drawn_errors(
        uncertain(100, noise_correlation_s=0.1, is_smoothed=True), time_s, np.random.default_rng(8), 20000
    )
    frequency = np.linspace(0, 200, 400001)
    spectrum = 1 / (1 + frequency**4)
    for apart in (1, 2, 5, 9):
        x = SMOOTH_CORRELATION_RAD * np.sqrt(2) * (time_s[60 + apart] - time_s[60]) / 0.1
        expected = (spectrum * np.cos(frequency * x)).sum() / spectrum.sum()
        found = (drawn[:, 60] * drawn[:, 60 + apart]).mean() * 1e6
        assert found == pytest.approx(expected, abs=0.02)
    assert (drawn**2).mean(axis=(0, 2)) == pytest.approx(np.full(100, 1e-6), rel=0.05)


def test_a_shared_error_is_the_same_at_every_moment() -> None:
    shared = np.full((1, 3, 3), 0.01)
    uncertainty = uncertain(3, noise_cov_rad2=np.zeros((3, 3, 3)), shared_rad=shared, shared_names=("focal",))
    drawn, units = drawn_errors(uncertainty, np.arange(3.0), np.random.default_rng(10), 500)

    assert drawn == pytest.approx(np.broadcast_to(units[:, :, None] * 0.01, drawn.shape))


def peak_and_middle(track: HeadOnTrunk) -> FloatArray:
    """Extension at one moment, and its mean over the phase."""
    return np.array([track.angles_deg[60, 0], track.angles_deg[30:, 0].mean()])


def test_the_band_holds_the_truth_as_often_as_it_says() -> None:
    """95 times in 100 under known correlated noise and a shared error, within what 60 tries can tell."""
    exact = uncertain(COUNT, noise_cov_rad2=np.zeros((COUNT, 3, 3)))
    truth = bands(recorded(about(TRUE_DEG), rate_hz=RATE_HZ), exact, peak_and_middle, np.random.default_rng(0))
    errors, _ = drawn_errors(film_uncertainty(True), TIME_S, np.random.default_rng(11), 60)
    held = np.zeros(2)
    for number, error in enumerate(errors):
        motion = recorded(Rotation.from_rotvec(error) * about(TRUE_DEG), rate_hz=RATE_HZ)
        found = bands(motion, film_uncertainty(number % 2 == 0), peak_and_middle, np.random.default_rng(number))
        held += (found.low <= truth.low) & (truth.low <= found.high)

    assert truth.low == pytest.approx(truth.high)
    assert (held >= binom.ppf(0.001, 60, 0.95)).all()
    assert (held <= binom.ppf(0.999, 60, 0.95)).all()


def film_uncertainty(is_smoothed: bool) -> RelativeUncertainty:
    shared = np.zeros((1, COUNT, 3))
    shared[0, :, 2] = 0.03 * np.radians(TRUE_DEG[:, 0])
    return uncertain(
        COUNT, noise_correlation_s=0.1, shared_rad=shared, shared_names=("focal",), is_smoothed=is_smoothed
    )


def test_the_band_says_where_it_comes_from() -> None:
    """An extension of 8 degrees with 3 % of focal error: (0.24 degrees) squared against the noise's share."""
    motion = recorded(about(TRUE_DEG), rate_hz=RATE_HZ)
    found = bands(motion, film_uncertainty(False), peak_and_middle, np.random.default_rng(12))
    noise_deg2 = np.degrees(0.001) ** 2
    expected = 0.24**2 / (0.24**2 + noise_deg2 * 1.1)  # a tenth more: neutral is taken from noisy moments

    assert found.sources == ("focal", "noise")
    assert found.share_ratios[0, 0] == pytest.approx(expected, abs=0.03)
    assert found.share_ratios[0].sum() == pytest.approx(1.0)


def test_every_measure_of_a_phase_has_its_band_but_translations() -> None:
    motion = recorded(about(TRUE_DEG), rate_hz=RATE_HZ, position_m=np.zeros((COUNT, 2, 3)))
    (found,) = phase_bands(motion, film_uncertainty(True), [PHASE], np.random.default_rng(13), bound_deg=5.0)
    unknown = [name for name, low in zip(NAMES, found.low, strict=True) if np.isnan(low)]

    assert unknown == [name for name in NAMES if name.endswith("_m")]
    assert (found.low[~np.isnan(found.low)] >= 0).all()


def largest_and_smallest(track: HeadOnTrunk) -> FloatArray:
    """The range of extension over a still stretch: all of it is noise."""
    return np.array([np.ptp(track.angles_deg[:30, 0])])


def test_of_a_raw_track_the_band_takes_off_what_noise_added() -> None:
    noise = drawn_errors(uncertain(COUNT), TIME_S, np.random.default_rng(14), 1)[0][0]
    motion = recorded(Rotation.from_rotvec(noise) * about(TRUE_DEG), rate_hz=RATE_HZ)
    measured = largest_and_smallest(head_on_trunk(motion))
    raw, smoothed = (
        bands(motion, uncertain(COUNT, is_smoothed=is_smoothed), largest_and_smallest, np.random.default_rng(15))
        for is_smoothed in (False, True)
    )

    assert raw.high < measured
    assert smoothed.low < raw.high < measured < smoothed.high


def test_of_a_raw_track_what_is_mostly_noise_has_no_band() -> None:
    motion = recorded(about(TRUE_DEG), rate_hz=RATE_HZ, position_m=np.zeros((COUNT, 2, 3)))
    (found,) = phase_bands(motion, film_uncertainty(False), [PHASE], np.random.default_rng(18), bound_deg=5.0)
    unknown = {name for name, low in zip(NAMES, found.low, strict=True) if np.isnan(low)}

    assert unknown == {"path_deg", "peak_speed_deg_s", *(name for name in NAMES if name.endswith("_m"))}


def test_the_same_seed_gives_the_same_band() -> None:
    motion = recorded(about(TRUE_DEG), rate_hz=RATE_HZ)
    first, second = (
        bands(motion, film_uncertainty(True), peak_and_middle, np.random.default_rng(16)) for _ in range(2)
    )

    assert first.low.tolist() == second.low.tolist()
    assert first.high.tolist() == second.high.tolist()


def test_an_uncertainty_of_another_film_is_refused() -> None:
    with pytest.raises(ValueError, match="5 moments of uncertainty given, 90 as in the motion expected"):
        bands(recorded(about(TRUE_DEG)), uncertain(5), peak_and_middle, np.random.default_rng(0))


def test_translations_have_a_band_where_places_are_spoken_of() -> None:
    """A place that goes 20 mm forward and back under a shared error of 5 %: its range is 20 mm, give or take 1.96."""
    forward_m = np.zeros((COUNT, 3))
    forward_m[:, 0] = 0.02 * np.sin(np.pi * np.clip(TIME_S - 1, 0, None) / 2) ** 2
    motion = recorded(about(TRUE_DEG), rate_hz=RATE_HZ, position_m=np.stack([forward_m, np.zeros((COUNT, 3))], axis=1))
    uncertainty = uncertain(
        COUNT,
        shared_rad=np.zeros((1, COUNT, 3)),
        shared_names=("focal",),
        is_smoothed=True,
        position_cov_m2=np.zeros((COUNT, 3, 3)),
        position_shared_m=0.05 * forward_m[None],
    )
    (found,) = phase_bands(motion, uncertainty, [PHASE], np.random.default_rng(17))
    place = NAMES.index("range_anterior_m")

    assert found.low[place] == pytest.approx(0.02 - 0.00196, abs=0.0003)
    assert found.high[place] == pytest.approx(0.02 + 0.00196, abs=0.0003)
    assert found.share_ratios[place, 0] == pytest.approx(1.0, abs=0.01)


def test_noise_of_a_place_without_its_shared_errors_is_refused() -> None:
    with pytest.raises(ValueError, match="position_cov_m2 and position_shared_m belong together"):
        uncertain(3, position_cov_m2=np.zeros((3, 3, 3)))


def test_a_long_film_takes_no_more_memory_than_a_short_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is held together is as many moments as are allowed, three numbers of eight bytes each, a few times over."""
    allowed = 12_000
    monkeypatch.setattr("onthree.kinematics.bands.MOMENTS_AT_ONCE", allowed)

    def peak_bytes(count: int) -> int:
        motion = recorded(about(np.zeros((count, 3))), rate_hz=RATE_HZ)
        tracemalloc.start()
        bands(motion, uncertain(count), largest_and_smallest, np.random.default_rng(4))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return peak

    assert peak_bytes(600) < 6 * allowed * 3 * 8, (
        "all draws of 600 moments at once would be twenty times what is allowed"
    )


def test_draws_made_in_parts_spread_as_draws_made_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    motion, uncertainty = recorded(about(TRUE_DEG), rate_hz=RATE_HZ), film_uncertainty(False)
    whole = bands(motion, uncertainty, peak_and_middle, np.random.default_rng(5))
    monkeypatch.setattr("onthree.kinematics.bands.MOMENTS_AT_ONCE", 7 * COUNT)
    parts = bands(motion, uncertainty, peak_and_middle, np.random.default_rng(5))

    assert parts.high - parts.low == pytest.approx(whole.high - whole.low, rel=0.25)
