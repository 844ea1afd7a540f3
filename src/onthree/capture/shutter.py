"""Rolling shutter: the rows of a frame are read one after the other, so that what moves is seen at many moments.

The moment of a frame is taken to be that of its middle row; row r of h is read readout x ((r + 1/2) / h - 1/2) later.
Each corner is moved to where it would have been at the moment of the frame, by how fast its segment then moved.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import projected
from onthree.capture.layout import Layout
from onthree.capture.poses import SQUARE
from onthree.capture.tags import Sightings
from onthree.capture.tracks import Track

FloatArray = NDArray[np.float64]


def at_frame_moments(
    sightings: Sightings, layout: Layout, tracks: dict[str, Track], readout_s: float, height_px: int
) -> Sightings:
    """The sightings with corners where they were at the moment of the frame; as they are where a segment is not known.

    ``readout_s`` is the time from the first row to the last, negative if the last is read first.
    """
    corners_px = sightings.corners_px.copy()
    for row, tag in enumerate(layout.tags):
        track = tracks[tag.segment]
        rows = np.flatnonzero((sightings.tag == tag.id) & track.is_valid[sightings.frame])
        frame = sightings.frame[rows]
        body, speed = track.smoothed.poses[frame], track.smoothed.speed[frame]
        inside = layout.fit.layout.rotation[row] @ (SQUARE * tag.size_m).T
        arms_m = body.rotation @ (inside + layout.fit.layout.place_m[row][:, None])
        late_s = readout_s * ((corners_px[rows, :, 1] + 0.5) / height_px - 0.5)
        for corner in range(len(SQUARE)):
            turn = Rotation.from_rotvec(speed[:, :3] * late_s[:, corner, None])
            then_m = turn.apply(arms_m[:, :, corner]) + body.place_m + speed[:, 3:] * late_s[:, corner, None]
            now_px, then_px = (
                projected(layout.fit.camera, points_m) for points_m in (arms_m[:, :, corner] + body.place_m, then_m)
            )
            corners_px[rows, corner] += now_px - then_px
    return replace(sightings, corners_px=corners_px)
