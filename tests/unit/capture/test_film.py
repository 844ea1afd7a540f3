"""Films as phones write them: true times, untouched pixels, and clear words about those that are broken."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from onthree.capture.film import FilmError, open_film

SIZE = (64, 48)


def write_film(path: Path, ticks: list[int], options: dict[str, str] | None = None) -> Path:
    """Write grey frames, each a little brighter, at the given ticks of a clock of 90 kHz."""
    with av.open(str(path), "w", options=options or {}) as container:
        stream = container.add_stream("libx264", rate=30, options={"crf": "1", "preset": "ultrafast", "g": "10"})
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv420p"
        stream.time_base = stream.codec_context.time_base = Fraction(1, 90000)
        for index, tick in enumerate(ticks):
            frame = av.VideoFrame.from_ndarray(np.full((SIZE[1], SIZE[0]), 20 + index, np.uint8), "gray").reformat(
                format="yuv420p"
            )
            frame.pts, frame.time_base = tick, Fraction(1, 90000)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def test_times_are_the_frames_own(tmp_path: Path) -> None:
    """Frames at 60, 30 and 20 a second in turn: a place in the file says nothing about the time."""
    ticks = np.cumsum([0, *[1500, 3000, 4500] * 12]).tolist()
    film = open_film(write_film(tmp_path / "vfr.mp4", ticks))
    times_s = [frame.time_s for frame in film.frames()]

    np.testing.assert_allclose(times_s, np.array(ticks) / 90000, atol=1e-9)
    assert film.broke_at_s is None
    assert film.turned_deg == 0


def test_brightness_is_the_first_plane_without_padding(tmp_path: Path) -> None:
    frames = list(open_film(write_film(tmp_path / "grey.mp4", [0, 3000, 6000])).frames())

    assert [frame.luma.shape for frame in frames] == [(48, 64)] * 3
    assert np.ptp(frames[0].luma) <= 2
    assert frames[2].luma.mean() > frames[0].luma.mean()


def test_a_cut_off_film_gives_what_can_be_read_and_says_where_it_broke(tmp_path: Path) -> None:
    path = write_film(tmp_path / "whole.mp4", list(range(0, 3000 * 60, 3000)), {"movflags": "faststart"})
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(path.read_bytes()[: int(path.stat().st_size * 0.7)])
    film = open_film(cut)
    times_s = [frame.time_s for frame in film.frames()]

    assert 10 < len(times_s) < 60
    assert film.broke_at_s == times_s[-1]


def test_a_film_that_was_never_finished_says_so(tmp_path: Path) -> None:
    path = write_film(tmp_path / "whole.mp4", list(range(0, 3000 * 30, 3000)))
    path.write_bytes(path.read_bytes()[:2000])

    with pytest.raises(FilmError, match="the phone could not finish the file"):
        open_film(path)


def test_a_photo_is_not_a_film(tmp_path: Path) -> None:
    with pytest.raises(FilmError, match="not a photo"):
        list(open_film(write_film(tmp_path / "one.mp4", [0])).frames())


def test_sound_alone_is_not_a_film(tmp_path: Path) -> None:
    with av.open(str(tmp_path / "sound.wav"), "w") as container:
        stream = container.add_stream("pcm_s16le", rate=8000)
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 800), np.int16), layout="mono")
        frame.sample_rate = 8000
        container.mux(stream.encode(frame))

    with pytest.raises(FilmError, match="only sound"):
        open_film(tmp_path / "sound.wav")


@pytest.mark.parametrize(("content", "why"), [(None, "no such file"), (b"", "not a film"), (b"a text", "not a film")])
def test_what_is_no_film_says_so(content: bytes | None, why: str, tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    if content is not None:
        path.write_bytes(content)

    with pytest.raises(FilmError, match=why):
        open_film(path)
