"""Frames of a film as the sensor wrote them: brightness only, each with its own presentation time.

Phones write films at a rate that varies, so a frame's place in the file says nothing about its time. A film that was
held upright carries a flag to turn it; the pixels are left as they are, so that one camera stays one camera.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

ByteArray = NDArray[np.uint8]

LARGEST_SIDE_PX = 4096
LATE_FRAMES = 2
"""Frames that may be missing at the end before a film counts as cut off; encoders announce one or two too many."""
HDR_TRANSFERS = {16: "PQ", 18: "HLG"}
"""Transfer characteristics of ITU-T H.273 (2016), table 3, in which brightness is written for HDR screens."""
PHOTO_BRANDS = ("heic", "heix", "hevc", "heim", "mif1", "msf1", "avif")
"""Brands of files that hold still pictures, ISO/IEC 23008-12 and 14496-12; from memory."""
PHOTO_FORMATS = ("image2", "gif", "_pipe")


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

    ``turned_deg`` is how far the film is to be turned counter-clockwise to be seen upright; its frames are not turned.
    ``begins_s`` is the first frame's place on the file's own clock, ``bits`` what a brightness was written with,
    ``hdr`` the curve of an HDR film.
    """

    path: Path
    width: int
    height: int
    duration_s: float | None
    announced_count: int
    turned_deg: float = 0.0
    broke_at_s: float | None = None
    begins_s: float = 0.0
    bits: int = 8
    hdr: str | None = None

    def frames(self) -> Iterator[Frame]:
        """Every frame that can be read, in order of time. Raises FilmError if there are none, or they have no times."""
        count, time_s, is_broken = 0, -1.0, False
        self.broke_at_s = None
        with _opened(self.path) as (container, stream):
            try:
                for picture in _decoded(container, stream):
                    moment_s = self._moment_s(picture, is_first=count == 0)
                    if moment_s > time_s:
                        time_s = moment_s
                        count += 1
                        yield Frame(time_s, _luma(picture))
            except _BrokenError:
                is_broken = True
        if count < 2:
            frames = "1 frame" if count else "no frames"
            raise FilmError(self.path, f"{frames} could be read", "give a film, not a photo or a broken file")
        if is_broken or self._is_short(count, time_s):
            self.broke_at_s = time_s

    def flags(self) -> Iterator[str]:
        """What is to be said about a film that was read."""
        if self.broke_at_s is not None:
            yield f"the film breaks off at {self.broke_at_s:.2f} s: {self.announced_count} frames were announced"
        if self.hdr is not None:
            yield f"an HDR film ({self.hdr}): its brightness is bent, the bands do not hold that; film without HDR"
        if self.bits > 8:
            yield f"brightness of {self.bits} bits was read at 8"

    def _moment_s(self, picture: VideoFrame, is_first: bool) -> float:
        if picture.pts is None or picture.time_base is None:
            raise FilmError(self.path, "frames without time stamps", "export it again as MP4 or MOV")
        if picture.interlaced_frame:
            fix = "set the camera to progressive (p, not i)"
            raise FilmError(self.path, "interlaced: every frame shows two moments", fix)
        moment_s = float(picture.pts * Fraction(picture.time_base))
        if is_first:
            self.begins_s, self.turned_deg = moment_s, float(picture.rotation)
            self.bits = picture.format.components[0].bits
            self.hdr = HDR_TRANSFERS.get(int(picture.color_trc))
        return moment_s - self.begins_s

    def _is_short(self, count: int, time_s: float) -> bool:
        """Whether frames are missing at the end; a film cut to size on the phone announces more than it shows."""
        step_s = time_s / (count - 1)
        is_early = self.duration_s is None or time_s + (LATE_FRAMES + 1) * step_s < self.duration_s
        return count + LATE_FRAMES < self.announced_count and is_early


def is_photo(path: Path) -> bool:
    """Whether a file holds a still picture. Raises FilmError if it holds no picture at all."""
    with _opened(path) as (container, _):
        return _is_photo(container)


