"""Why no tag of a rig was seen in a film: another family, other ids, a mirrored film, or nothing there at all."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

import cv2
import numpy as np

from onthree.capture.detectors import OPENCV_FAMILIES, tag_detector
from onthree.capture.film import ByteArray, FilmError, open_film
from onthree.capture.pictures import spaced
from onthree.capture.rig import Rig
from onthree.capture.tags import Sightings

LOOKED_AT = 8
LEAST_SEEN = 3
"""Detections from which on another family is believed; small patterns are seen now and then in anything."""
OTHER_FAMILIES = {
    "tag36h10": cv2.aruco.DICT_APRILTAG_36h10,
    "ArUco 4x4": cv2.aruco.DICT_4X4_1000,
    "ArUco 5x5": cv2.aruco.DICT_5X5_1000,
    "ArUco 6x6": cv2.aruco.DICT_6X6_1000,
    "ArUco 7x7": cv2.aruco.DICT_7X7_1000,
    "ArUco MIP 36h12": cv2.aruco.DICT_ARUCO_MIP_36h12,
}
LIBRARY_FAMILIES = ("tagStandard41h12",)
"""Families that only the first library knows; its larger ones take too long to set up."""
DARK_GREY = 40.0
"""Mean grey value below which a film is called dark."""


class NoTagsError(FilmError):
    """A film in which no tag of the rig was seen; says what was seen instead."""


def check_seen(path: Path, rig: Rig, sightings: Sightings) -> None:
    """Raises NoTagsError, with the reason, for a film in which no tag of the rig was seen."""
    if len(sightings.tag):
        return
    if sightings.flags:
        raise NoTagsError(path, "no tag of the rig was seen alone", "; ".join(sightings.flags))
    raise why_no_tags(path, rig)


def why_no_tags(path: Path, rig: Rig) -> NoTagsError:
    """What a few frames of a film show instead of the tags of a rig. Raises FilmError if it cannot be read."""
    film = open_film(path)
    step_s = (film.duration_s or LOOKED_AT) / LOOKED_AT
    pictures = [frame.luma.copy() for frame in islice(spaced(film.frames(), step_s), LOOKED_AT)]
    return NoTagsError(path, *_what_is_seen(pictures, rig))


def _what_is_seen(pictures: Sequence[ByteArray], rig: Rig) -> tuple[str, str]:
    wanted = {tag.id for tag in rig.tags}
    seen = _ids(pictures, rig.family)
    if seen and not wanted & seen.keys():
        ids = ", ".join(map(str, sorted(seen)))
        return f"tags {ids} of {rig.family} were seen, none of them in the rig", "give the rig file of these tags"
    if wanted & _ids([np.ascontiguousarray(picture[:, ::-1]) for picture in pictures], rig.family).keys():
        fix = "switch mirroring off (front camera) and film again; right and left would be exchanged"
        return "the film is mirrored: its tags can be read only in a mirror", fix
    others = sorted(_of_other_families(pictures, rig.family), reverse=True)
    if others and others[0][0] >= LEAST_SEEN:
        seen_instead = f"no tag of {rig.family} was seen, but tags of {others[0][1]}"
        return seen_instead, "name the family that was printed in the rig file, or print the rig's"
    grey = float(np.mean([picture.mean() for picture in pictures]))
    dark = f", which are dark (mean grey value {grey:.0f} of 255)" if grey < DARK_GREY else ""
    fix = "check light, focus, distance, and that the tags were in the picture"
    return f"no tag was seen in {len(pictures)} frames looked at{dark}", fix


def _ids(pictures: Sequence[ByteArray], family: str) -> Counter[int]:
    detector = tag_detector("pupil", family)
    return Counter(tag for picture in pictures for tag, _ in detector.detect(picture))


def _of_other_families(pictures: Sequence[ByteArray], family: str) -> Iterator[tuple[int, str]]:
    """How often tags of each other family are seen."""
    for name, dictionary in (OPENCV_FAMILIES | OTHER_FAMILIES).items():
        if name != family:
            parameters = cv2.aruco.DetectorParameters()
            parameters.errorCorrectionRate = 0.0
            detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(dictionary), parameters)
            yield sum(len(detector.detectMarkers(picture)[0]) for picture in pictures), name
    yield from ((_ids(pictures, name).total(), name) for name in LIBRARY_FAMILIES if name != family)
