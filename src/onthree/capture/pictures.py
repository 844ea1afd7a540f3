"""Single pictures: photos as the sensor wrote them, and frames of a film a little apart."""

from collections.abc import Iterable, Iterator
from pathlib import Path

import cv2
import numpy as np

from onthree.capture.film import ByteArray, FilmError, Frame

HOW_TO_READ = cv2.IMREAD_GRAYSCALE | cv2.IMREAD_IGNORE_ORIENTATION


def read_photo(path: Path) -> ByteArray:
    """The brightness (height, width) of a photo, not turned. Raises FilmError."""
    try:
        content = np.frombuffer(path.read_bytes(), np.uint8)
    except OSError as error:
        raise FilmError(path, f"cannot be read ({error.strerror})", "check the name") from None
    picture = cv2.imdecode(content, HOW_TO_READ) if len(content) else None
    if picture is None:
        raise FilmError(path, "a photo of a kind that cannot be read", "save it as JPEG or PNG")
    return np.asarray(picture, np.uint8)


def spaced(frames: Iterable[Frame], step_s: float) -> Iterator[Frame]:
    """Frames at least this far apart in time."""
    next_s = 0.0
    for frame in frames:
        if frame.time_s >= next_s:
            next_s = frame.time_s + step_s
            yield frame
