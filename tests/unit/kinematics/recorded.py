"""Recordings of known truth: two segments that turn as asked."""

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty, SegmentMotion

STILL_S = (0.0, 1.0)


def recorded(
    head: Rotation,
    trunk: Rotation | None = None,
    rate_hz: float = 60.0,
    lost: slice = slice(0, 0),
    position_m: FloatArray | None = None,
) -> SegmentMotion:
    """A recording of the head, by default on a trunk that does not move; the head is not seen where ``lost``."""
    count = len(head)
    is_valid = np.ones((count, 2), dtype=bool)
    is_valid[lost, 0] = False
    quaternions = head.as_quat()
    quaternions[lost] = (0, 0, 0, 1)
    return SegmentMotion(
        time_s=np.arange(count) / rate_hz,
        segments=("head", "trunk"),
        frame="camera",
        frame_from_segment={"head": Rotation.from_quat(quaternions), "trunk": trunk or Rotation.identity(count)},
        is_valid=is_valid,
        position_m=position_m,
        measured_as="helmet on pads",
        neutral_s=STILL_S,
        source_sha256="0" * 64,
    )


def uncertain(count: int, **changed: object) -> RelativeUncertainty:
    """Noise of 0.001 rad that is independent from moment to moment, and no shared error, unless changed."""
    fields = {
        "reference": "trunk",
        "moving": "head",
        "noise_cov_rad2": np.tile(1e-6 * np.eye(3), (count, 1, 1)),
        "noise_correlation_s": 0.0,
        "shared_rad": np.zeros((0, count, 3)),
        "shared_names": (),
        "is_smoothed": False,
    }
    return RelativeUncertainty(**{**fields, **changed})  # type: ignore[arg-type]


def about(angles_deg: FloatArray) -> Rotation:
    """Rotations of extension, right lateral bending and left axial rotation (n, 3)."""
    return Rotation.from_euler("ZXY", angles_deg, degrees=True)
