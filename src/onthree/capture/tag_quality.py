"""How well each tag of a film served: how often it was seen, how large, how well it fits, how far it moved."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.layout import Layout
from onthree.capture.rig import RigTag
from onthree.capture.tags import Sightings

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

STRETCHES = 60
"""Pieces of a film in which the seen share is shown."""


@dataclass(frozen=True, kw_only=True)
class TagQuality:
    """One tag of the rig: in how many frames it was seen, the middle length of its side, what its corners are off.

    ``moved_m`` and ``turned_deg`` are from where it was measured by hand to where the film puts it. NaN: not known.
    """

    id: int
    segment: str
    seen_count: int
    side_px: float
    residual_px: float
    moved_m: float
    turned_deg: float
    is_left_out: bool


def tag_qualities(sightings: Sightings, layout: Layout, tags: tuple[RigTag, ...]) -> tuple[TagQuality, ...]:
    """What is to be said of each tag of the rig, in its order."""
    rows = {tag.id: row for row, tag in enumerate(layout.tags)}
    found = []
    for tag in tags:
        corners_px = sightings.corners_px[sightings.tag == tag.id]
        row = rows.get(tag.id)
        found.append(
            TagQuality(
                id=tag.id,
                segment=tag.segment,
                seen_count=len(corners_px),
                side_px=_side_px(corners_px) if len(corners_px) else np.nan,
                residual_px=np.nan if row is None else float(layout.fit.tag_rms_px[row]),
                moved_m=_moved_m(tag, layout, row),
                turned_deg=_turned_deg(tag, layout, row),
                is_left_out=tag.id in layout.slipped,
            )
        )
    return tuple(found)


def seen_strip_ratio(time_s: FloatArray, is_seen: Mapping[str, BoolArray]) -> dict[str, list[float]]:
    """The share of the frames in which each segment is known, in pieces of equal time; NaN for one without frames."""
    piece = np.minimum((time_s - time_s[0]) / (time_s[-1] - time_s[0]) * STRETCHES, STRETCHES - 1).astype(int)
    frames = np.bincount(piece, minlength=STRETCHES)
    return {
        segment: [
            float(known / count) if count else np.nan
            for known, count in zip(np.bincount(piece, weights=seen, minlength=STRETCHES), frames, strict=True)
        ]
        for segment, seen in is_seen.items()
    }


def _moved_m(tag: RigTag, layout: Layout, row: int | None) -> float:
    if row is None or tag.centre_m is None:
        return np.nan
    return float(np.linalg.norm(layout.fit.layout.place_m[row] - tag.centre_m))


def _turned_deg(tag: RigTag, layout: Layout, row: int | None) -> float:
    if row is None or tag.rotvec_rad is None:
        return np.nan
    turned = Rotation.from_matrix(layout.fit.layout.rotation[row]) * Rotation.from_rotvec(tag.rotvec_rad).inv()
    return float(np.degrees(turned.magnitude()))


def _side_px(corners_px: FloatArray) -> float:
    """The middle over the sightings (n, 4, 2) of the mean side."""
    sides = np.linalg.norm(corners_px - np.roll(corners_px, 1, axis=1), axis=2)
    return float(np.median(sides.mean(axis=1)))
