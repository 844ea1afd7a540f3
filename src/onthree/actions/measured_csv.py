"""The angles of a film at every moment, raw and smoothed, as CSV."""

import csv
import io

import numpy as np

from onthree.actions.measure import CAUTIONS, FilmResult
from onthree.capture.tagged_video import are_of_a_tag
from onthree.kinematics.angles import ORDER
from onthree.kinematics.measures import PLANE_NAMES
from onthree.kinematics.segment_motion import FloatArray

ANGLES = (*PLANE_NAMES, "total")
COLUMNS = (
    "time_s",
    "valid",
    *(f"{plane}_deg" for plane in ANGLES),
    *(f"{plane}_half_band_deg" for plane in ANGLES),
    *(f"rotation_vector_{axis}_deg" for axis in "xyz"),
    *(f"raw_{plane}_deg" for plane in ANGLES),
    *(f"raw_rotation_vector_{axis}_deg" for axis in "xyz"),
)


def angles_csv(result: FilmResult, half_deg: FloatArray) -> str:
    """A table of the angles with the order and the signs above it; a field is empty where the head is not known.

    ``half_deg`` (n, 4): half widths of the bands.
    """
    smooth, raw = result.track, result.raw_track
    numbers = np.column_stack(
        [
            smooth.angles_deg,
            smooth.total_deg,
            half_deg,
            smooth.rotation_vector_deg,
            raw.angles_deg,
            raw.total_deg,
            raw.rotation_vector_deg,
        ]
    )
    text = io.StringIO()
    for line in _head(result):
        text.write(f"# {line}\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for time_s, is_seen, row in zip(smooth.time_s, smooth.is_seen, numbers, strict=True):
        writer.writerow([f"{time_s:.6f}", int(is_seen), *_shown(row)])
    return text.getvalue()


def _head(result: FilmResult) -> list[str]:
    return [
        f"{' on '.join(result.pair)} from {result.name}, "
        f"measured as {result.read.motion.measured_as}; {result.neutral_said}",
        f"angles in degrees, order {ORDER}; flexion, left lateral bending and right axial rotation are negative",
        f"rotation vector about the {result.pair[1]}'s x (anterior), y (cranial), z (right); total is its length",
        "smoothed first, raw last; half_band is half of the 95 % band of the smoothed; times from the first frame",
        f"empty where {result.pair[0]} or {result.pair[1]} is not known (valid 0): nothing is filled in",
        *(flag for flag in result.read.motion.flags if are_of_a_tag((flag,), result.pair[1])),
        *CAUTIONS,
    ]


def _shown(row: FloatArray) -> list[str]:
    return ["" if np.isnan(number) else f"{number:.4f}" for number in row]
