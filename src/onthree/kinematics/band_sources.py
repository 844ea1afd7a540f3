"""What makes a band wide: how far each measure would spread if only one kind of error had been made."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial.transform import Rotation

from onthree.kinematics.angles import about_neutral, relative_place_m, relative_rotation
from onthree.kinematics.bands import drawn_errors, drawn_place_errors
from onthree.kinematics.choices import choices
from onthree.kinematics.measures import Phase, measures
from onthree.kinematics.segment_motion import BoolArray, FloatArray, RelativeUncertainty, SegmentMotion

NOISE = "measurement noise"
KINDS = {
    "layout": "places of tags",
    "axes": "segment axes",
    "origin": "segment origins",
    "focal": "focal length",
    "clock": "clocks of the films",
    "standing": "tags that stand still",
    "readout": "rows of the camera",
}
"""What the shared errors are called, by the first word of their names."""


def spread_by_kind(
    motion: SegmentMotion,
    uncertainty: RelativeUncertainty,
    phases: Sequence[Phase],
    rng: np.random.Generator,
    bound_deg: float | None = None,
    neutral_s: tuple[float, float] | None = None,
) -> dict[str, FloatArray]:
    """Standard deviations (p, m) of the measures (in the order of ``NAMES``) of p phases, by the kind of error.

    Unlike shares of one joint set of draws, these also tell an error that acts by its square, as crooked axes do.
    """
    moving, reference, count = uncertainty.moving, uncertainty.reference, int(choices().draws_by_kind_count)
    relative = relative_rotation(motion, moving, reference)
    place_m = relative_place_m(motion, moving, reference)
    found = {}
    for kind, only in _by_kind(uncertainty).items():
        errors_rad, units = drawn_errors(only, motion.time_s, rng, count)
        errors_m = drawn_place_errors(only, motion.time_s, rng, units)
        drawn = []
        for number in range(count):
            turned = Rotation.from_rotvec(-errors_rad[number]) * relative
            shifted_m = place_m if place_m is None or errors_m is None else place_m - errors_m[number]
            track = about_neutral(motion, turned, shifted_m, moving, reference, neutral_s)
            drawn.append([measures(track, phase, bound_deg).values for phase in phases])
        found[kind] = np.std(drawn, axis=0)
    return found


def _by_kind(uncertainty: RelativeUncertainty) -> dict[str, RelativeUncertainty]:
    """The uncertainty if only one kind of error had been made, by the name of the kind."""
    kinds = np.array([KINDS.get(name.split()[0], name) for name in uncertainty.shared_names])
    return {str(kind): _only(uncertainty, kind == NOISE, kinds == kind) for kind in (NOISE, *dict.fromkeys(kinds))}


def _only(uncertainty: RelativeUncertainty, is_noise: bool, is_of_kind: BoolArray) -> RelativeUncertainty:
    shared = is_of_kind[:, None, None]
    only = replace(
        uncertainty,
        noise_cov_rad2=is_noise * uncertainty.noise_cov_rad2,
        shared_rad=np.where(shared, uncertainty.shared_rad, 0.0),
    )
    if uncertainty.position_cov_m2 is None or uncertainty.position_shared_m is None:
        return only
    return replace(
        only,
        position_cov_m2=is_noise * uncertainty.position_cov_m2,
        position_shared_m=np.where(shared, uncertainty.position_shared_m, 0.0),
    )
