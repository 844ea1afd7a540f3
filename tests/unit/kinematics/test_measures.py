"""Measures of a phase, against motions of which every measure is known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import HeadOnTrunk, head_on_trunk
from onthree.kinematics.measures import NAMES, Phase, measures, noise_floor
from tests.unit.kinematics.recorded import STILL_S, about, recorded

ALL = Phase("lift", 0.0, 4.0)
TIME_S = np.arange(241) / 60


def nodding(**changed: object) -> HeadOnTrunk:
    """Still for a second, then three seconds of extension and flexion, once to 10 degrees each way."""
    extension_deg = np.where(TIME_S < 1, 0.0, 10 * np.sin(2 * np.pi * (TIME_S - 1) / 3))
    return head_on_trunk(recorded(about(np.outer(extension_deg, (1, 0, 0))), **changed))  # type: ignore[arg-type]


def test_a_nod() -> None:
    found = measures(nodding(), ALL, bound_deg=5.0)

    assert found.of("range_flexion_extension_deg") == pytest.approx(20.0, abs=0.01)
    assert found.of("peak_extension_deg") == pytest.approx(10.0, abs=0.01)
    assert found.of("peak_flexion_deg") == pytest.approx(10.0, abs=0.01)
    assert found.of("peak_left_axial_rotation_deg") == pytest.approx(0.0, abs=1e-9)
    assert found.of("rms_flexion_extension_deg") == pytest.approx(10 * np.sqrt(3 / 4 / 2), rel=1e-3)
    assert found.of("path_deg") == pytest.approx(40.0, abs=0.1)
    assert found.of("peak_speed_deg_s") == pytest.approx(10 * 2 * np.pi / 3, rel=1e-3)
    assert found.of("beyond_flexion_extension_s") == pytest.approx(2.0, abs=1e-3)  # |sin| above a half: two thirds
    assert found.of("beyond_total_s") == pytest.approx(found.of("beyond_flexion_extension_s"))
    assert found.moment_s("peak_extension_deg") == pytest.approx(1.75)
    assert found.moment_s("peak_flexion_deg") == pytest.approx(3.25)
    assert np.isnan(found.moment_s("path_deg"))
    assert found.said == "helmet on pads; seen throughout"


def test_without_a_bound_time_beyond_it_is_unknown() -> None:
    assert np.isnan(measures(nodding(), ALL).of("beyond_total_s"))


def test_without_positions_translations_are_unknown() -> None:
    assert np.isnan(measures(nodding(), ALL).of("peak_distance_m"))


def test_translations() -> None:
    position_m = np.zeros((241, 2, 3))
    position_m[120, 0] = (0.03, -0.04, 0.0)
    found = measures(head_on_trunk(recorded(Rotation.identity(241), position_m=position_m)), ALL)

    assert found.of("range_cranial_m") == pytest.approx(0.04)
    assert found.of("peak_distance_m") == pytest.approx(0.05)
    assert found.moment_s("peak_distance_m") == 2.0


def test_peaks_count_from_the_start_of_the_phase_and_root_mean_square_from_neutral() -> None:
    found = measures(nodding(), Phase("second half", 1.75, 3.25))

    assert found.of("peak_extension_deg") == pytest.approx(0.0, abs=1e-9)
    assert found.of("peak_flexion_deg") == pytest.approx(20.0, abs=0.01)
    assert found.of("peak_total_deg") == pytest.approx(20.0, abs=0.01)
    assert found.of("largest_total_deg") == pytest.approx(10.0, abs=0.01)
    assert found.of("rms_total_deg") == pytest.approx(10 / np.sqrt(2), rel=1e-2)


def test_a_gap_is_told_and_never_filled_in() -> None:
    found = measures(nodding(lost=slice(100, 112)), ALL)

    assert found.gaps_s == ((pytest.approx(99 / 60), pytest.approx(112 / 60)),)
    assert found.seen_ratio == pytest.approx(1 - 13 / 240)
    assert "longest gap 0.22 s at 1.65 s" in found.said
    assert found.of("peak_extension_deg") < 9.9
    assert found.of("path_deg") < measures(nodding(), ALL).of("path_deg")


def test_a_phase_seen_in_every_moment_is_seen_whole_even_between_two_frames() -> None:
    found = measures(nodding(), Phase("between frames", 1.009, 2.009))

    assert found.seen_ratio == 1.0
    assert found.said.endswith("; seen throughout")


def test_one_moment_lost_at_an_end_is_not_seen_whole() -> None:
    found = measures(nodding(lost=slice(118, 121)), Phase("second half", 119 / 60, 3.0))

    assert found.seen_ratio == pytest.approx(1 - 2 / 61)
    assert found.gaps_s == ((pytest.approx(119 / 60), pytest.approx(121 / 60)),)


def test_no_speed_is_taken_across_a_gap() -> None:
    angles = np.zeros((241, 3))
    angles[130:, 0] = 90.0
    found = measures(head_on_trunk(recorded(about(angles), lost=slice(110, 130))), ALL)

    assert found.of("peak_speed_deg_s") == pytest.approx(0.0, abs=1e-6)
    assert found.of("range_flexion_extension_deg") == pytest.approx(90.0)


def test_frames_that_were_never_written_are_a_gap() -> None:
    track = nodding()
    kept = np.r_[0:120, 130:241]
    motion = recorded(track.rotation)
    thinned = replace(
        motion,
        time_s=motion.time_s[kept],
        is_valid=motion.is_valid[kept],
        frame_from_segment={name: turned[kept] for name, turned in motion.frame_from_segment.items()},
    )

    assert measures(head_on_trunk(thinned), ALL).gaps_s == ((pytest.approx(119 / 60), pytest.approx(130 / 60)),)


def test_what_was_not_seen_whole_is_not_rounded_to_all_of_it() -> None:
    found = measures(nodding(lost=slice(120, 121)), ALL)

    assert found.seen_ratio == pytest.approx(1 - 2 / 240)
    assert replace(found, seen_ratio=0.998).said.startswith(f"{found.measured_as}; seen for 99% of the phase")


def test_a_phase_outside_the_recording_is_unknown() -> None:
    found = measures(nodding(), Phase("carry", 10.0, 12.0))

    assert np.isnan(found.values).all()
    assert found.seen_ratio == 0.0
    assert found.gaps_s == ((10.0, 12.0),)


def test_a_phase_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="a start before the end"):
        Phase("lift", 2.0, 2.0)


def test_the_floor_of_a_path_is_that_of_independent_noise() -> None:
    """A step between two noisy rotations is Maxwell distributed, its mean sd sqrt(2) sqrt(8 / pi): a textbook value."""
    sd_deg = 0.05
    chance = np.random.default_rng(5)
    noise = Rotation.from_rotvec(np.radians(chance.normal(0, sd_deg, (6000, 3))))
    track = head_on_trunk(recorded(noise))
    phase = measures(track, Phase("carry", 40.0, 90.0))
    floor = noise_floor(track, phase, (0.0, 40.0))
    expected_deg = 50 * 60 * sd_deg * np.sqrt(2) * np.sqrt(8 / np.pi)

    assert floor[NAMES.index("path_deg")] == pytest.approx(expected_deg, rel=0.02)
    assert phase.of("path_deg") == pytest.approx(expected_deg, rel=0.02)


def test_the_floor_of_a_still_stretch_not_seen_is_unknown() -> None:
    track = nodding()

    assert np.isnan(noise_floor(track, measures(track, ALL), (8.0, 9.0))).all()
    assert noise_floor(track, measures(track, ALL), STILL_S)[NAMES.index("path_deg")] == pytest.approx(0, abs=0.2)
