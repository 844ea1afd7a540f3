"""The camera file: what is known about one phone, lens and way of filming, kept so that it need not be measured again.

    width = 1920
    height = 1080
    same_crop = [[3840, 2160]]        # other sizes that show the same part of the sensor; may be left out
    readout_s = "unknown"             # from the first row to the last; "unknown" or seconds
    made_from = "film of the board, 24 views"
    phone = "the phone in the blue case"
    lens = "main"
    mode = "1080p, 60 frames a second, stabilisation off"
    date = 2026-11-25

    [value]                           # focal and centre in pixels, pixel centres at integers
    focal_px = 1450.2
    aspect_ratio = 1.0004
    centre_across_px = 961.3
    centre_down_px = 538.0
    k1_ratio = 0.0612
    k2_ratio = -0.1090
    p1_ratio = 0.0002
    p2_ratio = -0.0001

    [sd]                              # how sure each is; the same names

A phone that films in another size often uses another part of its sensor, which is another camera: so nothing is scaled
unless somebody says that the part is the same.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, TypeGuard

import numpy as np
from numpy.typing import NDArray

from onthree.capture.camera import Camera
from onthree.capture.text_file import TextFileError, text_of

FloatArray = NDArray[np.float64]

NAMES = (
    "focal_px",
    "aspect_ratio",
    "centre_across_px",
    "centre_down_px",
    "k1_ratio",
    "k2_ratio",
    "p1_ratio",
    "p2_ratio",
)
IN_PIXELS = np.array([name.endswith("_px") and name.startswith(("focal", "centre")) for name in NAMES])
WORDS = ("made_from", "phone", "lens", "mode")
FOLDER = "cameras"
"""The folder of kept camera files, below the folder of the store."""
UNKNOWN = "unknown"
SAME_SHAPE_RATIO = 0.002
"""Sizes of the same shape are within a pixel of each other; 1920 x 1080 and 1920 x 1088 are not."""
LONGEST_READOUT_S = 0.1


class CameraFileError(ValueError):
    """A camera file that cannot be used; says every problem at once."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("camera: " + "; ".join(problems))
        self.problems = problems


@dataclass(frozen=True, eq=False)
class KnownCamera:
    """A camera that was measured: for which size of picture, from what, of which phone in its owner's words.

    ``readout_s`` is the time from the first row of a frame to the last, None if unknown.
    """

    width: int
    height: int
    camera: Camera
    made_from: str
    made_on: date
    phone: str = UNKNOWN
    lens: str = UNKNOWN
    mode: str = UNKNOWN
    readout_s: float | None = None
    same_crop: tuple[tuple[int, int], ...] = ()

    def of_size(self, width: int, height: int, is_same_crop: bool = False) -> Camera:
        """The camera for a film of this size. Raises CameraFileError if it may show another part of the sensor."""
        if (width, height) == (self.width, self.height):
            return self.camera
        sizes = f"the camera was measured at {self.width} x {self.height}, the film has {width} x {height} pixels"
        if abs(width * self.height / (height * self.width) - 1) > SAME_SHAPE_RATIO:
            if {width, height} == {self.width, self.height}:
                raise CameraFileError([f"{sizes}: it lies on its side; film and measure the same way round"])
            fix = "another part of the sensor, so another camera; measure it in the mode the film was made in"
            raise CameraFileError([f"{sizes}: {fix}"])
        if not is_same_crop and (width, height) not in self.same_crop:
            fix = "if both show the same part of the sensor, add it to same_crop in the camera file; else measure it"
            raise CameraFileError([f"{sizes}: {fix}"])
        return _scaled(self.camera, width / self.width)


def _scaled(camera: Camera, scale_ratio: float) -> Camera:
    """The same optics on larger or smaller pixels; their centres are at integers, so the edge is at minus one half."""
    scale = np.where(IN_PIXELS, scale_ratio, 1.0)
    shift = np.zeros(len(NAMES))
    shift[2:4] = (scale_ratio - 1) / 2
    return Camera(camera.values * scale + shift, camera.sd * scale)


def find_camera(name: str, folder: Path | None = None) -> Path:
    """The camera file of this path, or of this name in the folder of kept ones. Raises CameraFileError."""
    if Path(name).is_file():
        return Path(name)
    return find_named_camera(name, folder, "give a file, or the name of a kept one")


def find_named_camera(name: str, folder: Path | None, do: str = "give the name of a kept one") -> Path:
    """The camera file of this name in the folder of kept ones, never another file. Raises CameraFileError."""
    kept = sorted(folder.glob("*.toml")) if folder is not None else []
    for path in kept:
        if path.stem == name:
            return path
    there = f"kept here: {', '.join(path.stem for path in kept)}" if kept else "none is kept yet"
    raise CameraFileError([f"no camera file {name!r}: {do} ({there})"])


