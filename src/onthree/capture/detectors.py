"""Two libraries that find printed tags in a picture, made to say the same: ids, and corners in our order and pixels.

Image coordinates have pixel centres at integers. The corners of a tag go round as on the upright printed sheet seen
from the front: top left, top right, bottom right, bottom left.
"""

from collections.abc import Iterator
from typing import Literal, Protocol

import cv2
import numpy as np
from numpy.typing import NDArray
from pupil_apriltags import Detector  # type: ignore[import-untyped]

from onthree.capture.film import ByteArray

FloatArray = NDArray[np.float64]
Library = Literal["pupil", "opencv"]

PIXEL_CENTRE_PX = 0.5
"""The first library puts the centre of the first pixel at one half."""
OUR_ORDER = (1, 0, 3, 2)
"""Its corners go the other way round, and start at the bottom of a sheet it takes to be upside down."""
LEAST_MARGIN = 55.0
"""Decision margin (contrast of the code) below which a detection is not believed."""
DECIMATED = 2
"""Tags are looked for in every second pixel; corners are made finer in all of them."""
OPENCV_FAMILIES = {
    "tag36h11": cv2.aruco.DICT_APRILTAG_36h11,
    "tag25h9": cv2.aruco.DICT_APRILTAG_25h9,
    "tag16h5": cv2.aruco.DICT_APRILTAG_16h5,
}


class TagDetector(Protocol):
    """Finds tags of one family in a picture."""

    def detect(self, luma: ByteArray) -> Iterator[tuple[int, FloatArray]]:
        """Id and corners (4, 2) [px] of each tag."""


class DetectorError(ValueError):
    """A tag family that a library does not know."""


def tag_detector(library: Library, family: str, decimated: int = DECIMATED) -> TagDetector:
    """The detector of a library. Raises DetectorError if it does not know the family."""
    if library == "pupil":
        return _Pupil(family, decimated)
    if family not in OPENCV_FAMILIES:
        known = ", ".join(OPENCV_FAMILIES)
        raise DetectorError(f"the second detector does not know {family}: it knows {known}")
    return _OpenCv(family)


class _PupilLibrary(Detector):  # type: ignore[misc]
    """The library's detector, ended in an order that does not crash: it frees the tag families its end still reads."""

    def __del__(self) -> None:
        pointer = getattr(self, "tag_detector_ptr", None)
        if pointer is not None:
            self.libc.apriltag_detector_destroy.restype = None
            self.libc.apriltag_detector_destroy(pointer)


class _Pupil:
    def __init__(self, family: str, decimated: int) -> None:
        self._detector = _PupilLibrary(families=family, nthreads=1, quad_decimate=float(decimated))

    def detect(self, luma: ByteArray) -> Iterator[tuple[int, FloatArray]]:
        for detection in self._detector.detect(np.ascontiguousarray(luma)):
            if detection.hamming == 0 and detection.decision_margin >= LEAST_MARGIN:
                yield detection.tag_id, detection.corners[OUR_ORDER, :] - PIXEL_CENTRE_PX


class _OpenCv:
    def __init__(self, family: str) -> None:
        parameters = cv2.aruco.DetectorParameters()
        parameters.errorCorrectionRate = 0.0
        dictionary = cv2.aruco.getPredefinedDictionary(OPENCV_FAMILIES[family])
        self._detector = cv2.aruco.ArucoDetector(dictionary, parameters)

    def detect(self, luma: ByteArray) -> Iterator[tuple[int, FloatArray]]:
        corners, ids, _ = self._detector.detectMarkers(np.ascontiguousarray(luma))
        for tag, places in zip([] if ids is None else ids.ravel(), corners, strict=True):
            yield int(tag), places.reshape(4, 2).astype(np.float64)
