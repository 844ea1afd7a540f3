"""Films that are written can be read again: pictures, exact times, flags, sound, and the truth beside them."""

import json
from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from onthree.capture.film import open_film
from onthree.capture.phases_file import read_phases
from onthree.capture.rig import read_rig, rig_from
from onthree.capture.tagged_video import TaggedVideo, read_tagged_video
from onthree.demo.film_writer import Encoding, Truth, read_truth, rig_text, truth_of, write_film, write_truth
from onthree.demo.hard_cases import Case, ordinary_scene
from onthree.demo.rehearsal_films import REHEARSALS, rehearsal_folder, rehearsal_scene
from onthree.demo.render import Renderer
from onthree.demo.scene import ByteArray

FloatArray = NDArray[np.float64]

LARGEST_BYTES = 1_200_000


def pictures(count: int, seed: int = 0) -> list[ByteArray]:
    """Smooth grey pictures that drift."""
    across, down = np.meshgrid(np.arange(96), np.arange(64))
    waves = (120 + 60 * np.sin((across + 3 * index + seed) / 11) * np.cos(down / 9) for index in range(count))
    return [np.rint(wave).astype(np.uint8) for wave in waves]


@pytest.mark.parametrize(
    "encoding",
    [
        Encoding(),
        Encoding("hevc"),
        Encoding(suffix=".mov"),
        Encoding("hevc", is_ten_bit=True),
        Encoding(bit_rate=400_000),
    ],
    ids=["h264", "hevc", "mov", "hevc 10 bit", "bit rate"],
)
def test_film_has_its_pictures_at_exactly_their_times(tmp_path: Path, encoding: Encoding) -> None:
    shown_s = np.cumsum(np.random.default_rng(3).uniform(0.01, 0.07, 24))
    shown_s -= shown_s[0]
    path = tmp_path / f"film{encoding.suffix}"

    write_film(path, pictures(24), shown_s, encoding)

    frames = list(open_film(path).frames())
    np.testing.assert_allclose([frame.time_s for frame in frames], shown_s, atol=0.6 / 90_000)
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.codec_context.name == encoding.codec
        assert stream.codec_context.format is not None
        assert stream.codec_context.format.name == ("yuv420p10le" if encoding.is_ten_bit else "yuv420p")
    if not encoding.is_ten_bit:
        off = [np.abs(frame.luma.astype(float) - sent).mean() for frame, sent in zip(frames, pictures(24), strict=True)]
        assert max(off) < 4


@pytest.mark.parametrize("turned_deg", [-90, 90, 180])
def test_film_carries_the_flag_to_turn_it_and_its_pictures_stay(tmp_path: Path, turned_deg: int) -> None:
    path = tmp_path / "upright.mp4"

    write_film(path, pictures(5), np.arange(5) / 30, turned_deg=turned_deg)

    film = open_film(path)
    frames = list(film.frames())
    assert film.turned_deg % 360 == turned_deg % 360
    assert frames[0].luma.shape == (64, 96)


def test_clap_is_heard_at_its_moment(tmp_path: Path) -> None:
    path = tmp_path / "clap.mp4"
    write_film(path, pictures(60), np.arange(60) / 30, Encoding(has_sound=True), claps_s=(0.8,))

    with av.open(str(path)) as container:
        parts = [(float(part.pts * part.time_base), part.to_ndarray()[0]) for part in container.decode(audio=0)]

    wave = np.concatenate([part for _, part in parts])
    starts_s = parts[0][0] + np.flatnonzero(np.abs(wave) > 0.1)[0] / 48_000
    assert starts_s == pytest.approx(0.8, abs=0.003)


def test_truth_is_read_as_it_was_written(tmp_path: Path) -> None:
    case = ordinary_scene(1)
    phone, truth = case.scene.phones[0], case.truths[0]

    write_truth(tmp_path / "film.mp4", truth, phone)

    again = read_truth(tmp_path / "film.mp4")
    np.testing.assert_allclose(again.time_s, truth.time_s, atol=1e-6)
    np.testing.assert_allclose(again.room_s - again.room_s[0], truth.room_s - truth.room_s[0], atol=1e-6)
    assert np.degrees((again.rotation * truth.rotation.inv()).magnitude()).max() < 1e-5
    np.testing.assert_allclose(again.place_m, truth.place_m, atol=1e-8)
    np.testing.assert_allclose(again.camera, truth.camera)
    assert again.facts == truth.facts
    assert "invented" in json.loads((tmp_path / "film.json").read_text(encoding="utf-8"))["what"]


