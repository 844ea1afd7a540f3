"""Frames in which nothing moves repeat each other's errors."""

import numpy as np
import pytest

from onthree.capture.poses import Views
from onthree.capture.standing import (
    body_weights,
    corner_errors,
    long_stretches,
    staying_errors,
    stretches,
    without_staying,
)

TIME_S = np.arange(60) / 30


def views(along_px: np.ndarray) -> Views:
    """Two tags of 40 pixels in each frame, moved along the rows."""
    square_px = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])
    corners_px = np.repeat(square_px[None] + 100.0, 2 * len(along_px), axis=0)
    corners_px[:, :, 0] += np.repeat(along_px, 2)[:, None]
    body = np.repeat(np.arange(len(along_px)), 2)
    return Views(corners_px, np.zeros_like(corners_px), np.tile([0, 1], len(along_px)), body)


def test_neighbours_that_stay_in_one_place_are_one_stretch() -> None:
    still_then_moving_px = np.maximum(np.arange(60) - 29, 0) * 2.0
    found = stretches(views(still_then_moving_px), 61)

    assert len(set(found[:30])) == 1
    assert len(set(found[29:60])) == 31
    assert found[60] == -1, "a body without a view"


def test_slow_motion_makes_many_stretches() -> None:
    assert len(set(stretches(views(np.arange(60) * 0.05), 60))) == 12


def test_many_that_stay_tell_no_more_than_what_stays_lets_them() -> None:
    weights = body_weights(np.array([0] * 200 + [1]))

    assert weights[:200].sum() == pytest.approx(1 / corner_errors().staying_ratio, rel=0.01), (
        "variance of a mean: the share that stays"
    )
    assert weights[200] == 1


def test_only_what_lasts_is_told_apart() -> None:
    stretch = np.repeat([0, 1, 2, 3], [20, 5, 30, 5])

    found = long_stretches(stretch, TIME_S, np.ones(60, dtype=bool))

    assert list(np.unique(found[:20])) == [1]
    assert list(np.unique(found[25:55])) == [0]
    assert (found[np.r_[20:25, 55:60]] == -1).all()


def test_the_noise_is_split_into_what_stays_and_the_rest() -> None:
    noise = np.tile(np.diag([1.0, 2.0, 3.0, 4.0, 5.0, 6.0]), (60, 1, 1))
    stretch = np.where(np.arange(60) < 30, 0, -1)

    errors, rest = staying_errors(noise, stretch)

    whole = rest + np.einsum("kni,knj->nij", errors, errors)
    np.testing.assert_allclose(whole, noise, atol=1e-12)
    np.testing.assert_allclose(rest[:30], (1 - corner_errors().staying_ratio) * noise[:30])
    assert len(staying_errors(noise, np.full(60, -1))[0]) == 0


def test_what_stays_is_taken_off_each_tag_alone() -> None:
    seen = views(np.zeros(60))
    residual = np.where(seen.tag[:, None] == 0, 0.5, -0.2) * np.ones((120, 8))

    assert np.abs(without_staying(residual, seen, np.zeros(60, dtype=np.int64))).max() < 1e-12
    assert (without_staying(residual, seen, np.full(60, -1)) == residual).all()


def test_without_a_view_there_is_no_stretch() -> None:
    none = views(np.zeros(1)).of(np.zeros(2, dtype=bool))

    assert (stretches(none, 3) == -1).all()
