"""Errors of corners that go along from frame to frame, against the variance of a mean of many."""

import numpy as np
import pytest

from onthree.capture.bundle import corner_correlation_ratio, slow_ratio
from onthree.capture.poses import Views
from onthree.kinematics.segment_motion import FloatArray

FRAMES, TAGS = 600, 6


def views() -> Views:
    frame, tag = (each.ravel() for each in np.meshgrid(np.arange(FRAMES), np.arange(TAGS), indexing="ij"))
    return Views(np.zeros((len(tag), 4, 2)), np.zeros((len(tag), 4, 3)), tag, frame)


def lasting(rng: np.random.Generator, fresh_ratio: float, stays_ratio: float) -> FloatArray:
    """Errors (frames x tags, 8) of variance one, of which a share is new in each frame, the rest autoregressive."""
    slow = rng.standard_normal((FRAMES, TAGS, 8))
    for frame in range(1, FRAMES):
        slow[frame] = stays_ratio * slow[frame - 1] + np.sqrt(1 - stays_ratio**2) * slow[frame]
    new = rng.standard_normal(slow.shape)
    return (np.sqrt(fresh_ratio) * new + np.sqrt(1 - fresh_ratio) * slow).reshape(-1, 8)


@pytest.mark.parametrize(("fresh_ratio", "stays_ratio"), [(1.0, 0.0), (0.0, 0.6), (0.5, 0.9), (0.7, 0.95)])
def test_a_mean_of_many_is_as_unsure_as_is_said(fresh_ratio: float, stays_ratio: float) -> None:
    """Theory: n times the variance of the mean is fresh + (1 - fresh) (1 + r) / (1 - r)."""
    expected = fresh_ratio + (1 - fresh_ratio) * (1 + stays_ratio) / (1 - stays_ratio)
    error = lasting(np.random.default_rng(3), fresh_ratio, stays_ratio)

    assert slow_ratio(corner_correlation_ratio(error, views())) == pytest.approx(expected, rel=0.3)


def test_without_a_next_frame_half_is_taken_to_stay() -> None:
    alone = views().of(np.arange(FRAMES * TAGS) >= (FRAMES - 1) * TAGS)

    assert corner_correlation_ratio(np.ones((TAGS, 8)), alone) == 0.5
