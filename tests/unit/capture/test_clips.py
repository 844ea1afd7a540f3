"""Pictures and clips cut from a film: the right frame, upright, and a message where there is none."""

from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from onthree.capture.clips import WrittenFilm, pictures_at, write_clip
from onthree.capture.film import FilmError
from tests.rendered_film import HEIGHT, LENGTH_S, WIDTH, write_roll

STEP_S = 0.2
GREYS = np.arange(15, 250, 10)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film whose frames tell their number by how bright they are; five frames a second."""
    path = tmp_path_factory.mktemp("film") / "greys.mp4"
    with WrittenFilm(path) as written:
        for number, grey in enumerate(GREYS):
            written.add(np.full((90, 160, 3), grey, np.uint8), number * STEP_S)
    return path


def brightness(jpeg: bytes) -> float:
    return float(cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_GRAYSCALE).mean())


@pytest.mark.parametrize("at_s", [0.0, 0.25, 1.0, 2.31, 4.0, 4.6])
def test_the_picture_is_the_one_shown_at_the_moment(film: Path, at_s: float) -> None:
    (jpeg,) = pictures_at(film, [at_s])

    assert brightness(jpeg) == pytest.approx(GREYS[int(at_s / STEP_S + 1e-9)], abs=4.5)


def test_pictures_come_in_the_order_asked_for(film: Path) -> None:
    late, early, again = pictures_at(film, [3.0, 0.5, 3.0])

    assert brightness(late) > brightness(early)
    assert again == late


def test_a_clip_holds_its_stretch(film: Path, tmp_path: Path) -> None:
    write_clip(film, tmp_path / "clip.mp4", 2.0, 3.0)
    with av.open(str(tmp_path / "clip.mp4")) as clip:
        frames = list(clip.decode(video=0))
    shown = [float(frame.to_ndarray(format="gray").mean()) for frame in frames]

    assert len(frames) == 6
    np.testing.assert_allclose(shown, GREYS[10:16], atol=4.5)
    np.testing.assert_allclose([frame.time for frame in frames], STEP_S * np.arange(6), atol=1e-3)


def test_a_film_held_upright_is_shown_upright(tmp_path: Path) -> None:
    write_roll(tmp_path, "upright.mp4", turned_deg=90)
    (jpeg,) = pictures_at(tmp_path / "upright.mp4", [LENGTH_S / 2])

    assert cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR).shape[:2] == (WIDTH, HEIGHT)


def test_moments_outside_the_film_are_told(film: Path, tmp_path: Path) -> None:
    with pytest.raises(FilmError, match=r"no picture at -1\.00 s"):
        pictures_at(film, [-1.0])
    with pytest.raises(FilmError, match=r"no pictures from 30\.00 to 31\.00 s"):
        write_clip(film, tmp_path / "clip.mp4", 30.0, 31.0)
    with pytest.raises(FilmError, match=r"none\.mp4"):
        pictures_at(tmp_path / "none.mp4", [0.0])
