"""Cuts pictures and short clips out of a film, by its own clock: what to look at again while the team still kneels."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from onthree.capture.film import FilmError

ByteArray = NDArray[np.uint8]

TICKS_PER_S = 90000
QUALITY = {"preset": "veryfast", "crf": "22"}
JPEG_QUALITY = 85


def pictures_at(path: Path, moments_s: Sequence[float], longest_side_px: int = 960) -> tuple[bytes, ...]:
    """JPEG pictures, upright, of the frame shown at each moment [s] since the first frame, in the order given.

    Raises FilmError if the film cannot be read, or is over before.
    """
    found: dict[float, bytes] = {}
    for at_s in dict.fromkeys(moments_s):
        shown = None
        with _from(path, at_s) as frames:
            for one in frames:
                if shown is not None and one.time_s > at_s:
                    break
                shown = one
        if shown is None or at_s < 0:
            raise FilmError(path, f"no picture at {at_s:.2f} s", "give a moment of the film")
        found[at_s] = _jpeg(_upright(shown.frame, longest_side_px))
    return tuple(found[at_s] for at_s in moments_s)


def write_clip(path: Path, target: Path, start_s: float, end_s: float, longest_side_px: int = 1280) -> None:
    """Write a stretch of a film as MP4 (H.264), upright, its moments as they were. Raises FilmError if it is empty."""
    with WrittenFilm(target) as clip, _from(path, start_s) as frames:
        for one in frames:
            if one.time_s > end_s:
                break
            if one.time_s >= start_s:
                clip.add(_upright(one.frame, longest_side_px), one.time_s - start_s)
        if clip.is_empty:
            raise FilmError(path, f"no pictures from {start_s:.2f} to {end_s:.2f} s", "give a stretch of the film")


class WrittenFilm:
    """A film in the making, H.264 in an MP4 file, as large as its first picture."""

    def __init__(self, target: Path) -> None:
        self._container = av.open(str(target), "w", format="mp4")
        self._stream: VideoStream | None = None

    def __enter__(self) -> "WrittenFilm":
        return self

    def __exit__(self, *_: object) -> None:
        with self._container:
            if self._stream is not None:
                self._container.mux(self._stream.encode(None))

    @property
    def is_empty(self) -> bool:
        """Whether no picture was added yet."""
        return self._stream is None

    def add(self, picture: ByteArray, at_s: float) -> None:
        """Add a picture (height, width, 3; blue, green, red), both sides even, at its moment."""
        if self._stream is None:
            self._stream = self._container.add_stream("libx264", rate=30, options=QUALITY)
            self._stream.height, self._stream.width = picture.shape[:2]
            self._stream.pix_fmt = "yuv420p"
            self._stream.time_base = self._stream.codec_context.time_base = Fraction(1, TICKS_PER_S)
        frame = VideoFrame.from_ndarray(picture, format="bgr24")
        frame.pts, frame.time_base = round(at_s * TICKS_PER_S), Fraction(1, TICKS_PER_S)
        self._container.mux(self._stream.encode(frame))


@dataclass(frozen=True, eq=False)
class _Shown:
    """A frame and its time since the first."""

    time_s: float
    frame: VideoFrame


@contextmanager
def _from(path: Path, at_s: float) -> Iterator[Iterator[_Shown]]:
    """Frames with their time since the first, from some moment at or before the one asked for."""
    try:
        container = av.open(str(path))
    except (av.FFmpegError, OSError) as error:
        raise FilmError(path, f"not a film that can be read ({error.strerror})", "check the name") from None
    with container:
        if not container.streams.video:
            raise FilmError(path, "holds no pictures", "give the film itself")
        yield _frames(container, at_s)


def _frames(container: InputContainer, at_s: float) -> Iterator[_Shown]:
    stream = container.streams.video[0]
    stream.thread_type = "AUTO"
    first: Fraction | None = None
    try:
        for frame in container.decode(stream):
            if frame.pts is None or frame.time_base is None:
                continue
            if first is None:
                first = frame.pts * Fraction(frame.time_base)
                if at_s > 2:
                    break
            yield _Shown(float(frame.pts * Fraction(frame.time_base) - first), frame)
        else:
            return
        assert stream.time_base is not None
        container.seek(int((first + Fraction(at_s)) / stream.time_base), stream=stream, backward=True)
        for frame in container.decode(stream):
            if frame.pts is not None and frame.time_base is not None:
                yield _Shown(float(frame.pts * Fraction(frame.time_base) - first), frame)
    except av.FFmpegError:
        return


def _upright(frame: VideoFrame, longest_side_px: int) -> ByteArray:
    """The picture, turned as its film says, no larger than asked for, with even sides."""
    picture = np.rot90(frame.to_ndarray(format="bgr24"), round(frame.rotation / 90) % 4)
    ratio = min(1.0, longest_side_px / max(picture.shape[:2]))
    size = [max(2, 2 * round(side * ratio / 2)) for side in picture.shape[1::-1]]
    made: ByteArray = np.asarray(
        cv2.resize(np.ascontiguousarray(picture), size, interpolation=cv2.INTER_AREA), np.uint8
    )
    return made


def _jpeg(picture: ByteArray) -> bytes:
    return cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])[1].tobytes()
