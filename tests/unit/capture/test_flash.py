"""The clocks of two films from a flash both see, or a clap both hear: films rendered and written as phones do."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from onthree.capture.clocks import ClockError, clock_beliefs
from onthree.capture.film import Frame, open_film
from onthree.capture.flash import Brightness, clap_clock, flash_clock, flash_moment
from onthree.demo.film_writer import Encoding, film_of
from onthree.demo.render import Renderer
from onthree.demo.scene import Flash, Phone, Scene
from onthree.demo.staging import Handling, boom_and_stalk, frame_times, lens, movements, stand

SIZE = (160, 90)
LONG_S = 1.6
LATE_S = 0.137
"""The second phone starts this much later."""
FLASH_S, CLAP_S = 0.9, 0.7


def scene(flashes: tuple[Flash, ...] = (), claps_s: tuple[float, ...] = (), readout_s: float = 0.0) -> Scene:
    """Two small phones on opposite sides, of 30 frames a second, steps a millisecond uneven."""
    rng = np.random.default_rng(3)
    phones = tuple(
        Phone(lens(*SIZE, rng), *SIZE, place, frame_times(30.0, LONG_S, rng, 0.001, 0.01 + late_s), readout_s=readout_s)
        for place, late_s in ((stand(2.2, 1.4, 20), 0.0), (stand(2.2, 1.4, 195), LATE_S))
    )
    rig, moving = boom_and_stalk(), movements(Handling(), LONG_S + 1)
    return Scene(rig, moving, phones, flashes=flashes, claps_s=claps_s)


def seen(filmed: Scene, phone: Phone) -> Brightness:
    """The brightness of a phone's frames, not written to a file."""
    light = Brightness()
    frames = (
        Frame(float(time_s), luma) for time_s, luma in zip(phone.shown_s, Renderer(filmed, phone).frames(), strict=True)
    )
    for _ in light.watched(frames):
        pass
    return light


def both_seen(filmed: Scene) -> tuple[Brightness, Brightness]:
    return seen(filmed, filmed.phones[0]), seen(filmed, filmed.phones[1])


def true_offset_s(filmed: Scene) -> float:
    first, second = filmed.phones
    return float(second.frame_s[0] - first.frame_s[0])


def test_a_flash_tells_the_offset_to_half_a_frame() -> None:
    filmed = scene((Flash(FLASH_S, 0.3),))
    clock = flash_clock(*both_seen(filmed))

    assert clock.offset_sd_s == pytest.approx(np.sqrt(2) / 30 / np.sqrt(12), rel=0.1)
    assert abs(clock.offset_s - true_offset_s(filmed)) < 1 / 30


def test_errors_of_many_flashes_are_as_large_as_stated() -> None:
    """A lamp at any moment against frames 1/30 s apart: evenly spread errors of step / sqrt 12."""
    rng = np.random.default_rng(6)
    scores = []
    for _ in range(300):
        at_s, time_s = rng.uniform(0.5, 1.0), np.arange(60) / 30 + rng.uniform(0, 1 / 30)
        moment = flash_moment(lit(time_s, at_s, 1e-3, rng))
        scores.append((moment.at_s - at_s) / moment.sd_s)

    assert np.sqrt(np.mean(np.square(scores))) == pytest.approx(1, abs=0.1)
    assert abs(np.mean(scores)) < 0.15


def lit(time_s: NDArray[np.float64], at_s: float, gathered_s: float, rng: np.random.Generator) -> Brightness:
    """Brightness of frames that gather light around their time, of a lamp that stays on."""
    share = np.clip((time_s + gathered_s / 2 - at_s) / gathered_s, 0, 1)
    return Brightness(list(time_s), list((100 + 40 * share + rng.normal(0, 0.1, len(time_s))) / 255))


def test_a_frame_that_caught_part_of_the_light_tells_more() -> None:
    """Gathering for 20 of 33 ms, most flashes are caught in part: a few milliseconds instead of ten."""
    rng = np.random.default_rng(7)
    off_s, sds_s = [], []
    for _ in range(200):
        at_s, time_s = rng.uniform(0.5, 1.0), np.arange(60) / 30
        moment = flash_moment(lit(time_s, at_s, 0.02, rng), 0.02)
        off_s.append(moment.at_s - at_s)
        sds_s.append(moment.sd_s)

    assert np.mean(np.abs(off_s) < 2.5 * np.array(sds_s)) > 0.97
    assert np.sqrt(np.mean(np.square(off_s))) < 0.005


def test_rows_read_one_after_the_other_tell_when_the_lamp_came_on() -> None:
    filmed = scene((Flash(FLASH_S, 0.3),), readout_s=0.02)
    clock = flash_clock(*both_seen(filmed), (0.02 + 1 / 240, 0.02 + 1 / 240))

    assert abs(clock.offset_s - true_offset_s(filmed)) < 3 * (clock.offset_sd_s or 0) < 0.025


def test_no_flash_and_two_flashes_are_said() -> None:
    rng = np.random.default_rng(8)
    time_s = np.arange(60) / 30
    dark, once = lit(time_s, 99.0, 1e-3, rng), lit(time_s, 0.8, 1e-3, rng)
    twice = Brightness(
        once.time_s, list(np.array(once.level_ratio) + np.array(lit(time_s, 1.4, 1e-3, rng).level_ratio))
    )

    with pytest.raises(ClockError, match=r"first film: no flash seen.*; second film: more than one flash seen"):
        flash_clock(dark, twice)


@pytest.fixture(scope="module")
def clapped(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Scene, tuple[Path, Path]]]:
    filmed = scene((Flash(FLASH_S, 0.3),), (CLAP_S,))
    folder = tmp_path_factory.mktemp("clap")
    paths = (folder / "one.mp4", folder / "two.mp4")
    for phone, path in zip(filmed.phones, paths, strict=True):
        film_of(filmed, phone, path, Encoding(has_sound=True))
    yield filmed, paths


def test_a_clap_tells_the_offset_of_the_sounds(clapped: tuple[Scene, tuple[Path, Path]]) -> None:
    """Rendered sound is in time with the picture; that of a phone may not be, and the spread says so."""
    filmed, paths = clapped
    clock = clap_clock(*paths)

    assert clock.offset_s == pytest.approx(true_offset_s(filmed), abs=0.001)
    assert clock.offset_sd_s == pytest.approx(np.sqrt(2) * clock_beliefs().sound_to_picture_sd_s, rel=0.1)


def test_flash_and_clap_of_written_films_agree(clapped: tuple[Scene, tuple[Path, Path]]) -> None:
    _, paths = clapped
    lights = []
    for path in paths:
        light = Brightness()
        for _ in light.watched(open_film(path).frames()):
            pass
        lights.append(light)
    flash, clap = flash_clock(lights[0], lights[1]), clap_clock(*paths)
    spread_s = np.hypot(flash.offset_sd_s or 0, clap.offset_sd_s or 0)

    assert abs(flash.offset_s - clap.offset_s) < 2 * spread_s


def test_a_film_without_sound_or_without_a_clap_is_said(tmp_path: Path) -> None:
    filmed = scene()
    silent, quiet = tmp_path / "silent.mp4", tmp_path / "quiet.mp4"
    film_of(filmed, filmed.phones[0], silent)
    film_of(filmed, filmed.phones[1], quiet, Encoding(has_sound=True))

    with pytest.raises(ClockError, match=r"silent.mp4: no sound .*; quiet.mp4: no clap heard"):
        clap_clock(silent, quiet)
