"""The camera file: what was written is read, every problem is said, and a size is scaled only when somebody says so."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from onthree.capture.camera import Camera, projected
from onthree.capture.camera_file import (
    NAMES,
    CameraFileError,
    KnownCamera,
    camera_from,
    camera_text,
    find_camera,
    find_named_camera,
    read_camera,
    write_camera,
)
from tests.invented_film import CAMERA

TODAY = date(2026, 11, 25)
KNOWN = KnownCamera(
    1920,
    1080,
    Camera(CAMERA, np.abs(CAMERA) / 1000),
    "invented",
    TODAY,
    'the "blue" phone',
    readout_s=0.012,
)


def test_what_was_written_is_read(tmp_path: Path) -> None:
    write_camera(tmp_path / "blue.toml", replace(KNOWN, same_crop=((3840, 2160),)))
    read = read_camera(tmp_path / "blue.toml")

    np.testing.assert_array_equal(read.camera.values, CAMERA)
    np.testing.assert_array_equal(read.camera.sd, KNOWN.camera.sd)
    assert (read.width, read.phone, read.lens, read.readout_s) == (1920, 'the "blue" phone', "unknown", 0.012)
    assert read.same_crop == ((3840, 2160),)
    assert list(tmp_path.iterdir()) == [tmp_path / "blue.toml"]


def test_unknown_read_out_stays_unknown(tmp_path: Path) -> None:
    write_camera(tmp_path / "c.toml", replace(KNOWN, readout_s=None))

    assert read_camera(tmp_path / "c.toml").readout_s is None
    assert 'readout_s = "unknown"' in camera_text(replace(KNOWN, readout_s=None))


def test_every_problem_is_said_at_once() -> None:
    written = {
        "width": 0,
        "date": "today",
        "readout_s": 3,
        "same_crop": [[1]],
        "lens": 4,
        "colour": "blue",
        "value": dict.fromkeys(NAMES, 1.0) | {"focal_px": -5, "k9": 1},
        "sd": {"focal_px": -1},
    }
    with pytest.raises(CameraFileError) as caught:
        camera_from(written)

    said = str(caught.value)
    for words in ("width 0", "height None", "date 'today'", "readout_s 3", "same_crop", "lens 4", "colour not known"):
        assert words in said
    for words in ("[value] focal_px -5", "[value] k9 not known", "[sd] focal_px -1", "[sd] p2_ratio None"):
        assert words in said


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"\xff\xfe", r"c\.toml: not text in UTF-8"),
        (b"width = ", r"c\.toml cannot be read"),
        (None, r"c\.toml: no such file"),
    ],
)
def test_a_file_that_is_none_says_so(content: bytes | None, told: str, tmp_path: Path) -> None:
    if content is not None:
        (tmp_path / "c.toml").write_bytes(content)

    with pytest.raises(CameraFileError, match=told):
        read_camera(tmp_path / "c.toml")


def test_a_size_is_scaled_only_when_somebody_says_so() -> None:
    point = np.array([[0.2, -0.1, 1.5]])
    assert KNOWN.of_size(1920, 1080) is KNOWN.camera
    with pytest.raises(CameraFileError, match="same part of the sensor"):
        KNOWN.of_size(3840, 2160)

    twice = KNOWN.of_size(3840, 2160, is_same_crop=True)
    edges = projected(twice.values, point) + 0.5
    np.testing.assert_allclose(edges, 2 * (projected(CAMERA, point) + 0.5))
    assert twice.sd[0] == 2 * KNOWN.camera.sd[0]
    np.testing.assert_array_equal(replace(KNOWN, same_crop=((3840, 2160),)).of_size(3840, 2160).values, twice.values)


def test_another_part_of_the_sensor_is_another_camera() -> None:
    for size in ((4032, 3024), (1920, 1440)):
        with pytest.raises(CameraFileError, match="another part of the sensor"):
            KNOWN.of_size(*size, is_same_crop=True)
    with pytest.raises(CameraFileError, match="lies on its side"):
        KNOWN.of_size(1080, 1920, is_same_crop=True)


def test_a_kept_camera_is_found_by_its_name(tmp_path: Path) -> None:
    write_camera(tmp_path / "blue.toml", KNOWN)

    assert find_camera("blue", tmp_path) == tmp_path / "blue.toml"
    assert find_camera(str(tmp_path / "blue.toml")) == tmp_path / "blue.toml"
    assert find_named_camera("blue", tmp_path) == tmp_path / "blue.toml"
    with pytest.raises(CameraFileError, match="give the name of a kept one"):
        find_named_camera(str(tmp_path / "blue.toml"), tmp_path)
    with pytest.raises(CameraFileError, match=r"no camera file 'red'.*kept here: blue"):
        find_camera("red", tmp_path)
    with pytest.raises(CameraFileError, match="none is kept yet"):
        find_camera("red")
