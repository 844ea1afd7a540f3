"""Two rendered films, read from their files: clocks by motion, flash and clap, and both films as one motion."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.capture.clocks import ClockError
from onthree.capture.film_check import NoTagsError
from onthree.capture.rig import Rig
from onthree.capture.tagged_video import read_tagged_video
from onthree.capture.two_films import By, TwoFilms, read_two_films
from onthree.demo.film_writer import Encoding, film_of, write_film
from onthree.demo.scene import Flash, Scene
from onthree.demo.staging import (
    Handling,
    body_blobs,
    boom_and_stalk,
    frame_times,
    measured_by_hand,
    movements,
    phone_on,
    stand,
)

SIZE, SMALL, LONG_S = (960, 540), (640, 360), 2.9
FLASH_S, CLAP_S = 2.5, 2.2
READOUTS_S = (0.020, -0.020)
"""The second phone stands on its head: what it reads first is the last row."""

Filmed = tuple[Scene, Rig, tuple[Path, Path]]


def staged(size: tuple[int, int], distance_m: float) -> tuple[Scene, Rig]:
    """A roll between two phones, and the rig as a person measured it."""
    rng = np.random.default_rng(4)
    handling = Handling(0.5, 0.9, 0.2, roll_deg=60, lag_s=0.1, head_deg=(-8.0, 5.0, 9.0), wander_deg=1.0, seed=4)
    phones = (
        phone_on(stand(distance_m, 1.4, 20), size, frame_times(30.0, LONG_S, rng, 0.001), rng),
        phone_on(stand(distance_m, 1.3, 195), size, frame_times(30.0, LONG_S - 0.2, rng, 0.001, 0.147), rng),
    )
    rig = boom_and_stalk(has_more=True)
    return Scene(rig, movements(handling, LONG_S + 1), phones, blobs=body_blobs(), seed=4), measured_by_hand(rig, rng)


def written(scene: Scene, folder: Path, encoding: Encoding) -> tuple[Path, Path]:
    """The films of both phones."""
    paths = (folder / "one.mp4", folder / "two.mp4")
    for phone, path in zip(scene.phones, paths, strict=True):
        film_of(scene, phone, path, encoding)
    return paths


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Filmed:
    scene, by_hand = staged(SIZE, 1.9)
    phones = (scene.phones[0], replace(scene.phones[1], clock_rate_ppm=20.0))
    scene = replace(scene, phones=phones, flashes=(Flash(FLASH_S, 0.2, 0.3),), claps_s=(CLAP_S,))
    return scene, by_hand, written(scene, tmp_path_factory.mktemp("two"), Encoding(has_sound=True))


@pytest.fixture(scope="module")
def row_by_row(tmp_path_factory: pytest.TempPathFactory) -> Filmed:
    """The same small, rows read one after the other, in each film the other way round."""
    scene, by_hand = staged(SMALL, 1.5)
    phones = tuple(replace(phone, readout_s=each) for phone, each in zip(scene.phones, READOUTS_S, strict=True))
    scene = replace(scene, phones=phones)
    return scene, by_hand, written(scene, tmp_path_factory.mktemp("rows"), Encoding(crf=18))


def wander_deg(video: TwoFilms, scene: Scene) -> float:
    """How far head on trunk is from the truth, root-mean-square, turns of both axes that stay the same aside."""
    both = video.motion.is_seen("head") & video.motion.is_seen("trunk")
    head, trunk = (video.motion.frame_from_segment[name][both] for name in ("head", "trunk"))
    found = trunk.inv() * head
    true = Rotation.from_matrix(scene.trunk_from_head(scene.phones[0].frame_s[both]).rotation)
    of_trunk = of_head = Rotation.identity()
    for _ in range(10):
        laid = of_trunk * true * of_head
        off = (found * laid.inv()).as_rotvec()
        slopes = np.concatenate([np.tile(np.eye(3), (len(off), 1, 1)), laid.as_matrix()], axis=2).reshape(-1, 6)
        step = np.linalg.lstsq(slopes, off.reshape(-1), rcond=None)[0]
        of_trunk, of_head = Rotation.from_rotvec(step[:3]) * of_trunk, of_head * Rotation.from_rotvec(step[3:])
    return float(np.degrees(np.sqrt((off**2).mean())))


@pytest.mark.parametrize("by", ["motion", "flash", "clap"])
def test_both_films_are_read_as_one(filmed: Filmed, by: By) -> None:
    scene, rig, paths = filmed
    video = read_two_films(paths, rig, by=by)
    first, second = scene.phones

    assert video.agreed.clock.offset_s == pytest.approx(second.frame_s[0] - first.frame_s[0], abs=0.001)
    assert video.is_steady
    assert not any("disagree" in flag for flag in video.motion.flags)
    assert wander_deg(video, scene) < 0.1
    assert len(video.motion.time_s) == len(first.frame_s)


def test_progress_is_told_and_a_film_given_twice_refused(filmed: Filmed) -> None:
    _, rig, paths = filmed
    told: list[float] = []
    video = read_two_films(paths, rig, on_progress=lambda progress: told.append(progress.done_s))
    alone = read_tagged_video(paths[0], rig)

    assert len(told) >= 2
    assert video.motion.source_sha256 == alone.motion.source_sha256
    assert min(video.seen_ratio.values()) >= min(alone.seen_ratio.values())
    with pytest.raises(ClockError, match=r"one.mp4 and one.mp4 are one and the same film"):
        read_two_films((paths[0], paths[0]), rig)


def test_rows_read_one_after_the_other_are_put_right_in_each_film(row_by_row: Filmed) -> None:
    scene, rig, paths = row_by_row
    first, second = scene.phones
    apart_s = second.frame_s[0] - first.frame_s[0]
    told, untold = (read_two_films(paths, rig, readouts_s=each) for each in (READOUTS_S, (0.0, 0.0)))

    assert told.agreed.clock.offset_s == pytest.approx(apart_s, abs=0.0005)
    assert wander_deg(told, scene) < 0.1
    assert wander_deg(untold, scene) > 3 * wander_deg(told, scene), "a film that rows do not bend tells nothing"


def test_a_second_film_without_tags_of_the_rig_is_named(filmed: Filmed, tmp_path: Path) -> None:
    _, rig, paths = filmed
    bare = tmp_path / "bare.mp4"
    write_film(bare, [np.full((120, 160), 90, np.uint8)] * 3, np.arange(3) / 30)

    with pytest.raises(NoTagsError, match=r"bare.mp4: no tag was seen in 3 frames"):
        read_two_films((paths[0], bare), rig)
