"""Before the runs: what a film shows of its making is judged, what it hides is unknown, and unknown is never ok."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from typer.testing import CliRunner

from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.camera_file import CameraFileError, KnownCamera
from onthree.capture.film import FilmError, Frame
from onthree.capture.preflight import Check, Preflight, preflight, stabilisation
from onthree.capture.preflight_limits import preflight_limits
from onthree.capture.preflight_look import Look, exposure_of, look_around
from onthree.capture.rig import Rig, read_rig
from onthree.capture.tags import find_tags
from onthree.cli.commands import app
from onthree.demo.film_writer import write_film
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.demo.render import Renderer
from onthree.demo.scene import Scene
from onthree.demo.staging import Handling, boom_and_stalk, frame_times, movements, phone_on, stand
from tests.unit.capture.test_camera_file import TODAY
from tests.unit.capture.test_film_check import RIG, filmed
from tests.unit.capture.test_tags import UPRIGHT, drawn

LIMITS = preflight_limits()
SIZE, LENGTH_S = (960, 540), 1.2


def by_name(found: Preflight) -> dict[str, Check]:
    """The checks by name."""
    return {check.name: check for check in found.checks}


@cache
def rendered(exposure_s: float) -> tuple[Rig, NDArray[np.float64], tuple[NDArray[np.uint8], ...]]:
    """A brisk roll, near: its rig, the times of its frames, and they."""
    rng = np.random.default_rng(3)
    handling = Handling(0.1, 0.8, 0.1, roll_deg=70, head_deg=(-8.0, 5.0, 9.0), seed=3)
    rig = boom_and_stalk(has_more=True)
    frame_s = frame_times(30.0, LENGTH_S, rng)
    phone = phone_on(stand(1.2, 0.9, 20), SIZE, frame_s, rng, exposure_s)
    scene = Scene(rig, movements(handling, LENGTH_S), (phone,), seed=3)
    return rig, frame_s, tuple(Renderer(scene, phone).frames())


def looked_at(exposure_s: float) -> Look:
    """What the rendered roll shows."""
    rig, frame_s, pictures = rendered(exposure_s)
    frames = [Frame(float(time_s), picture) for time_s, picture in zip(frame_s, pictures, strict=True)]
    return look_around(frames, find_tags(frames, rig.family, {tag.id: tag.segment for tag in rig.tags}))


@pytest.mark.parametrize("exposure_s", [1 / 240, 1 / 60])
def test_the_exposure_is_told_by_the_blur_of_what_moves(exposure_s: float) -> None:
    found = exposure_of(looked_at(exposure_s))

    assert found is not None
    assert found.least_s < exposure_s < LIMITS.blur_low_ratio * found.most_s
    assert found.most_s < 1.6 * exposure_s


def test_a_film_of_a_roll_is_judged_line_by_line(tmp_path: Path) -> None:
    rig, frame_s, pictures = rendered(1 / 60)
    write_film(tmp_path / "roll.mp4", pictures, frame_s)
    found = by_name(preflight(tmp_path / "roll.mp4", rig))

    assert found["exposure"].state == "not ok"
    assert "1/240" in found["exposure"].do
    assert found["frame rate"].state == found["light"].state == found["brightness curve"].state == "ok"
    assert found["stabilisation"].state == "unknown", "a picture that stands still hides it"
    assert found["focal length"].state != "not ok"


def test_what_a_still_film_hides_is_unknown_and_what_is_wrong_is_said(tmp_path: Path) -> None:
    found = preflight(filmed(tmp_path / "film.mp4", drawn({7: UPRIGHT})), RIG)
    checks = by_name(found)

    assert checks["segments"].state == checks["size of tags"].state == checks["light"].state == "ok"
    assert checks["exposure"].state == checks["focal length"].state == "unknown"
    assert checks["frame rate"].state == "not ok"
    assert found.is_stopped
    assert all(check.do for check in found.checks if check.state != "ok")
    assert any("Free space" in question for question in found.questions)


def test_breath_alone_tells_no_exposure() -> None:
    """The shipped film of a hold, 1/240 s, in which no side goes faster than four pixels a second."""
    folder = rehearsal_folder()
    exposure = by_name(preflight(folder / "hold-still.mp4", read_rig(folder / "rig.toml")))["exposure"]

    assert (exposure.state, exposure.found) == ("unknown", "nothing moved")


def test_small_and_pale_tags_are_not_ok(tmp_path: Path) -> None:
    small = UPRIGHT.mean(axis=0) + (UPRIGHT - UPRIGHT.mean(axis=0)) * 0.45
    pale = (100 + (drawn({7: small}, noise=0.5).astype(float) - 100) * 0.25).astype(np.uint8)
    checks = by_name(preflight(filmed(tmp_path / "small.mp4", drawn({7: small})), RIG))
    assert checks["size of tags"].state == "not ok"
    assert "tag 7 with 32 px" in checks["size of tags"].found

    checks = by_name(preflight(filmed(tmp_path / "pale.mp4", pale), RIG))
    assert "ok" not in {checks["segments"].state, checks.get("light", checks["segments"]).state}


def test_a_picture_on_a_stand_that_jumps_gives_stabilisation_away() -> None:
    room = cv2.GaussianBlur(np.random.default_rng(1).uniform(0, 255, (300, 400)).astype(np.float32), (0, 0), 2.5)
    room = np.clip((room - room.mean()) * 4 + 128, 0, 255).astype(np.uint8)
    frames = []
    for index in range(12):
        by = 2 if 5 <= index < 8 else 0
        frames.append(Frame(index / 30, np.ascontiguousarray(room[20 : 20 + 240, 20 + by : 20 + by + 320])))
    look = look_around(frames, find_tags(frames, "tag36h11", {7: "head"}))
    found = stabilisation(look, LIMITS)

    assert found.state == "not ok"
    assert "jumps by 2.0 px" in found.found
    assert stabilisation(replace(look, shift_px=0 * look.shift_px), LIMITS).state == "unknown"


def test_a_film_without_tags_stops_and_says_what_it_shows(tmp_path: Path) -> None:
    found = preflight(filmed(tmp_path / "other.mp4", drawn({9: UPRIGHT})), RIG)

    assert found.is_stopped
    assert "tags 9 of tag36h11 were seen" in found.checks[0].found


def test_a_photo_shows_part_of_it(tmp_path: Path) -> None:
    cv2.imwrite(str(tmp_path / "photo.png"), drawn({7: UPRIGHT}))
    checks = by_name(preflight(tmp_path / "photo.png", RIG))

    assert checks["size of tags"].state == "ok"
    assert checks["exposure"].state == checks["frame rate"].state == "unknown"


def test_a_camera_file_of_another_lens_is_found_out(tmp_path: Path) -> None:
    rig, frame_s, pictures = rendered(1 / 240)
    write_film(tmp_path / "roll.mp4", pictures, frame_s)
    guess = guessed_camera(*SIZE, 1.3 * 0.78 * SIZE[0])
    other = KnownCamera(*SIZE, Camera(guess.values, guess.sd / 100), "invented", TODAY)

    found = by_name(preflight(tmp_path / "roll.mp4", rig, other))
    assert found["camera file"].state == "not ok"
    assert found["segments"].state == found["size of tags"].state == found["exposure"].state == "ok"
    with pytest.raises(CameraFileError):
        preflight(tmp_path / "roll.mp4", rig, KnownCamera(640, 480, guess, "invented", TODAY))


def test_the_command_ends_with_1_for_something_not_ok_and_2_for_no_film(tmp_path: Path) -> None:
    film, rig = filmed(tmp_path / "film.mp4", drawn({7: UPRIGHT})), tmp_path / "rig.toml"
    rig.write_text('[[tag]]\nid = 7\nsegment = "head"\nsize_m = 0.07\n', encoding="utf-8")
    runner = CliRunner()
    result = runner.invoke(app, ["preflight", str(film), "--rig", str(rig)])
    assert result.exit_code == 1, result.output
    assert "not ok   frame rate" in result.output

    document = json.loads(runner.invoke(app, ["preflight", str(film), "--rig", str(rig), "--json"]).output)
    assert document["is_stopped"] is True
    (tmp_path / "text.mp4").write_text("no film")
    assert runner.invoke(app, ["preflight", str(tmp_path / "text.mp4"), "--rig", str(rig)]).exit_code == 2
    assert runner.invoke(app, ["preflight", str(film), "--rig", str(rig), "--camera", "red"]).exit_code == 2
    with pytest.raises(FilmError):
        preflight(tmp_path, RIG)
