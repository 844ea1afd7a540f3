"""Where a rig and its film do not agree: a sheet printed twice, a tag that should have been seen and never was."""

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import projected
from onthree.capture.layout import Layout
from onthree.capture.poses import SQUARE, Poses
from onthree.capture.rig import Rig, RigTag
from onthree.capture.tags import DOUBLE, is_deep
from onthree.capture.tracks import Track

FloatArray = NDArray[np.float64]

MISSING = "was never seen, though it faced the phone"
LEAST_COSINE = 0.7
"""A tag turned further away than 45 degrees is not expected to be seen."""
LEAST_FRAMES = 10
"""A tag measured by hand may be a few degrees off: it must face the phone in so many frames."""


def missing_flags(rig: Rig, layout: Layout, tracks: Mapping[str, Track], size_px: tuple[int, int]) -> Iterator[str]:
    """What is to be said of tags that were never seen though their segment was turned so that they should have been.

    ``size_px``: width and height of the frames. Tags whose place was not measured cannot be missed.
    """
    seen = {tag.id for tag in layout.tags} | set(layout.slipped)
    for tag in rig.tags:
        if tag.id not in seen and tag.segment in tracks and tag.centre_m is not None:
            count = _facing_count(tag, layout, tracks[tag.segment], size_px)
            if count >= LEAST_FRAMES:
                fix = "is it there, uncovered, and is its id that of the rig?"
                yield f"tag {tag.id} on {tag.segment} {MISSING} in {count} frames: {fix}"


def disagreements(flags: Iterable[str]) -> tuple[str, ...]:
    """Those of the flags of a film that say that rig and film do not agree."""
    return tuple(flag for flag in flags if MISSING in flag or DOUBLE in flag)


def _facing_count(tag: RigTag, layout: Layout, track: Track, size_px: tuple[int, int]) -> int:
    """In how many frames the whole of a tag, where the hand put it, turns its face to the phone, large enough."""
    assert tag.centre_m is not None and tag.rotvec_rad is not None
    body = track.smoothed.poses[track.is_valid]
    count = len(body.place_m)
    inner = Rotation.from_rotvec(tag.rotvec_rad).as_matrix()
    whole = body.after(Poses(np.tile(inner, (count, 1, 1)), np.tile(tag.centre_m, (count, 1))))
    towards = -whole.place_m / np.linalg.norm(whole.place_m, axis=1, keepdims=True)
    is_facing = np.einsum("ni,ni->n", whole.rotation[:, :, 2], towards) > LEAST_COSINE
    is_facing &= whole.place_m[:, 2] > tag.size_m
    whole = whole[is_facing]
    corners_m = np.einsum("nij,kj->nki", whole.rotation, SQUARE * tag.size_m) + whole.place_m[:, None]
    corners_px = projected(layout.fit.camera, corners_m)
    inside = ((corners_px >= 0) & (corners_px <= np.array(size_px) - 1)).all(axis=(1, 2))
    return int((inside & is_deep(corners_px)).sum())
