"""Films as phones write them: true times, untouched pixels, and clear words about those that are broken."""

from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from onthree.capture.film import FilmError, open_film

SIZE = (64, 48)


X264 = {"crf": "1", "preset": "ultrafast", "g": "10"}
X265 = {"x265-params": "log-level=none:crf=1:keyint=10"}


def write_film(
    path: Path,
    ticks: list[int],
    options: dict[str, str] | None = None,
    codec: str = "libx264",
    pixels: str = "yuv420p",
    coding: dict[str, str] | None = None,
    hdr: int | None = None,
) -> Path:
    """Write grey frames, each a little brighter, at the given ticks of a clock of 90 kHz."""
    with av.open(str(path), "w", options=options or {}) as container:
        stream = container.add_stream(codec, rate=30, options=coding or (X264 if codec == "libx264" else X265))
        stream.width, stream.height, stream.pix_fmt = *SIZE, pixels
        if hdr is not None:
            stream.codec_context.color_trc = hdr
        stream.time_base = stream.codec_context.time_base = Fraction(1, 90000)
        for index, tick in enumerate(ticks):
            frame = av.VideoFrame.from_ndarray(np.full((SIZE[1], SIZE[0]), 20 + index, np.uint8), "gray").reformat(
                format=pixels
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


def test_a_film_cut_in_a_frame_keeps_the_frames_before_and_makes_nothing_up(tmp_path: Path) -> None:
    """A decoder fills a torn frame with what was there before: such a frame is no measurement."""
    path = write_film(tmp_path / "whole.mp4", list(range(0, 3000 * 60, 3000)), {"movflags": "faststart"})
    whole = [frame.luma.copy() for frame in open_film(path).frames()]
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(path.read_bytes()[: int(path.stat().st_size * 0.6)])
    film = open_film(cut)
    kept = [frame.luma.copy() for frame in film.frames()]

    assert 10 < len(kept) < 50
    for index, luma in enumerate(kept):
        np.testing.assert_array_equal(luma, whole[index])
    assert list(film.flags()) == [f"the film breaks off at {film.broke_at_s:.2f} s: 60 frames were announced"]


def test_a_film_trimmed_on_the_phone_is_not_cut_off(tmp_path: Path) -> None:
    """The phone keeps frames before the first that is shown, and a list of edits that leaves them out."""
    whole = write_film(tmp_path / "whole.mp4", list(range(0, 3000 * 60, 3000)))
    with (
        av.open(str(whole)) as source,
        av.open(str(tmp_path / "trimmed.mp4"), "w", options={"avoid_negative_ts": "disabled"}) as target,
    ):
        stream = target.add_stream_from_template(source.streams.video[0])
        for packet in source.demux(source.streams.video[0]):
            if packet.dts is None or packet.pts is None:
                continue
            earlier = int(14 / 30 / packet.time_base)
            packet.pts, packet.dts, packet.stream = packet.pts - earlier, packet.dts - earlier, stream
            target.mux(packet)
    film = open_film(tmp_path / "trimmed.mp4")
    frames = list(film.frames())

    assert film.announced_count == 60
    assert len(frames) == 46
    assert film.broke_at_s is None


def test_time_runs_from_the_first_frame_wherever_the_clock_of_the_file_is(tmp_path: Path) -> None:
    film = open_film(write_film(tmp_path / "late.mp4", [90000, 93000, 96000]))

    np.testing.assert_allclose([frame.time_s for frame in film.frames()], [0, 1 / 30, 2 / 30], atol=1e-9)
    assert film.begins_s == 1.0


@pytest.mark.parametrize("codec", ["libx264", "libx265"])
@pytest.mark.parametrize("suffix", ["mp4", "mov"])
def test_ten_bits_are_the_same_brightness_as_eight(codec: str, suffix: str, tmp_path: Path) -> None:
    ticks = list(range(0, 3000 * 4, 3000))
    films = [
        open_film(write_film(tmp_path / f"{pixels}.{suffix}", ticks, codec=codec, pixels=pixels))
        for pixels in ("yuv420p", "yuv420p10le")
    ]
    eight, ten = (np.array([frame.luma for frame in film.frames()], dtype=float) for film in films)

    np.testing.assert_allclose(ten, eight, atol=1.5)
    assert eight[0].mean() == pytest.approx(16 + 20 * 219 / 255, abs=1), "black at 16, white at 235: ITU-R BT.709"
    assert list(films[0].flags()) == []
    assert list(films[1].flags()) == ["brightness of 10 bits was read at 8"]


def test_an_hdr_film_says_so(tmp_path: Path) -> None:
    path = write_film(tmp_path / "hdr.mov", [0, 3000, 6000], codec="libx265", pixels="yuv420p10le", hdr=18)
    film = open_film(path)
    list(film.frames())

    assert next(film.flags()).startswith("an HDR film (HLG)")


def test_a_portrait_film_keeps_the_pixels_and_says_how_it_is_turned(tmp_path: Path) -> None:
    path = write_film(tmp_path / "upright.mp4", [0, 3000, 6000])
    content = path.read_bytes()
    at = content.index(b"tkhd") + 4 + 40
    quarter = b"".join(value.to_bytes(4, "big", signed=True) for value in (0, 65536, 0, -65536, 0, 0, 0, 0, 1 << 30))
    path.write_bytes(content[:at] + quarter + content[at + 36 :])
    film = open_film(path)

    assert [frame.luma.shape for frame in film.frames()] == [(48, 64)] * 3
    assert film.turned_deg == -90


def test_an_interlaced_film_is_refused(tmp_path: Path) -> None:
    coding = X264 | {"flags": "+ildct+ilme", "x264-params": "interlaced=1:tff=1"}
    film = open_film(write_film(tmp_path / "fields.mp4", [0, 3000, 6000], coding=coding))

    with pytest.raises(FilmError, match="two moments"):
        list(film.frames())


def test_frames_without_times_are_refused(tmp_path: Path) -> None:
    film = open_film(write_film(tmp_path / "bare.h264", [0, 3000, 6000]))

    with pytest.raises(FilmError, match="without time stamps"):
        list(film.frames())


def test_eight_thousand_pixels_are_too_many(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("onthree.capture.film.LARGEST_SIDE_PX", 63)

    with pytest.raises(FilmError, match="64 x 48 pixels; film with at most 63"):
        open_film(write_film(tmp_path / "large.mp4", [0, 3000, 6000]))


@pytest.mark.parametrize("suffix", ["jpg", "png"])
def test_a_picture_is_a_photo(suffix: str, tmp_path: Path) -> None:
    cv2.imwrite(str(tmp_path / f"board.{suffix}"), np.zeros((48, 64), np.uint8))

    with pytest.raises(FilmError, match="a photo"):
        open_film(tmp_path / f"board.{suffix}")


def test_a_picture_in_the_box_of_a_film_is_a_photo(tmp_path: Path) -> None:
    """As phones write photos by default; here with another codec in the same kind of file."""
    path = write_film(tmp_path / "photo.mp4", [0])
    content = path.read_bytes()
    (tmp_path / "photo.heic").write_bytes(content[:8] + b"heic" + content[12:])

    with pytest.raises(FilmError, match="a photo"):
        open_film(tmp_path / "photo.heic")


def test_a_folder_is_not_a_film(tmp_path: Path) -> None:
    with pytest.raises(FilmError, match="a folder"):
        open_film(tmp_path)


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


@pytest.mark.parametrize(
    ("content", "why"), [(None, "no such file"), (b"", "the file is empty"), (b"a text", "not a film")]
)
def test_what_is_no_film_says_so(content: bytes | None, why: str, tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    if content is not None:
        path.write_bytes(content)

    with pytest.raises(FilmError, match=why):
        open_film(path)
