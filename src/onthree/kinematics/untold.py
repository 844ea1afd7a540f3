"""What a recording cannot tell where nobody knows which way a segment points, or where its origin is: unknown, no band.

About neutral the axes of the moving segment fall out of its angles, and the origin of the reference out of its shifts;
the axes of the reference and the origin of the moving segment do not. Total angle, path and speed need neither.
"""

from dataclasses import dataclass, replace

import numpy as np

from onthree.kinematics.angles import HeadOnTrunk
from onthree.kinematics.bands import Bands
from onthree.kinematics.measures import AXIS_NAMES, NAMES, PLANE_NAMES, WAY_NAMES, PhaseMeasures
from onthree.kinematics.segment_motion import BoolArray, FloatArray

_EACH_WAY = (*PLANE_NAMES, *(way for ways in WAY_NAMES for way in ways), *(f"range_{axis}_m" for axis in AXIS_NAMES))


@dataclass(frozen=True)
class Untold:
    """Whether the axes of the reference are unknown, and the origin of the moving segment."""

    axes: bool = False
    origin: bool = False

    @property
    def names(self) -> BoolArray:
        """Which measures (m, in the order of ``NAMES``) are not told."""
        return np.array(
            [
                (self.axes and any(part in name for part in _EACH_WAY)) or (self.origin and name.endswith("_m"))
                for name in NAMES
            ]
        )

    def of_values(self, values: FloatArray) -> FloatArray:
        """Numbers (m), NaN where they are not told."""
        told: FloatArray = np.where(self.names, np.nan, values)
        return told

    def of_measures(self, found: PhaseMeasures) -> PhaseMeasures:
        """Measures without those that are not told."""
        return replace(found, values=self.of_values(found.values), moments_s=self.of_values(found.moments_s))

    def of_bands(self, found: Bands) -> Bands:
        """Bands without those that are not told."""
        shares = np.where(self.names[:, None], np.nan, found.share_ratios)
        return replace(found, low=self.of_values(found.low), high=self.of_values(found.high), share_ratios=shares)

    def of_track(self, track: HeadOnTrunk) -> HeadOnTrunk:
        """A track whose angles each way, and what would be noticed of them, are unknown if its axes are."""
        if not self.axes:
            return track
        unknown = np.full_like(track.angles_deg, np.nan)
        return replace(track, angles_deg=unknown, rotation_vector_deg=unknown, warnings=())
