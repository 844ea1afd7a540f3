"""Frames of a film as the sensor wrote them: brightness only, each with its own presentation time.

Phones write films at a rate that varies, so a frame's place in the file says nothing about its time. A film that was
held upright carries a flag to turn it; the pixels are left as they are, so that one camera stays one camera.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

ByteArray = NDArray[np.uint8]

LARGEST_SIDE_PX = 4096
LATE_FRAMES = 2
"""Frames that may be missing at the end before a film counts as cut off; encoders announce one or two too many."""


class FilmError(ValueError):
    """A film that cannot be read; says which, why, and what to do."""

    def __init__(self, path: Path, problem: str, fix: str) -> None:
        super().__init__(f"{path.name}: {problem}; {fix}")


@dataclass(frozen=True, eq=False)
class Frame:
    """One frame: its time since the first [s], and its brightness (height, width)."""

    time_s: float
    luma: ByteArray


@dataclass
class Film:
    """A film on disk; after reading, ``broke_at_s`` says where a damaged one ended, else None.

    ``turned_deg`` is how far the film is to be turned counter-clockwise to be seen upright; the frames are not turned.
    """

    path: Path
    width: int
    height: int
    duration_s: float | None
    announced_count: int
    turned_deg: float = 0.0
    broke_at_s: float | None = None

    def frames(self) -> Iterator[Frame]:
        """Every frame that can be read, in order of time. Raises FilmError if there are none, or they have no times."""
        count, start, time_s = 0, None, -1.0
        self.broke_at_s = None
        with _opened(self.path) as (container, stream):
            for picture in _decoded(container, stream):
                if picture.pts is None or picture.time_base is None:
                    raise FilmError(self.path, "frames without time stamps", "export it again as MP4 or MOV")
                moment = picture.pts * Fraction(picture.time_base)
                start = moment if start is None else start
                if count == 0:
                    self.turned_deg = float(picture.rotation)
                if float(moment - start) <= time_s:
                    continue
                time_s = float(moment - start)
                count += 1
                yield Frame(time_s, _luma(picture))
        if count < 2:
            raise FilmError(self.path, f"{count} frames could be read", "give a film, not a photo or a broken file")
        if count + LATE_FRAMES < self.announced_count:
            self.broke_at_s = time_s


def open_film(path: Path) -> Film:
    """Open a film and read what its header says. Raises FilmError with what to do."""
    with _opened(path) as (_, stream):
        if max(stream.width, stream.height) > LARGEST_SIDE_PX:
            size = f"{stream.width} x {stream.height} pixels"
            raise FilmError(path, size, f"film with at most {LARGEST_SIDE_PX} pixels to the longer side")
        duration_s = None
        if stream.duration is not None and stream.time_base is not None:
            duration_s = float(stream.duration * stream.time_base)
        return Film(path, stream.width, stream.height, duration_s, stream.frames)


@contextmanager
def _opened(path: Path) -> Iterator[tuple[InputContainer, VideoStream]]:
    try:
        container = av.open(str(path))
    except FileNotFoundError:
        raise FilmError(path, "no such file", "check the name") from None
    except (av.FFmpegError, OSError) as error:
        fix = "if the recording was cut off while it ran, the phone could not finish the file: film again"
        raise FilmError(path, f"not a film that can be read ({error.strerror})", fix) from None
    with container:
        if not container.streams.video:
            raise FilmError(path, "holds no pictures, only sound or data", "give the film itself")
        stream = container.streams.video[0]
        if not stream.width or not stream.height:
            raise FilmError(path, "its pictures have no size", "export it again as MP4 or MOV")
        yield container, stream


def _decoded(container: InputContainer, stream: VideoStream) -> Iterator[VideoFrame]:
    """Frames until the end or the first that is damaged."""
    stream.thread_type = "AUTO"
    try:
        yield from container.decode(stream)
    except av.FFmpegError:
        return


def _luma(picture: VideoFrame) -> ByteArray:
    """The brightness plane (height, width), without the padding of its lines and without a conversion of colour."""
    if not picture.format.name.startswith(("yuv4", "yuvj4", "nv12", "gray")) or picture.format.components[0].bits != 8:
        return np.ascontiguousarray(picture.to_ndarray(format="gray"))
    plane = picture.planes[0]
    rows = np.frombuffer(memoryview(plane), np.uint8).reshape(-1, plane.line_size)
    luma: ByteArray = rows[: picture.height, : picture.width]
    return luma
