"""Films and photos of the board become a camera file; what does not belong together is refused, all or nothing."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import cv2
import numpy as np
import pytest
from typer.testing import CliRunner

from onthree.actions.calibrate_camera import Owner, calibrate_camera, made_document
from onthree.capture.calibration import CalibrationError
from onthree.capture.camera_file import read_camera
from onthree.capture.film import FilmError
from onthree.capture.progress import Progress
from onthree.cli.commands import app
from onthree.demo.film_writer import Encoding
from onthree.demo.film_writer import write_film as write_frames
from tests.unit.capture.test_calibration import CAMERA, HEIGHT, WIDTH, rendered
from tests.unit.capture.test_film import write_film

TODAY = date(2026, 11, 25)


@pytest.fixture
def photos(tmp_path: Path) -> list[Path]:
    """Photos of the board, taken with a camera that is known."""
    paths = [tmp_path / f"board-{index}.png" for index in range(len(rendered()))]
    for path, picture in zip(paths, rendered(), strict=True):
        cv2.imwrite(str(path), picture)
    return paths


def test_photos_of_the_board_become_a_camera_file(photos: list[Path], tmp_path: Path) -> None:
    out = tmp_path / "blue.toml"
    result = CliRunner().invoke(app, ["camera", *map(str, photos), "--out", str(out), "--phone", "the blue one"])

    assert result.exit_code == 0, result.output
    assert "give or take" in result.output
    read = read_camera(out)
    assert (read.width, read.height, read.phone, read.readout_s) == (WIDTH, HEIGHT, "the blue one", None)
    assert read.camera.focal_px == pytest.approx(CAMERA[0], rel=0.005)


def test_a_film_of_the_board_becomes_a_camera_file(tmp_path: Path) -> None:
    write_frames(tmp_path / "board.mp4", rendered(), np.arange(len(rendered())) / 4, Encoding(crf=12))
    heard: list[Progress] = []
    made = calibrate_camera(
        [tmp_path / "board.mp4"], tmp_path / "c.toml", today=TODAY, is_focus_locked=True, listener=heard.append
    )

    assert made.calibration.view_count >= 15
    assert made.known.camera.focal_px == pytest.approx(CAMERA[0], rel=0.005)
    assert abs(made.known.camera.focal_px - CAMERA[0]) < 3.5 * made.known.camera.sd[0]
    assert heard[-1].left_s == 0


def test_the_document_holds_value_and_sd(photos: list[Path], tmp_path: Path) -> None:
    made = calibrate_camera(photos[:20], tmp_path / "c.toml", today=TODAY, owner=replace(Owner(), readout_s=0.01))
    document = made_document(made)

    assert document["value"]["focal_px"] == made.known.camera.focal_px
    assert document["readout_s"] == 0.01
    assert document["cautions"]


def test_pictures_of_two_sizes_are_two_cameras(photos: list[Path], tmp_path: Path) -> None:
    cv2.imwrite(str(tmp_path / "other.png"), np.zeros((600, 800), np.uint8))

    with pytest.raises(CalibrationError, match=r"960 x 540 in board-0\.png, 800 x 600 in other\.png"):
        calibrate_camera([photos[0], tmp_path / "other.png"], tmp_path / "c.toml", today=TODAY)
    assert not (tmp_path / "c.toml").exists()


def test_a_film_without_the_board_is_refused(tmp_path: Path) -> None:
    film = write_film(tmp_path / "film.mp4", [0, 30000, 60000])

    with pytest.raises(CalibrationError, match="found in 0 pictures"):
        calibrate_camera([film], tmp_path / "c.toml", today=TODAY)
    (tmp_path / "text.mp4").write_text("no film")
    with pytest.raises(FilmError):
        calibrate_camera([tmp_path / "text.mp4"], tmp_path / "c.toml", today=TODAY)


def test_the_command_refuses_with_a_message_and_exit_2(tmp_path: Path) -> None:
    runner = CliRunner()
    assert runner.invoke(app, ["camera", str(tmp_path), "--out", str(tmp_path / "c.toml")]).exit_code == 2
    assert runner.invoke(app, ["camera", "x.mp4", "--out", "c.toml", "--readout", "3"]).exit_code == 2
