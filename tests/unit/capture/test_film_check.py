"""A film without the rig's tags says what was seen instead: other ids, another family, a mirror image, or the dark."""

from dataclasses import replace
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from onthree.capture.film_check import NoTagsError, check_seen, why_no_tags
from onthree.capture.rig import Rig, RigTag
from onthree.capture.tags import Sightings
from tests.unit.capture.test_tags import UPRIGHT, drawn

RIG = Rig("tag36h11", "helmet on trunk", (RigTag(7, "head", 0.07, None, None),), 0.01, 0.09)


def filmed(path: Path, picture: NDArray[np.uint8]) -> Path:
    """A film of four frames that show a picture."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=4, options={"crf": "10", "preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt = picture.shape[1], picture.shape[0], "yuv420p"
        for _ in range(4):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), "gray").reformat(format="yuv420p")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def other_family(dictionary: int) -> NDArray[np.uint8]:
    """A picture of one marker of another family."""
    marker = cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(dictionary), 3, 80)
    sheet = cv2.copyMakeBorder(marker, 20, 20, 20, 20, cv2.BORDER_CONSTANT, value=255)
    return np.asarray(cv2.copyMakeBorder(sheet, 60, 60, 100, 100, cv2.BORDER_CONSTANT, value=120), np.uint8)


@pytest.mark.parametrize(
    ("picture", "said"),
    [
        (drawn({9: UPRIGHT}), "tags 9 of tag36h11 were seen, none of them in the rig"),
        (drawn({7: UPRIGHT})[:, ::-1], "the film is mirrored"),
        (other_family(cv2.aruco.DICT_APRILTAG_25h9), "no tag of tag36h11 was seen, but tags of tag25h9"),
        (other_family(cv2.aruco.DICT_5X5_50), "but tags of ArUco 5x5"),
        (np.full((240, 320), 110, np.uint8), r"no tag was seen in 4 frames looked at; check light"),
        (np.full((240, 320), 20, np.uint8), "looked at, which are dark"),
    ],
    ids=["other ids", "mirrored", "tag25h9", "ArUco 5x5", "nothing", "dark"],
)
def test_what_is_seen_instead_is_said(picture: NDArray[np.uint8], said: str, tmp_path: Path) -> None:
    with pytest.raises(NoTagsError, match=said):
        raise why_no_tags(filmed(tmp_path / "film.mp4", picture), RIG)


def test_a_film_with_the_rigs_tags_passes_and_one_with_doubles_alone_does_not(tmp_path: Path) -> None:
    some = Sightings(np.zeros(1), np.zeros(1, np.int64), np.full(1, 7), UPRIGHT[None])
    check_seen(tmp_path / "never-opened.mp4", RIG, some)

    doubles = replace(some.of(np.zeros(1, dtype=bool)), flags=("two tags with id 7 were seen in 4 frames",))
    with pytest.raises(NoTagsError, match="no tag of the rig was seen alone; two tags with id 7"):
        check_seen(tmp_path / "never-opened.mp4", RIG, doubles)