def test_rig_is_read_as_it_was_written(tmp_path: Path) -> None:
    rig = ordinary_scene(1).by_hand
    (tmp_path / "rig.toml").write_text(rig_text(rig), encoding="utf-8")

    again = read_rig(tmp_path / "rig.toml")

    assert [tag.id for tag in again.tags] == [tag.id for tag in rig.tags]
    for one, other in zip(again.tags, rig.tags, strict=True):
        assert one.centre_m is not None and other.centre_m is not None
        np.testing.assert_allclose(one.centre_m, other.centre_m, atol=1e-6)


def error_deg(read: TaggedVideo, truth: Truth) -> FloatArray:
    """Root mean square of the error of head on trunk by axis (3), after the axes that no film can know are laid on."""
    motion = read.motion
    is_seen = motion.is_valid.all(axis=1)
    assert is_seen.mean() > 0.9
    found = (motion.frame_from_segment["trunk"].inv() * motion.frame_from_segment["head"])[is_seen]

    def off(turns: FloatArray) -> FloatArray:
        trunk, head = Rotation.from_rotvec(turns[:3]), Rotation.from_rotvec(turns[3:])
        away: FloatArray = (trunk * found * head * truth.rotation[is_seen].inv()).as_rotvec().ravel()
        return away

    best = least_squares(off, np.zeros(6))
    squares: FloatArray = (off(best.x).reshape(-1, 3) ** 2).mean(axis=0)
    return np.degrees(np.sqrt(squares))


def test_ordinary_film_is_measured_to_a_fifth_of_a_degree(tmp_path: Path) -> None:
    case = short(ordinary_scene(11), 3.8)

    path = case.film(tmp_path)[0]

    assert error_deg(read_tagged_video(path, case.by_hand), case.truths[0]).max() < 0.2


def short(case: Case, length_s: float) -> Case:
    """The first seconds of a case."""
    phones = tuple(replace(phone, frame_s=phone.frame_s[phone.frame_s < length_s]) for phone in case.scene.phones)
    return replace(case, scene=replace(case.scene, phones=phones))


@pytest.mark.parametrize("name", REHEARSALS)
def test_shipped_rehearsal_is_small_whole_and_marked(name: str) -> None:
    folder = rehearsal_folder()
    film = folder / f"{name}.mp4"
    truth, phases = read_truth(film), read_phases(folder / f"{name}.phases.toml")

    times_s = [frame.time_s for frame in open_film(film).frames()]

    assert film.stat().st_size < LARGEST_BYTES
    np.testing.assert_allclose(times_s, truth.time_s, atol=1e-6)
    assert phases.neutral_s is not None
    assert phases.techniques == REHEARSALS[name].techniques
    assert [phase.name for phase in phases.phases] == [phase.name for phase in REHEARSALS[name].phases]
    assert truth.facts["lag_s"] == REHEARSALS[name].handling.lag_s
    with av.open(str(film)) as container:
        assert "invented" in container.metadata["title"]


@pytest.mark.parametrize("name", REHEARSALS)
def test_shipped_rehearsal_is_the_scene_that_is_described(name: str) -> None:
    scene = rehearsal_scene(name)
    phone = scene.phones[0]
    rig = read_rig(rehearsal_folder() / "rig.toml")
    frames = open_film(rehearsal_folder() / f"{name}.mp4").frames()

    first = next(frames)

    assert np.abs(first.luma.astype(float) - Renderer(scene, phone).frame(0)).mean() < 4
    told, now = read_truth(rehearsal_folder() / f"{name}.mp4"), truth_of(scene, phone, rig)
    assert np.degrees((told.rotation * now.rotation.inv()).magnitude()).max() < 1e-4
    written = json.loads((rehearsal_folder() / f"{name}.json").read_text(encoding="utf-8"))
    by_hand = rig_from({"tag": written["tags_as_measured_by_hand"]})
    assert [tag.id for tag in by_hand.tags] == [tag.id for tag in rig.tags]
