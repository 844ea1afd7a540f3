"""What must hold for any motion of head and trunk."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import HeadOnTrunk, head_on_trunk
from onthree.kinematics.measures import NAMES, Phase, measures
from onthree.kinematics.segment_motion import SegmentMotion
from tests.unit.kinematics.recorded import recorded

PHASE = Phase("lift", 0.5, 1.9)
seeds = st.integers(0, 2**32 - 1)


def any_motion(seed: int) -> SegmentMotion:
    """Head and trunk that turn smoothly in any direction, the head up to some 60 degrees on the trunk."""
    chance = np.random.default_rng(seed)
    time_s = np.arange(120)[:, None] / 60
    waves = [chance.normal(0, 0.3, 3) * np.sin(chance.uniform(0, 4, 3) * time_s) for _ in range(4)]
    trunk = Rotation.from_rotvec(3 * waves[0] + waves[1])
    return recorded(trunk * Rotation.from_rotvec(waves[2] + waves[3]), trunk)


def turned(motion: SegmentMotion, before: Rotation, behind: Rotation) -> SegmentMotion:
    """The same motion seen from a frame that is turned, with another mounting of what was on the head."""
    head, trunk = motion.frame_from_segment["head"], motion.frame_from_segment["trunk"]
    return replace(motion, frame_from_segment={"head": before * head * behind, "trunk": before * trunk})


def numbers(track: HeadOnTrunk) -> dict[str, float]:
    return dict(zip(NAMES, measures(track, PHASE, bound_deg=5.0).values, strict=True))


@settings(max_examples=25, deadline=None)
@given(seeds)
def test_neither_the_frame_nor_the_mounting_on_the_head_matters(seed: int) -> None:
    motion = any_motion(seed)
    chance = np.random.default_rng(seed)
    before, behind = Rotation.from_quat(chance.normal(size=(2, 4)))
    expected, found = head_on_trunk(motion), head_on_trunk(turned(motion, before, behind))

    assert found.angles_deg == pytest.approx(expected.angles_deg, abs=1e-6)
    assert numbers(found) == pytest.approx(numbers(expected), abs=1e-5, nan_ok=True)


@settings(max_examples=25, deadline=None)
@given(seeds)
def test_other_axes_of_the_trunk_move_the_planes_but_not_the_total(seed: int) -> None:
    motion = any_motion(seed)
    axes = Rotation.from_quat(np.random.default_rng(seed).normal(size=4))
    on_other_axes = {name: rotation * axes for name, rotation in motion.frame_from_segment.items()}
    expected = numbers(head_on_trunk(motion))
    found = numbers(head_on_trunk(replace(motion, frame_from_segment=on_other_axes)))

    for name in ("peak_total_deg", "largest_total_deg", "path_deg", "peak_speed_deg_s"):
        assert found[name] == pytest.approx(expected[name], rel=1e-6)


@settings(max_examples=25, deadline=None)
@given(seeds)
def test_a_mirrored_motion_swaps_left_and_right_and_nothing_else(seed: int) -> None:
    motion = any_motion(seed)
    mirror = np.diag([1.0, 1.0, -1.0])
    mirrored = {
        name: Rotation.from_matrix(mirror @ rotation.as_matrix() @ mirror)
        for name, rotation in motion.frame_from_segment.items()
    }
    expected = numbers(head_on_trunk(motion))
    found = numbers(head_on_trunk(replace(motion, frame_from_segment=mirrored)))
    sides = {"left": "right", "right": "left"}
    swapped = {"_".join(sides.get(word, word) for word in name.split("_")): value for name, value in found.items()}

    assert {name: swapped[name] for name in NAMES if not name.endswith("_m")} == pytest.approx(
        {name: value for name, value in expected.items() if not name.endswith("_m")}, abs=1e-6
    )


@settings(max_examples=25, deadline=None)
@given(seeds, st.floats(0.1, 10))
def test_a_slower_film_of_the_same_has_the_same_angles_and_a_lower_speed(seed: int, times: float) -> None:
    motion = any_motion(seed)
    slower = replace(motion, time_s=motion.time_s * times, neutral_s=(0.0, times))
    longer = Phase("lift", PHASE.start_s * times, PHASE.end_s * times)
    expected, found = measures(head_on_trunk(motion), PHASE), measures(head_on_trunk(slower), longer)
    is_throughout = not found.gaps_s

    assert found.of("peak_total_deg") == pytest.approx(expected.of("peak_total_deg"))
    if is_throughout:
        assert found.of("path_deg") == pytest.approx(expected.of("path_deg"))
        assert found.of("peak_speed_deg_s") == pytest.approx(expected.of("peak_speed_deg_s") / times)


@settings(max_examples=25, deadline=None)
@given(seeds, st.integers(35, 100), st.integers(1, 15))
def test_seeing_less_never_makes_a_range_a_path_or_a_time_larger(seed: int, first: int, lost: int) -> None:
    motion = any_motion(seed)
    is_valid = motion.is_valid.copy()
    is_valid[first : first + lost, 0] = False
    quaternions = motion.frame_from_segment["head"].as_quat()
    quaternions[first : first + lost] = (0, 0, 0, 1)
    head = {**motion.frame_from_segment, "head": Rotation.from_quat(quaternions)}
    neutral_s = (0.0, 0.5)
    whole = numbers(head_on_trunk(motion, neutral_s=neutral_s))
    less = numbers(head_on_trunk(replace(motion, is_valid=is_valid, frame_from_segment=head), neutral_s=neutral_s))

    for name in NAMES:
        if not name.startswith("rms") and not name.endswith("_m"):
            assert less[name] <= whole[name] + 1e-9
