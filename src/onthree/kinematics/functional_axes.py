"""Anatomical axes from movements or a pose: where flexion and axial rotation of the head on the trunk really turn.

Tags and sensors sit as they sit; the axes of a segment come from the places the tags were measured at, good to a degree
or two. A stand-in who nods and turns the head on purpose shows them better: the mean helical axis of nodding is that of
flexion and extension, that of turning the axial one. Both are made perpendicular, each giving way as far as it is
unsure. The head takes the axes of the trunk in neutral, so that head on trunk is the identity there.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import mean_rotation, relative_rotation
from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import BoolArray, FloatArray, RelativeUncertainty, SegmentMotion
from onthree.kinematics.stretch_choices import stretch_choices

FLEXION, AXIAL = np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])
AXES_BY_MOVEMENT = "axes by movement"

Stretch = tuple[float, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class Axes:
    """Anatomical axes in the axes that a recording has, of the moving segment and of the reference.

    ``covariance_rad2`` (3, 3) of the error of both together, in the anatomical axes, or None where they were not
    measured anew and the recording's own errors stand; ``said`` tells what they come from and what would be better.
    """

    moving: str
    reference: str
    moving_from_anatomical: Rotation
    reference_from_anatomical: Rotation
    covariance_rad2: FloatArray | None
    said: str


@dataclass(frozen=True, eq=False)
class HelicalAxis:
    """A mean helical axis (3), the standard deviation [rad] of its direction each way, how far it turned [deg]."""

    direction: FloatArray
    sd_rad: float
    turned_deg: float


def axes_from_movements(
    motion: SegmentMotion,
    nod_s: Stretch,
    turn_s: Stretch,
    moving: str = "head",
    reference: str = "trunk",
    is_forward_first: bool = False,
) -> Axes:
    """Axes from a stretch of pure nodding and one of pure turning, each there and back at least twice.

    The axes that the recording has say which way is which; if they say nothing (``is_forward_first``), the first nod
    must go forward and the first turn to the left. Raises ValueError where a movement is too small or not seen, or no
    neutral stretch is marked.
    """
    axes = [mean_helical_axis(motion, stretch, moving, reference) for stretch in (nod_s, turn_s)]
    if is_forward_first:
        signs = [-_first_sign(motion, nod_s, axes[0], moving, reference)]
        signs += [_first_sign(motion, turn_s, axes[1], moving, reference)]
    else:
        signs = [np.sign(axis.direction @ rough) for axis, rough in zip(axes, (FLEXION, AXIAL), strict=True)]
    found = np.stack([sign * axis.direction for sign, axis in zip(signs, axes, strict=True)])
    weights = np.array([axis.sd_rad**-2.0 for axis in axes])
    turn, _ = Rotation.align_vectors(found, np.stack([FLEXION, AXIAL]), weights=weights)
    skew_rad = float(np.arcsin(found[0] @ found[1]))
    wider_ratio = max(1.0, skew_rad**2 / float((1 / weights).sum()))
    known = sum(
        weight * (np.eye(3) - np.outer(axis, axis)) for weight, axis in zip(weights, (FLEXION, AXIAL), strict=True)
    )
    covariance_rad2 = wider_ratio * np.linalg.inv(known)
    sd_deg = float(np.degrees(np.sqrt(np.linalg.eigvalsh(covariance_rad2).max())))
    said = (
        f"axes of {reference} and {moving} from marked movements: nodding {nod_s[0]:g} to {nod_s[1]:g} s "
        f"({axes[0].turned_deg:.0f} degrees), turning {turn_s[0]:g} to {turn_s[1]:g} s ({axes[1].turned_deg:.0f} "
        f"degrees), {90 - abs(np.degrees(skew_rad)):.1f} degrees apart; sure to {sd_deg:.2f} degrees"
    )
    return Axes(
        moving=moving,
        reference=reference,
        moving_from_anatomical=_neutral(motion, moving, reference).inv() * turn,
        reference_from_anatomical=turn,
        covariance_rad2=covariance_rad2,
        said=said,
    )


def axes_from_pose(
    motion: SegmentMotion,
    up: FloatArray | None = None,
    up_sd_rad: float = 0.0,
    moving: str = "head",
    reference: str = "trunk",
) -> Axes:
    """Axes from the marked neutral stretch: those of the head are made those of the trunk there.

    Where somebody lies supine on level ground in that stretch and ``up`` (3) is known in the recording's frame to
    ``up_sd_rad``, the trunk's X is turned onto it the shortest way; how the trunk is turned about it stays as it was.
    Raises ValueError where no neutral stretch is marked or seen.
    """
    turn, covariance_rad2 = Rotation.identity(), None
    said = f"axes of {moving} are those of {reference} in neutral, which come from where its tags or sensors were put"
    if up is not None:
        upright = mean_rotation(motion.frame_from_segment[reference][_seen(motion, motion.neutral_s, reference)])
        in_trunk = upright.inv().apply(np.asarray(up, dtype=float) / np.linalg.norm(up))
        axis = np.cross([1.0, 0.0, 0.0], in_trunk)
        size = np.linalg.norm(axis)
        angle_rad = np.arctan2(size, in_trunk[0])
        turn = Rotation.from_rotvec(axis / size * angle_rad) if size > 0 else turn
        covariance_rad2 = np.diag([0.0, up_sd_rad**2, up_sd_rad**2])
        said = f"{said}; X was turned onto the upward direction, by {np.degrees(angle_rad):.1f} degrees"
    return Axes(
        moving=moving,
        reference=reference,
        moving_from_anatomical=_neutral(motion, moving, reference).inv() * turn,
        reference_from_anatomical=turn,
        covariance_rad2=covariance_rad2,
        said=f"{said}; mark a stretch of nodding and one of turning to be surer",
    )


def mean_helical_axis(
    motion: SegmentMotion, stretch_s: Stretch, moving: str = "head", reference: str = "trunk"
) -> HelicalAxis:
    """The mean of the instantaneous helical axes of a stretch, in the axes of the reference.

    Each step counts by its angle squared: how fast it turns says how well it shows an axis, so that no threshold is
    needed (Ancillao and others 2022). Raises ValueError where too little is seen or turned.
    """
    seen, count = _seen(motion, stretch_s, moving, reference), int(stretch_choices().movement_parts_count)
    if seen.sum() < 3 * count:
        raise ValueError(f"{seen.sum()} moments seen from {stretch_s[0]} to {stretch_s[1]} s, {3 * count} expected")
    relative = relative_rotation(motion, moving, reference)[seen]
    steps = (relative[1:] * relative[:-1].inv()).as_rotvec()
    whole = _main_axis(steps)
    angle_deg = np.degrees((relative * mean_rotation(relative).inv()).as_rotvec() @ whole)
    turned_deg = float(np.ptp(angle_deg))
    if turned_deg < choices().movement_least_deg:
        given = f"the movement from {stretch_s[0]} to {stretch_s[1]} s turned by {turned_deg:.1f} degrees"
        raise ValueError(f"{given}, at least {choices().movement_least_deg:g} expected: nod and turn further")
    parts = np.array_split(steps, count)
    weights = np.array([(part**2).sum() for part in parts])
    own = np.stack([_main_axis(part) for part in parts])
    own *= np.sign(own @ whole)[:, None]
    mean = weights @ own / weights.sum()
    mean /= np.linalg.norm(mean)
    off = own - np.outer(own @ mean, mean)
    variance = (weights**2 * (off**2).sum(axis=1)).sum() / weights.sum() ** 2 / 2 * count / (count - 1)
    return HelicalAxis(mean, float(np.sqrt(variance)), turned_deg)


def with_axes(
    motion: SegmentMotion, uncertainty: RelativeUncertainty, axes: Axes
) -> tuple[SegmentMotion, RelativeUncertainty]:
    """The recording in anatomical axes; its errors of the axes of both segments are replaced by those of ``axes``.

    Raises ValueError for an uncertainty of other segments.
    """
    if (uncertainty.moving, uncertainty.reference) != (axes.moving, axes.reference):
        given = f"uncertainty of {uncertainty.moving} on {uncertainty.reference}"
        raise ValueError(f"{given} given, {axes.moving} on {axes.reference} expected")
    turned = dict(motion.frame_from_segment)
    for segment, turn in ((axes.moving, axes.moving_from_anatomical), (axes.reference, axes.reference_from_anatomical)):
        is_valid = motion.is_seen(segment)
        quaternions = Rotation.identity(len(is_valid)).as_quat()
        if is_valid.any():
            quaternions[is_valid] = (turned[segment][is_valid] * turn).as_quat()
        turned[segment] = Rotation.from_quat(quaternions)
    motion = replace(motion, frame_from_segment=turned, flags=(*motion.flags, axes.said))
    uncertainty = _turned(uncertainty, axes.reference_from_anatomical.as_matrix())
    if axes.covariance_rad2 is None:
        return motion, uncertainty
    return motion, _with_axes_errors(motion, uncertainty, axes)


def _turned(uncertainty: RelativeUncertainty, turn: FloatArray) -> RelativeUncertainty:
    """The same errors in turned axes of the reference."""
    covariance, shared = uncertainty.position_cov_m2, uncertainty.position_shared_m
    return replace(
        uncertainty,
        noise_cov_rad2=_symmetric(turn.T @ uncertainty.noise_cov_rad2 @ turn),
        shared_rad=uncertainty.shared_rad @ turn,
        position_cov_m2=None if covariance is None else _symmetric(turn.T @ covariance @ turn),
        position_shared_m=None if shared is None else shared @ turn,
    )


def _with_axes_errors(motion: SegmentMotion, uncertainty: RelativeUncertainty, axes: Axes) -> RelativeUncertainty:
    """Errors d of the axes turn what is measured by R d - d, with R the head on the trunk.

    An old error of the axes of the reference goes; what it shifts is the same at all moments and goes with neutral. One
    of the moving segment keeps what it does to the place.
    """
    assert axes.covariance_rad2 is not None
    is_moving = np.array([name.startswith(f"axes of {axes.moving} ") for name in uncertainty.shared_names], dtype=bool)
    is_kept = np.array(
        [not name.startswith(f"axes of {axes.reference} ") for name in uncertainty.shared_names], dtype=bool
    )
    relative = relative_rotation(motion, axes.moving, axes.reference).as_matrix()
    root = np.linalg.cholesky(axes.covariance_rad2 + np.finfo(float).tiny * np.eye(3))
    own = np.einsum("nij,jk->kni", relative - np.eye(3), root)
    is_seen = motion.is_seen(axes.moving) & motion.is_seen(axes.reference)
    own = np.where(is_seen[:, None], own, 0.0)
    old = np.where(is_moving[:, None, None], 0.0, uncertainty.shared_rad)
    place = uncertainty.position_shared_m
    return replace(
        uncertainty,
        shared_rad=np.concatenate([old[is_kept], own]),
        position_shared_m=None if place is None else np.concatenate([place[is_kept], np.zeros_like(own)]),
        shared_names=(
            *(name for name, kept in zip(uncertainty.shared_names, is_kept, strict=True) if kept),
            *(f"{AXES_BY_MOVEMENT} {axis}" for axis in (1, 2, 3)),
        ),
    )


def _seen(motion: SegmentMotion, stretch_s: Stretch | None, *segments: str) -> BoolArray:
    if stretch_s is None:
        raise ValueError("no neutral stretch given: mark a still stretch in neutral, axes are taken over there")
    inside: BoolArray = (motion.time_s >= stretch_s[0]) & (motion.time_s <= stretch_s[1])
    for segment in segments:
        inside &= motion.is_seen(segment)
    if not inside.any():
        raise ValueError(f"{' and '.join(segments)} are not seen from {stretch_s[0]} to {stretch_s[1]} s")
    return inside


def _neutral(motion: SegmentMotion, moving: str, reference: str) -> Rotation:
    """reference_from_moving in the neutral stretch."""
    seen = _seen(motion, motion.neutral_s, moving, reference)
    return mean_rotation(relative_rotation(motion, moving, reference)[seen])


def _main_axis(steps: FloatArray) -> FloatArray:
    axis: FloatArray = np.linalg.eigh(steps.T @ steps)[1][:, -1]
    return axis


def _first_sign(
    motion: SegmentMotion, stretch_s: Stretch, axis: HelicalAxis, moving: str, reference: str
) -> np.float64:
    """Which way a movement first goes about its axis: 1 or -1."""
    relative = relative_rotation(motion, moving, reference)[_seen(motion, stretch_s, moving, reference)]
    angle_rad = (relative * relative[0].inv()).as_rotvec() @ axis.direction
    first = int(np.argmax(np.abs(angle_rad) > np.abs(angle_rad).max() / 2))
    sign: np.float64 = np.sign(angle_rad[first])
    return sign


def _symmetric(matrices: FloatArray) -> FloatArray:
    return (matrices + matrices.transpose(0, 2, 1)) / 2