def _is_photo(container: InputContainer) -> bool:
    return container.format.name.endswith(PHOTO_FORMATS) or container.metadata.get("major_brand") in PHOTO_BRANDS


def open_film(path: Path) -> Film:
    """Open a film and read what its header says. Raises FilmError with what to do."""
    with _opened(path) as (container, stream):
        if _is_photo(container):
            raise FilmError(path, "a photo", "give a film, not a photo")
        if max(stream.width, stream.height) > LARGEST_SIDE_PX:
            size = f"{stream.width} x {stream.height} pixels"
            raise FilmError(path, size, f"film with at most {LARGEST_SIDE_PX} pixels to the longer side")
        duration_s = None
        if stream.duration is not None and stream.time_base is not None:
            duration_s = float(stream.duration * stream.time_base)
        return Film(path, stream.width, stream.height, duration_s, stream.frames)


@contextmanager
def _opened(path: Path) -> Iterator[tuple[InputContainer, VideoStream]]:
    if path.is_dir():
        raise FilmError(path, "a folder", "give the films in it, one or more")
    try:
        container = av.open(str(path))
    except FileNotFoundError:
        raise FilmError(path, "no such file", "check the name") from None
    except (av.FFmpegError, OSError) as error:
        raise FilmError(path, *_why_unreadable(path, str(error.strerror))) from None
    with container:
        if not container.streams.video:
            raise FilmError(path, "holds no pictures, only sound or data", "give the film itself")
        stream = container.streams.video[0]
        if not stream.width or not stream.height:
            raise FilmError(path, "its pictures have no size", "export it again as MP4 or MOV")
        yield container, stream


def _why_unreadable(path: Path, error: str) -> tuple[str, str]:
    """What is wrong with a file that no decoder takes, and what to do. An MP4 or MOV begins with a box "ftyp"."""
    try:
        with path.open("rb") as file:
            start = file.read(12)
    except OSError:
        return f"cannot be read ({error})", "check that the file may be read"
    if not start:
        return "not a film: the file is empty", "copy it again from the phone"
    if start[4:8] == b"ftyp":
        fix = "if the recording was cut off while it ran, the phone could not finish the file: film again"
        return "not a film that can be read: its table of frames is missing", fix
    return f"not a film that can be read ({error})", "give the MP4 or MOV file that the phone wrote"


class _BrokenError(Exception):
    """The rest of a film is damaged."""


def _decoded(container: InputContainer, stream: VideoStream) -> Iterator[VideoFrame]:
    """Frames until the end, or until the first that is damaged: what decoders make up for it is not what was filmed."""
    stream.thread_type = "AUTO"
    has_begun = is_torn = False
    try:
        for packet in container.demux(stream):
            is_torn |= packet.is_corrupt
            if is_torn and packet.dts is not None:
                continue
            for picture in packet.decode():
                if picture.is_corrupt and has_begun:
                    raise _BrokenError
                if not picture.is_corrupt:
                    has_begun = True
                    yield picture
    except av.FFmpegError:
        raise _BrokenError from None
    if is_torn:
        raise _BrokenError


def _luma(picture: VideoFrame) -> ByteArray:
    """The brightness plane (height, width), without the padding of its lines and without a conversion of colour."""
    name, bits = picture.format.name, picture.format.components[0].bits
    if name.startswith(("yuv4", "yuvj4", "nv12", "gray")) and bits == 8:
        return _plane(picture, np.dtype(np.uint8))
    if name.startswith(("yuv4", "gray")) and name.endswith("le") and bits <= 16:
        deep = _plane(picture, np.dtype("<u2"))
        luma: ByteArray = cv2.convertScaleAbs(deep, alpha=2.0 ** (8 - bits))  # type: ignore[assignment]
        return luma
    return np.ascontiguousarray(picture.to_ndarray(format="gray"))


def _plane(picture: VideoFrame, kind: np.dtype[Any]) -> NDArray[Any]:
    plane = picture.planes[0]
    rows = np.frombuffer(memoryview(plane), kind).reshape(-1, plane.line_size // kind.itemsize)
    return rows[: picture.height, : picture.width]
