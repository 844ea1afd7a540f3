"""The rig file: which printed tags sit on which segment, how large, and roughly where. A place is only a start.

    family = "tag36h11"
    measured_as = "helmet on trunk"
    by_hand_m = 0.01                        # how sure the places below are; may be left out, like the next
    by_hand_rad = 0.09

    [[tag]]
    id = 0
    segment = "head"
    size_m = 0.07
    centre_m = [0.128, 0.050, -0.003]       # in segment axes; may be left out
    rotvec_rad = [-0.326, 1.606, 0.332]     # turns tag axes into segment axes; may be left out

Tag axes: x to the right of the sheet, y up the sheet, z out of its face. Segment axes: X anterior, Y cranial, Z right.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from onthree.capture.text_file import TextFileError, text_of
from onthree.sources import table

FloatArray = NDArray[np.float64]

FAMILIES = ("tag36h11", "tag25h9", "tag16h5", "tagStandard41h12", "tagStandard52h13", "tagCustom48h12")
KEYS = {"family", "measured_as", "by_hand_m", "by_hand_rad", "tag"}
TAG_KEYS = {"id", "segment", "size_m", "centre_m", "rotvec_rad"}


class RigError(ValueError):
    """A rig file that cannot be used; says every problem at once."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("rig: " + "; ".join(problems))
        self.problems = problems


@dataclass(frozen=True, eq=False)
class RigTag:
    """One printed tag: the side of its black square [m], its segment, and its rough place there or None."""

    id: int
    segment: str
    size_m: float
    centre_m: FloatArray | None
    rotvec_rad: FloatArray | None


@dataclass(frozen=True, eq=False)
class Rig:
    """The tags of a film; ``by_hand_m`` and ``by_hand_rad`` say how sure places and directions measured by hand are."""

    family: str
    measured_as: str
    tags: tuple[RigTag, ...]
    by_hand_m: float
    by_hand_rad: float

    @property
    def segments(self) -> tuple[str, ...]:
        """The segments in the order of the file."""
        return tuple(dict.fromkeys(tag.segment for tag in self.tags))

    def without(self, left_out: set[int]) -> "Rig":
        """The rig without some of its tags."""
        kept = tuple(tag for tag in self.tags if tag.id not in left_out)
        return replace(self, tags=kept)


def read_rig(path: Path) -> Rig:
    """Read a rig file. Raises RigError with every problem."""
    try:
        return rig_from(tomllib.loads(text_of(path)))
    except tomllib.TOMLDecodeError as error:
        raise RigError([f"{path.name} cannot be read: {error}"]) from None
    except TextFileError as error:
        raise RigError([f"{path.name}: {error}"]) from None


def rig_from(written: Mapping[str, Any]) -> Rig:
    """A rig from what a rig file says. Raises RigError with every problem."""
    rows = written.get("tag", [])
    family = written.get("family", FAMILIES[0])
    problems = [] if family in FAMILIES else [f"family {family!r} given, one of {', '.join(FAMILIES)} expected"]
    if unknown := set(written) - KEYS:
        problems.append(f"{', '.join(sorted(unknown))} not known, {', '.join(sorted(KEYS))} expected")
    problems += [
        f"{key} {written[key]!r} given, a number above 0 expected"
        for key in ("by_hand_m", "by_hand_rad")
        if key in written and not (_is_number(written[key]) and written[key] > 0)
    ]
    if not isinstance(written.get("measured_as", ""), str):
        problems.append(f"measured_as {written['measured_as']!r} given, words such as 'helmet on pads' expected")
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        raise RigError([*problems, "no tags: add a [[tag]] for each printed tag"])
    problems += _of_tags(rows)
    ids = [row.get("id") for row in rows]
    problems += [
        f"tag {tag} is listed twice: print another id" for tag in sorted({i for i in ids if ids.count(i) > 1}, key=str)
    ]
    if problems:
        raise RigError(problems)
    usual = {row["name"]: float(row["sd"]) for row in table("film_beliefs")}
    by_hand_m = float(written.get("by_hand_m", usual["place_by_hand"]))
    by_hand_rad = float(written.get("by_hand_rad", usual["direction_by_hand"]))
    tags = tuple(_tag(row) for row in rows)
    return Rig(family, written.get("measured_as", "tags on segments"), tags, by_hand_m, by_hand_rad)


def _of_tags(rows: list[Mapping[str, Any]]) -> list[str]:
    """What is wrong with the tags; of several with one problem it is said once."""
    names: dict[str, list[str]] = {}
    for row in rows:
        for problem in _problems_of(row):
            names.setdefault(problem, []).append(str(row.get("id", "?")))
    return [f"tag{'s' * (len(of) > 1)} {', '.join(of)}: {problem}" for problem, of in names.items()]


def _problems_of(row: Mapping[str, Any]) -> Iterator[str]:
    if not isinstance(row.get("id"), int):
        yield f"id {row.get('id')!r} given, a whole number expected"
    if not isinstance(row.get("segment"), str) or not row["segment"]:
        yield 'no segment: say on what it sits, such as "head" or "trunk"'
    size = row.get("size_m")
    if not isinstance(size, int | float) or not 0.005 <= size <= 1:
        yield f"size_m {size!r} given, the side of the black square in metres expected, such as 0.07"
    if ("centre_m" in row) != ("rotvec_rad" in row):
        yield "centre_m and rotvec_rad belong together: give both or none"
    for key in ("centre_m", "rotvec_rad"):
        if key in row and not _is_vector(row[key]):
            yield f"{key} {row[key]!r} given, three numbers expected"
    if unknown := set(row) - TAG_KEYS:
        yield f"{', '.join(sorted(unknown))} not known, {', '.join(sorted(TAG_KEYS))} expected"


def _is_vector(value: object) -> bool:
    return isinstance(value, list) and len(value) == 3 and all(_is_number(part) for part in value)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _tag(row: Mapping[str, Any]) -> RigTag:
    place = [np.array(row[key], dtype=float) if key in row else None for key in ("centre_m", "rotvec_rad")]
    return RigTag(row["id"], row["segment"], float(row["size_m"]), place[0], place[1])
