"""A rendered film of a log roll with exactly known truth, read from tags measured by hand with a ruler.

No film can know which way the axes of a segment point, or where on it its origin lies: that comes from the hand. So
angles and places are compared after the found tags of each segment were laid as a whole upon the true ones; what the
hand's axes cost is checked against what the tool says about it.
"""

import csv
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import guessed_camera
from onthree.capture.poses import SQUARE
from onthree.capture.rig import Rig, rig_from
from onthree.capture.tagged_video import TaggedVideo, read_tagged_video
from onthree.kinematics.segment_motion import SegmentMotion

pytestmark = pytest.mark.open_data

FloatArray = NDArray[np.float64]
ORDER = "ZXY"


@dataclass(frozen=True, eq=False)
class Film:
    """The film as read, its true camera and rig, and the true rotation (n) and place (n, 3) [mm] of head on trunk."""

    read: TaggedVideo
    focal_px: float
    rig: Rig
    rotation: Rotation
    place_mm: FloatArray

    def laid_on_truth(self, segment: str) -> tuple[Rotation, FloatArray]:
        """The turn and shift [m] that lay the found tags of a segment upon the true ones."""
        true = {tag.id: tag for tag in self.rig.tags}
        found, wanted = [], []
        for row, tag in enumerate(self.read.layout.tags):
            if tag.segment == segment:
                rotvec, centre_m = true[tag.id].rotvec_rad, true[tag.id].centre_m
                assert rotvec is not None and centre_m is not None
                layout = self.read.layout.fit.layout
                found.append(layout.place_m[row] + tag.size_m * SQUARE @ layout.rotation[row].T)
                wanted.append(centre_m + Rotation.from_rotvec(rotvec).apply(tag.size_m * SQUARE))
        here, there = np.concatenate(found), np.concatenate(wanted)
        turn, _ = Rotation.align_vectors(there - there.mean(axis=0), here - here.mean(axis=0))
        return turn, there.mean(axis=0) - turn.apply(here.mean(axis=0))

    def relative(self, motion: SegmentMotion) -> tuple[Rotation, FloatArray]:
        """Rotation and place [mm] of the head on the trunk, in the true axes."""
        (turn_head, shift_head), (turn_trunk, shift_trunk) = self.laid_on_truth("head"), self.laid_on_truth("trunk")
        head, trunk = motion.frame_from_segment["head"], motion.frame_from_segment["trunk"]
        assert motion.position_m is not None
        rotation = trunk.inv() * head
        origin_m = rotation.apply(turn_head.inv().apply(-shift_head))
        place_m = trunk.inv().apply(motion.position_m[:, 0] - motion.position_m[:, 1]) + origin_m
        return turn_trunk * rotation * turn_head.inv(), 1000 * (turn_trunk.apply(place_m) + shift_trunk)

    def error_rad(self, motion: SegmentMotion) -> FloatArray:
        """The error as a rotation vector in the true axes of the trunk (n, 3)."""
        error: FloatArray = (self.relative(motion)[0] * self.rotation.inv()).as_rotvec()
        return error


@pytest.fixture(scope="module")
def film(open_data: Path) -> Film:
    folder = open_data / "video"
    described = json.loads((folder / "roll-with-tags.json").read_text(encoding="utf-8"))
    with (folder / "roll-with-tags.truth.csv").open(encoding="utf-8", newline="") as file:
        truth = np.array([[float(value) for value in row] for row in list(csv.reader(file))[1:]])
    camera = described["camera"]
    start = guessed_camera(camera["width"], camera["height"], 1.05 * camera["fx"])
    by_hand = rig_from({"tag": described["tags_as_measured_by_hand"], "measured_as": "helmet on trunk"})
    read = read_tagged_video(folder / "roll-with-tags.mp4", by_hand, start, neutral_s=(0.0, 0.5))
    rotation = Rotation.from_euler(ORDER, truth[:, 1:4], degrees=True)
    np.testing.assert_allclose(read.motion.time_s, truth[:, 0], atol=1e-6)
    return Film(read, camera["fx"], rig_from({"tag": described["tags_true"]}), rotation, truth[:, 5:8])


def test_every_frame_is_read(film: Film) -> None:
    assert film.read.seen_ratio == {"head": 1.0, "trunk": 1.0}
    assert film.read.layout.slipped == ()


def test_focal_is_within_half_a_percent(film: Film) -> None:
    fit = film.read.layout.fit

    assert fit.camera[0] == pytest.approx(film.focal_px, rel=0.005)
    assert abs(fit.camera[0] - film.focal_px) < 4 * np.sqrt(fit.covariance[0, 0])


def test_angles_are_within_a_tenth_of_a_degree(film: Film) -> None:
    error_deg = np.degrees(film.error_rad(film.read.motion))
    angles = film.relative(film.read.motion)[0].as_euler(ORDER, degrees=True) - film.rotation.as_euler(
        ORDER, degrees=True
    )

    assert np.sqrt((error_deg**2).mean(axis=0)).max() <= 0.10
    assert np.sqrt((angles**2).mean(axis=0)).max() <= 0.10
    assert np.abs(error_deg).max() < 0.5, "no flip"


def test_ranges_are_within_a_fifth_of_a_degree(film: Film) -> None:
    found, true = (
        np.ptp(rotation.as_euler(ORDER, degrees=True), axis=0)
        for rotation in (film.relative(film.read.motion)[0], film.rotation)
    )

    assert np.abs(found - true).max() <= 0.2


def test_places_are_within_two_millimetres(film: Film) -> None:
    off_mm = film.relative(film.read.motion)[1] - film.place_mm

    assert np.sqrt((off_mm**2).mean(axis=0)).max() <= 2.0


@pytest.mark.parametrize("kind", ["smoothed", "raw"])
def test_errors_are_as_large_as_stated(film: Film, kind: str) -> None:
    motion = film.read.motion if kind == "smoothed" else film.read.raw
    uncertainty = (film.read.uncertainty if kind == "smoothed" else film.read.raw_uncertainty)[0]
    in_own_axes = film.laid_on_truth("trunk")[0].inv().apply(film.error_rad(motion))
    is_axes = np.array([name.startswith("axes") for name in uncertainty.shared_names])
    shared = uncertainty.shared_rad[~is_axes]
    covariance = uncertainty.noise_cov_rad2 + np.einsum("kni,knj->nij", shared, shared)
    share = (np.abs(in_own_axes) < 1.96 * np.sqrt(np.einsum("nii->ni", covariance))).mean()

    assert (uncertainty.moving, uncertainty.reference) == ("head", "trunk")
    assert 0.88 < share < 0.99, "one film; its errors go along with each other"


def test_what_the_axes_of_the_hand_cost_is_stated(film: Film) -> None:
    for index, segment in enumerate(film.read.layout.segments):
        turn, _ = film.laid_on_truth(segment)
        covariance = film.read.layout.gauge_covariance[6 * index : 6 * index + 3, 6 * index : 6 * index + 3]

        assert turn.as_rotvec() @ np.linalg.solve(covariance, turn.as_rotvec()) < 11.3, "99 % of chi square, 3 degrees"
