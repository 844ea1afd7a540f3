"""Head on trunk: the rotation of one segment on another about neutral, as angles of three planes and as one angle.

Cardan angles in the order of the joint coordinate system, intrinsic Z-X-Y: first extension about the trunk's Z (to the
right), then right lateral bending about the floating X (forward), last left axial rotation about the head's Y (up).
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import BoolArray, FloatArray, SegmentMotion

ORDER = "intrinsic Z-X-Y: extension +, right lateral bending +, left axial rotation +"
PLANES = ("extension", "right_lateral_bending", "left_axial_rotation")
"""The columns of ``angles_deg``; flexion, left lateral bending and right axial rotation are negative."""


@dataclass(frozen=True, eq=False, kw_only=True)
class HeadOnTrunk:
    """A moving segment on a reference segment at n moments, about neutral: the moving one has turned so in trunk axes.

    ``angles_deg`` (n, 3) by plane, ``rotation_vector_deg`` (n, 3) about X, Y and Z of the trunk, ``total_deg`` (n) its
    length; ``position_m`` (n, 3), how far the moving origin went in trunk axes, or None. NaN where either is not seen.
    """

    time_s: FloatArray
    is_seen: BoolArray
    rotation: Rotation
    angles_deg: FloatArray
    rotation_vector_deg: FloatArray
    total_deg: FloatArray
    position_m: FloatArray | None
    neutral_s: tuple[float, float]
    measured_as: str
    warnings: tuple[str, ...]


def head_on_trunk(
    motion: SegmentMotion,
    moving: str = "head",
    reference: str = "trunk",
    neutral_s: tuple[float, float] | None = None,
) -> HeadOnTrunk:
    """The moving segment on the reference about the mean of a neutral stretch, by default the recording's own.

    Raises KeyError for a segment that is not there, ValueError where neutral is not marked or not seen.
    """
    relative = relative_rotation(motion, moving, reference)
    place_m = relative_place_m(motion, moving, reference)
    return about_neutral(motion, relative, place_m, moving, reference, neutral_s)


def relative_rotation(motion: SegmentMotion, moving: str = "head", reference: str = "trunk") -> Rotation:
    """reference_from_moving at each moment (n), before neutral; the identity or worse where either is not valid."""
    for segment in (moving, reference):
        motion.column(segment)
    return motion.frame_from_segment[reference].inv() * motion.frame_from_segment[moving]


def relative_place_m(motion: SegmentMotion, moving: str = "head", reference: str = "trunk") -> FloatArray | None:
    """Where the moving origin is in the axes of the reference (n, 3), zero where either is not valid; None unknown."""
    if motion.position_m is None:
        return None
    is_seen = motion.is_seen(moving) & motion.is_seen(reference)
    apart_m = motion.position_m[:, motion.column(moving)] - motion.position_m[:, motion.column(reference)]
    place_m: FloatArray = motion.frame_from_segment[reference].inv().apply(np.where(is_seen[:, None], apart_m, 0.0))
    return place_m


def about_neutral(
    motion: SegmentMotion,
    relative: Rotation,
    place_m: FloatArray | None,
    moving: str,
    reference: str,
    neutral_s: tuple[float, float] | None = None,
) -> HeadOnTrunk:
    """``head_on_trunk`` from a given relative rotation (n) and place (n, 3) of the two segments, such as drawn ones."""
    neutral_s = neutral_s or motion.neutral_s
    if neutral_s is None:
        raise ValueError("no neutral stretch given: mark a still stretch in neutral, angles are counted from there")
    is_seen = motion.is_seen(moving) & motion.is_seen(reference)
    is_neutral = is_seen & (motion.time_s >= neutral_s[0]) & (motion.time_s <= neutral_s[1])
    if not is_neutral.any():
        raise ValueError(f"{moving} and {reference} are not seen together from {neutral_s[0]} to {neutral_s[1]} s")
    rotation = relative * mean_rotation(relative[is_neutral]).inv()
    vector_deg = np.degrees(rotation.as_rotvec())
    angles = angles_deg(rotation)
    for turned in (vector_deg, angles):
        turned[~is_seen] = np.nan
    return HeadOnTrunk(
        time_s=motion.time_s,
        is_seen=is_seen,
        rotation=rotation,
        angles_deg=angles,
        rotation_vector_deg=vector_deg,
        total_deg=np.linalg.norm(vector_deg, axis=1),
        position_m=None if place_m is None else _moved_m(place_m, is_seen, is_neutral),
        neutral_s=neutral_s,
        measured_as=motion.measured_as,
        warnings=_gimbal(motion.time_s, angles),
    )


def angles_deg(rotation: Rotation) -> FloatArray:
    """Extension, right lateral bending and left axial rotation (n, 3) of rotations (n) [deg].

    Elements of the joint coordinate system: tan(extension) = -R12 / R22, sin(right lateral bending) = R32,
    tan(left axial rotation) = -R31 / R33 (Grood and Suntay 1983, in the axes of Wu and others 2002).
    """
    matrix = rotation.as_matrix()
    extension = np.arctan2(-matrix[:, 0, 1], matrix[:, 1, 1])
    lateral = np.arcsin(np.clip(matrix[:, 2, 1], -1.0, 1.0))
    axial = np.arctan2(-matrix[:, 2, 0], matrix[:, 2, 2])
    angles: FloatArray = np.degrees(np.stack([extension, lateral, axial], axis=1))
    return angles


def mean_rotation(rotations: Rotation) -> Rotation:
    """The mean of rotations (n) that lie near each other: the one from which their rotation vectors sum to zero."""
    mean = rotations[0]
    for _ in range(3):
        mean = mean * Rotation.from_rotvec((mean.inv() * rotations).as_rotvec().mean(axis=0))
    return mean


def _moved_m(place_m: FloatArray, is_seen: BoolArray, is_neutral: BoolArray) -> FloatArray:
    moved_m: FloatArray = place_m - place_m[is_neutral].mean(axis=0)
    moved_m[~is_seen] = np.nan
    return moved_m


def _gimbal(time_s: FloatArray, angles: FloatArray) -> tuple[str, ...]:
    limit_deg = choices().gimbal_warning_deg
    is_near = np.abs(angles[:, 1]) > limit_deg
    if not is_near.any():
        return ()
    return (
        f"lateral bending beyond {limit_deg:g} degrees at {time_s[is_near.argmax()]:.2f} s: extension and axial "
        "rotation cannot be told apart well there; read the total angle and the rotation vector",
    )
