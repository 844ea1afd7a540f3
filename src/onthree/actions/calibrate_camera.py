"""Calibrates a camera from films or photos of the printed board, and keeps it as a camera file."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from onthree.capture.board import BOARD, opencv_board
from onthree.capture.calibration import BoardView, Calibration, CalibrationError, board_views, calibrated
from onthree.capture.camera_file import NAMES, UNKNOWN, KnownCamera, write_camera
from onthree.capture.film import ByteArray, is_photo, open_film
from onthree.capture.pictures import read_photo, spaced
from onthree.capture.progress import Listener, watched

LEAST_STEP_S, MOST_LOOKED_AT = 0.2, 150
"""Frames that are looked at lie this far apart, and are no more than this many in a film."""
CAUTION = (
    "Good for this phone, lens and way of filming alone; after a fall, a new cover or another zoom, measure it again."
)


@dataclass(frozen=True)
class Owner:
    """What the owner says about the phone, in own words, and its read-out from first to last row if it is known."""

    phone: str = UNKNOWN
    lens: str = UNKNOWN
    mode: str = UNKNOWN
    readout_s: float | None = None


@dataclass(frozen=True, eq=False)
class MadeCamera:
    """The camera file that was written, and how good it is."""

    path: Path
    known: KnownCamera
    calibration: Calibration


def calibrate_camera(
    files: Sequence[Path],
    out: Path,
    *,
    today: date,
    owner: Owner = Owner(),
    is_focus_locked: bool = False,
    listener: Listener | None = None,
) -> MadeCamera:
    """Calibrate from films or photos and write the camera file.

    Raises FilmError for a file that cannot be read, CalibrationError for pictures that give no camera.
    """
    views: list[BoardView] = []
    sizes: dict[tuple[int, int], str] = {}
    for path in files:
        for luma in _pictures(path, listener):
            sizes.setdefault((luma.shape[1], luma.shape[0]), path.name)
            if len(sizes) > 1:
                told = ", ".join(f"{width} x {height} in {name}" for (width, height), name in sizes.items())
                raise CalibrationError([f"pictures of different sizes ({told}): each is another camera, one at a time"])
            views += board_views([luma], opencv_board())
    if not sizes:
        raise CalibrationError(["no pictures: give films or photos of the board"])
    width, height = next(iter(sizes))
    found = calibrated(views, opencv_board(), width, height, is_focus_locked)
    made_from = f"board of {BOARD.columns} x {BOARD.rows} squares, {found.view_count} views"
    focus = "focus locked" if is_focus_locked else "focus not locked"
    known = KnownCamera(
        width,
        height,
        found.camera,
        f"{made_from}, {focus}",
        today,
        owner.phone,
        owner.lens,
        owner.mode,
        owner.readout_s,
    )
    write_camera(out, known)
    return MadeCamera(out, known, found)


def _pictures(path: Path, listener: Listener | None) -> Iterator[ByteArray]:
    if is_photo(path):
        yield read_photo(path)
        return
    film = open_film(path)
    step_s = max(LEAST_STEP_S, (film.duration_s or 0.0) / MOST_LOOKED_AT)
    for frame in spaced(watched(film.frames(), film.duration_s, listener), step_s):
        yield frame.luma


def made_document(made: MadeCamera) -> dict[str, Any]:
    """The camera as plain data for JSON."""
    known, found = made.known, made.calibration
    return {
        "schema_version": 1,
        "kind": "camera",
        "file": str(made.path),
        "width": known.width,
        "height": known.height,
        "value": dict(zip(NAMES, map(float, known.camera.values), strict=True)),
        "sd": dict(zip(NAMES, map(float, known.camera.sd), strict=True)),
        "readout_s": known.readout_s,
        "made_from": known.made_from,
        "view_count": found.view_count,
        "rms_px": found.rms_px,
        "covered_ratio": found.covered_ratio,
        "most_tilt_deg": found.most_tilt_deg,
        "cautions": [CAUTION],
    }
