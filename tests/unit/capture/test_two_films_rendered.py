"""Two rendered films, read from their files: clocks by motion, flash and clap, and both films as one motion."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.capture.clocks import ClockError
from onthree.capture.rig import Rig
from onthree.capture.tagged_video import read_tagged_video
from onthree.capture.two_films import By, TwoFilms, read_two_films
from onthree.demo.film_writer import Encoding, film_of
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

SIZE, LONG_S = (960, 540), 2.9
FLASH_S, CLAP_S = 2.5, 2.2


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Scene, Rig, tuple[Path, Path]]:
    rng = np.random.default_rng(4)
    handling = Handling(0.5, 0.9, 0.2, roll_deg=60, lag_s=0.1, head_deg=(-8.0, 5.0, 9.0), wander_deg=1.0, seed=4)
    phones = (
        phone_on(stand(1.9, 1.4, 20), SIZE, frame_times(30.0, LONG_S, rng, 0.001), rng),
        phone_on(stand(1.9, 1.3, 195), SIZE, frame_times(30.0, LONG_S - 0.2, rng, 0.001, 0.147), rng),
    )
    rig = boom_and_stalk(has_more=True)
    scene = Scene(
        rig,
        movements(handling, LONG_S + 1),
        (phones[0], replace(phones[1], clock_rate_ppm=20.0)),
        blobs=body_blobs(),
        flashes=(Flash(FLASH_S, 0.2, 0.3),),
        claps_s=(CLAP_S,),
        seed=4,
    )
    folder = tmp_path_factory.mktemp("two")
    paths = (folder / "one.mp4", folder / "two.mp4")
    for phone, path in zip(scene.phones, paths, strict=True):
        film_of(scene, phone, path, Encoding(has_sound=True))
    return scene, measured_by_hand(rig, rng), paths


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
def test_both_films_are_read_as_one(filmed: tuple[Scene, Rig, tuple[Path, Path]], by: By) -> None:
    scene, rig, paths = filmed
    video = read_two_films(paths, rig, by=by)
    first, second = scene.phones

    assert video.agreed.clock.offset_s == pytest.approx(second.frame_s[0] - first.frame_s[0], abs=0.001)
    assert video.is_steady
    assert not any("disagree" in flag for flag in video.motion.flags)
    assert wander_deg(video, scene) < 0.1
    assert len(video.motion.time_s) == len(first.frame_s)


def test_progress_is_told_and_a_film_given_twice_refused(filmed: tuple[Scene, Rig, tuple[Path, Path]]) -> None:
    _, rig, paths = filmed
    told: list[float] = []
    video = read_two_films(paths, rig, on_progress=lambda progress: told.append(progress.done_s))
    alone = read_tagged_video(paths[0], rig)

    assert len(told) >= 2
    assert video.motion.source_sha256 == alone.motion.source_sha256
    assert min(video.seen_ratio.values()) >= min(alone.seen_ratio.values())
    with pytest.raises(ClockError, match=r"one.mp4 and one.mp4 are one and the same film"):
        read_two_films((paths[0], paths[0]), rig)