def read_camera(path: Path) -> KnownCamera:
    """Read a camera file. Raises CameraFileError with every problem."""
    try:
        return camera_from(tomllib.loads(text_of(path)))
    except tomllib.TOMLDecodeError as error:
        raise CameraFileError([f"{path.name} cannot be read: {error}"]) from None
    except TextFileError as error:
        raise CameraFileError([f"{path.name}: {error}"]) from None


def camera_from(written: Mapping[str, Any]) -> KnownCamera:
    """A camera from what a camera file says. Raises CameraFileError with every problem."""
    problems = list(_problems(written))
    if problems:
        raise CameraFileError(problems)
    values, sd = (np.array([float(written[part][name]) for name in NAMES]) for part in ("value", "sd"))
    readout = written.get("readout_s", UNKNOWN)
    return KnownCamera(
        written["width"],
        written["height"],
        Camera(values, sd),
        made_on=written["date"],
        readout_s=None if readout == UNKNOWN else float(readout),
        same_crop=tuple((width, height) for width, height in written.get("same_crop", [])),
        **{word: written.get(word, UNKNOWN) for word in WORDS},
    )


def _problems(written: Mapping[str, Any]) -> Iterator[str]:
    for name in ("width", "height"):
        if not _is_count(written.get(name)):
            yield f"{name} {written.get(name)!r} given, a whole number of pixels expected"
    if type(written.get("date")) is not date:
        yield f"date {written.get('date')!r} given, a day such as 2026-11-25 (without quotes) expected"
    readout = written.get("readout_s", UNKNOWN)
    if readout != UNKNOWN and not (_is_number(readout) and 0 <= readout <= LONGEST_READOUT_S):
        yield f'readout_s {readout!r} given, "unknown" or seconds from 0 to {LONGEST_READOUT_S} expected'
    sizes = written.get("same_crop", [])
    if not isinstance(sizes, list) or not all(
        isinstance(size, list) and len(size) == 2 and all(map(_is_count, size)) for size in sizes
    ):
        yield f"same_crop {sizes!r} given, sizes such as [[3840, 2160]] expected"
    for word in WORDS:
        if not isinstance(written.get(word, ""), str):
            yield f"{word} {written[word]!r} given, words in quotes expected"
    known = {"width", "height", "date", "readout_s", "same_crop", *WORDS, "value", "sd"}
    if unknown := set(written) - known:
        yield f"{', '.join(sorted(unknown))} not known"
    yield from _problems_of_numbers(written)


def _problems_of_numbers(written: Mapping[str, Any]) -> Iterator[str]:
    for part in ("value", "sd"):
        numbers = written.get(part)
        if not isinstance(numbers, dict):
            yield f"no [{part}]: give {', '.join(NAMES)}"
            continue
        for name in NAMES:
            given: Any = numbers.get(name)
            if not _is_number(given):
                yield f"[{part}] {name} {given!r} given, a number expected"
            elif given < 0 if part == "sd" else given <= 0 and name in NAMES[:2]:
                yield f"[{part}] {name} {given!r} given, a number above 0 expected"
        if unknown := set(numbers) - set(NAMES):
            yield f"[{part}] {', '.join(sorted(unknown))} not known"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and bool(np.isfinite(value))


def _is_count(value: object) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and value > 0


def camera_text(known: KnownCamera) -> str:
    """A camera as the text of a camera file."""
    head: dict[str, object] = {"width": known.width, "height": known.height}
    if known.same_crop:
        head["same_crop"] = [list(size) for size in known.same_crop]
    head["readout_s"] = UNKNOWN if known.readout_s is None else known.readout_s
    head |= {word: getattr(known, word) for word in WORDS}
    lines = [f"{key} = {_quoted(value) if isinstance(value, str) else value}" for key, value in head.items()]
    lines.append(f"date = {known.made_on.isoformat()}")
    for part, numbers in (("value", known.camera.values), ("sd", known.camera.sd)):
        lines += ["", f"[{part}]", *(f"{name} = {float(n)!r}" for name, n in zip(NAMES, numbers, strict=True))]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A basic string of TOML 1.0: backslash, quote and control characters escaped."""
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(f"\\u{ord(sign):04x}" if ord(sign) < 32 or ord(sign) == 127 else sign for sign in plain) + '"'


def write_camera(path: Path, known: KnownCamera) -> None:
    """Write a camera file, whole or not at all."""
    draft = path.with_name(path.name + ".part")
    draft.write_text(camera_text(known), encoding="utf-8")
    draft.replace(path)
