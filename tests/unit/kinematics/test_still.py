"""Still stretches: as long as nothing turns, never over a gap, ended before a motion begins."""

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.still import is_still, still_before_s, still_stretches_s

TIME_S = np.arange(0, 6, 1 / 30)
SEEN = np.ones(len(TIME_S), dtype=bool)


def turning(start_s: float, end_s: float, deg: float = 40.0) -> Rotation:
    """Still, then a turn about an axis at an even rate, then still again."""
    share = np.clip((TIME_S - start_s) / (end_s - start_s), 0, 1)
    return Rotation.from_rotvec(np.radians(deg) * np.outer(share, [0.0, 0.6, 0.8]))


def test_stretches_before_and_after_a_turn() -> None:
    (first, last) = still_stretches_s(TIME_S, SEEN, [turning(2.0, 3.0)])

    assert first[0] == 0.0
    assert 1.8 < first[1] <= 2.0
    assert 2.95 <= last[0] <= 3.1
    assert last[1] == TIME_S[-1]


def test_each_rotation_has_its_say() -> None:
    (first, last) = still_stretches_s(TIME_S, SEEN, [turning(2.0, 3.0), turning(1.0, 4.0)])

    assert first[1] <= 1.0
    assert last[0] >= 3.9


def test_a_gap_ends_a_stretch() -> None:
    seen = SEEN & ~((TIME_S > 1.0) & (TIME_S < 1.5))
    (first, last) = still_stretches_s(TIME_S, seen, [turning(9.0, 10.0)])

    assert first[1] <= 1.0
    assert last[0] >= 1.5


def test_nothing_seen_is_never_still() -> None:
    assert still_stretches_s(TIME_S, ~SEEN, [turning(2.0, 3.0)]) == ()


def test_a_slow_turn_is_not_still() -> None:
    assert still_stretches_s(TIME_S, SEEN, [turning(0.0, 6.0, deg=60.0)]) == ()


def test_the_stretch_that_a_phase_starts_from() -> None:
    stretches = ((0.0, 1.9), (3.0, 4.0), (5.0, 6.0))

    assert still_before_s(stretches, 2.0) == (0.0, 1.9)
    assert still_before_s(stretches, 3.2) == (3.0, 4.0)
    assert still_before_s(stretches, 4.5) == (3.0, 4.0)
    assert still_before_s(((0.0, 0.9),), 3.0) is None, "too long before"
    assert still_before_s(((3.5, 3.9),), 2.0) is None, "had not begun"


def test_whether_a_marked_stretch_is_still() -> None:
    assert is_still((0.0, 1.9), TIME_S, SEEN, [turning(2.0, 3.0)])
    assert not is_still((1.5, 2.5), TIME_S, SEEN, [turning(2.0, 3.0)])
    assert not is_still((7.0, 8.0), TIME_S, SEEN, [turning(2.0, 3.0)]), "nothing is known there"
