"""A camera file that a shipped film contradicts, given to ``onthree measure``: said once, plainly, with what to do."""

import json
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from onthree.capture.camera import Camera
from onthree.capture.camera_file import KnownCamera, write_camera
from onthree.cli.commands import app
from onthree.demo.rehearsal_films import rehearsal_folder

FILM = rehearsal_folder() / "roll-head-late.mp4"
SD = np.array([0.003, 0.001, 0.002, 0.002, 0.005, 0.005, 0.0005, 0.0005])
"""As a good calibration tells a camera: shares of the focal length for those in pixels."""
CONTRADICTED = "the camera file does not fit this film: focal length "


def camera_written(path: Path, wrong_ratio: float) -> Path:
    """The camera that the film was rendered with, its focal length off by a ratio."""
    truth = json.loads(FILM.with_suffix(".json").read_text(encoding="utf-8"))["camera"]
    fx, width, height = truth["fx"], truth["width"], truth["height"]
    values = np.array([fx * wrong_ratio, truth["fy"] / fx, *map(truth.get, ("cx", "cy", "k1", "k2", "p1", "p2"))])
    sd = SD * np.array([fx, 1, fx, fx, 1, 1, 1, 1])
    write_camera(path, KnownCamera(width, height, Camera(values, sd), "invented", date(2026, 11, 25), "red"))
    return path


def measured(camera: Path, *words: str) -> Result:
    """The command with the shipped film, its rig and the camera file."""
    given = ["measure", str(FILM), "--rig", str(FILM.with_name("rig.toml")), "--camera", str(camera), *words]
    result = CliRunner().invoke(app, given)
    assert result.exit_code == 0, result.output
    return result


def test_the_file_of_another_lens_is_contradicted_by_the_film(tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = measured(camera_written(tmp_path / "red.toml", 1.165), "--out", str(out), "--no-film")
    flags = json.loads((out / "measures.json").read_text(encoding="utf-8"))["flags"]
    (told,) = [flag for flag in flags if "camera file" in flag]
    off = float(told.removeprefix(CONTRADICTED).partition("%")[0])

    assert off == pytest.approx(100 * (1 / 1.165 - 1), abs=1), (
        "against the focal length that the film was rendered with"
    )
    assert "measure the film without the file, or measure the camera again" in told
    assert " ".join(result.output.split()).count(CONTRADICTED) == 1
    assert told in (out / "quality.html").read_text(encoding="utf-8")


def test_a_file_that_fits_is_not_spoken_of(tmp_path: Path) -> None:
    result = measured(camera_written(tmp_path / "red.toml", 1.0))

    assert "camera file" not in " ".join(result.output.split())
