"""Prints what a rehearsal is filmed with: tags for each segment, calibration board, placement guide, rig file."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from onthree.capture.board import BOARD
from onthree.capture.cube import FACES, face_place
from onthree.capture.rig import FAMILIES
from onthree.capture.tag_patterns import Rectangle, TagPattern, board_black_m, tag_patterns
from onthree.documents.tag_sheets import (
    PAPERS_MM,
    PrintedTag,
    board_pdf,
    fitting,
    guide_pdf,
    plate_mm,
    sheets,
    tag_sheets_pdf,
)
from onthree.sources import table

LEAST_SIZE_MM, MOST_SIZE_MM = 20, 250
"""Smaller squares are not read from where a phone stands out of the way; no larger one fits on a page."""
USUAL_SEGMENTS = ("head", "trunk")
RIG_FILE = "rig.toml"
DISTANCES_M = (1.5, 2.0, 2.5, 3.0, 4.0)
NEXT = (
    "Print at 100 % on matt paper and measure the rulers. Where 100 mm is not 100 mm, print again.",
    "Glue and mount as guide.pdf shows: nothing under a supine athlete. Then say in rig.toml what the tags sit on.",
    "Film board.pdf once with the phone as it will be used. Then rehearse: a dummy before a person, with spotters.",
)
SCHEMA_VERSION = 1
CAUTION = (
    "Rehearsals only, never on a real patient. Local protocol, medical direction and the makers' manuals come first."
)


class TagSheetError(ValueError):
    """Sheets that cannot be printed; says every problem at once."""


@dataclass(frozen=True)
class TagOrder:
    """What is asked for: ``size_mm`` by segment, with the empty name for all others."""

    segments: tuple[str, ...] = USUAL_SEGMENTS
    paper: str = "a4"
    size_mm: Mapping[str, float] | None = None
    family: str = FAMILIES[0]
    first_id: int = 0
    on_cubes: bool = False


@dataclass(frozen=True)
class SegmentTags:
    """The tags of one segment, and the side of their squares [mm]."""

    segment: str
    ids: tuple[int, ...]
    size_mm: float


@dataclass(frozen=True)
class WrittenSheets:
    """The files that were written, and the tags on them."""

    folder: Path
    files: tuple[str, ...]
    order: TagOrder
    tags: tuple[PrintedTag, ...]
    pages_count: int


def write_tag_sheets(folder: Path, order: TagOrder, on: date) -> WrittenSheets:
    """Write the sheets into a folder, all or nothing; a rig file that somebody changed is never overwritten.

    Raises TagSheetError with every problem.
    """
    tags = printed_tags(order)
    rig = rig_text(tags, order)
    there = folder / RIG_FILE
    if there.is_file() and there.read_text(encoding="utf-8") != rig:
        raise TagSheetError(f"{there} is there already and says something else: move it away, or choose another --out")
    made = sheets(tags, order.paper)
    square_mm, marker_mm = BOARD.square_m * 1000, BOARD.marker_m * 1000
    board_mm = (BOARD.columns * square_mm, BOARD.rows * square_mm)
    files = {
        "tags.pdf": tag_sheets_pdf(made, order.family, order.paper, on),
        "board.pdf": board_pdf(_in_mm(board_black_m()), board_mm, square_mm, marker_mm, order.paper, on),
        "guide.pdf": guide_pdf(_guide(tags, order), order.paper, on),
        RIG_FILE: rig.encode(),
    }
    _write(folder, files)
    return WrittenSheets(folder, tuple(files), order, tags, len(made))


def by_segment(tags: Sequence[PrintedTag]) -> list[SegmentTags]:
    """The tags in words, in the order of their segments."""
    segments = dict.fromkeys(tag.segment for tag in tags)
    of = {segment: [tag for tag in tags if tag.segment == segment] for segment in segments}
    return [SegmentTags(segment, tuple(tag.id for tag in some), some[0].size_mm) for segment, some in of.items()]


def sheets_document(written: WrittenSheets) -> dict[str, Any]:
    """What was written, as plain data for JSON."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "tag-sheets",
        "written": [str(written.folder / name) for name in written.files],
        "family": written.order.family,
        "paper": written.order.paper,
        "pages_count": written.pages_count,
        "segments": [
            {"segment": each.segment, "ids": list(each.ids), "size_mm": each.size_mm}
            for each in by_segment(written.tags)
        ],
        "next": list(NEXT),
        "cautions": [CAUTION],
    }


def printed_tags(order: TagOrder) -> tuple[PrintedTag, ...]:
    """The tags of an order, ids in the order of its segments. Raises TagSheetError with every problem."""
    usual = {row["segment"]: row for row in table("tag_sheets")}
    problems = list(_problems(order, list(usual)))
    if problems:
        raise TagSheetError("\n".join(problems))
    counts = {segment: int(usual[segment]["tags_count"]) for segment in order.segments}
    ids = range(order.first_id, order.first_id + sum(counts.values()))
    try:
        patterns = tag_patterns(order.family, ids)
    except ValueError as error:
        raise TagSheetError(str(error)) from None
    segments = [segment for segment in order.segments for _ in range(counts[segment])]
    places = [place for segment in order.segments for place in range(counts[segment])]
    tags = tuple(
        _printed(tag, segment, place, patterns[tag], usual[segment], order)
        for tag, segment, place in zip(ids, segments, places, strict=True)
    )
    if too_large := list(_too_large(tags, order.paper)):
        raise TagSheetError("\n".join(too_large))
    return tags


def rig_text(tags: Sequence[PrintedTag], order: TagOrder) -> str:
    """The rig file of printed tags: their segments and sides; places only for tags on cubes."""
    lines = [
        "# Which printed tags sit on which segment. Measure the black squares on the print and correct size_m.",
        "# Leave out tags that were not used. Places are found from the film; those below, if any, are only a start.",
        f'family = "{order.family}"',
        'measured_as = "tags on segments"    # or: "helmet on pads", "mouthpiece on sternum"',
    ]
    for tag in tags:
        size_m = round(tag.size_mm / 1000, 6)
        lines += ["", "[[tag]]", f"id = {tag.id}", f'segment = "{tag.segment}"', f"size_m = {size_m:g}"]
        if tag.face:
            centre_m, rotvec_rad = face_place(FACES[tag.face], tag.plate_mm / 1000)
            lines += [
                f"centre_m = {_numbers(centre_m)}    # {tag.face} of the cube",
                f"rotvec_rad = {_numbers(rotvec_rad)}",
            ]
    return "\n".join(lines) + "\n"


def _problems(order: TagOrder, known: list[str]) -> Iterator[str]:
    if not order.segments:
        yield f"--segments: none given, one or more of {', '.join(known)} expected"
    for segment in dict.fromkeys(order.segments):
        if segment not in known:
            yield f"--segments: {segment!r} given, one or more of {', '.join(known)} expected"
        if order.segments.count(segment) > 1:
            yield f"--segments: {segment!r} given twice, once expected"
    if order.paper not in PAPERS_MM:
        yield f"--paper: {order.paper!r} given, one of {', '.join(PAPERS_MM)} expected"
    if order.family not in FAMILIES:
        yield f"--family: {order.family!r} given, one of {', '.join(FAMILIES)} expected"
    if order.first_id < 0:
        yield f"--first-id: {order.first_id} given, zero or more expected"
    for segment, size_mm in (order.size_mm or {}).items():
        if segment and segment not in order.segments:
            yield f"--size-mm: {segment!r} given, one of {', '.join(order.segments)} expected"
        if not LEAST_SIZE_MM <= size_mm <= MOST_SIZE_MM:
            yield f"--size-mm: {size_mm:g} given, {LEAST_SIZE_MM} to {MOST_SIZE_MM} expected, less where paper is small"


def _too_large(tags: Sequence[PrintedTag], paper: str) -> Iterator[str]:
    for tag in {tag.segment: tag for tag in tags}.values():
        if 0 in fitting(tag.plate_mm, paper):
            ratio = tag.size_mm / tag.plate_mm
            most_mm = max(mm for mm in range(5, 300, 5) if 0 not in fitting(mm, paper)) * ratio
            yield (
                f"--size-mm: {tag.size_mm:g} given for {tag.segment}, at most about {most_mm:.0f} expected: "
                f"with its white border it must fit on {paper} paper"
            )


def _printed(
    tag: int, segment: str, place: int, pattern: TagPattern, usual: Mapping[str, str], order: TagOrder
) -> PrintedTag:
    asked = order.size_mm or {}
    size_mm = float(asked.get(segment, asked.get("", float(usual["size"]))))
    cell_mm = size_mm / pattern.side_cells
    side_mm = plate_mm(size_mm, pattern.cells, pattern.side_cells, 0 if pattern.is_ringed_white else 1)
    shift_mm = (side_mm - cell_mm * pattern.cells) / 2
    black = tuple((x + shift_mm, y + shift_mm, width, height) for x, y, width, height in pattern.black_m(cell_mm))
    faces = list(FACES) if order.on_cubes and segment in USUAL_SEGMENTS else []
    face = faces[place] if place < len(faces) else ""
    return PrintedTag(tag, segment, usual["words"], face, size_mm, side_mm, black)


def _guide(tags: Sequence[PrintedTag], order: TagOrder) -> dict[str, Any]:
    advice = {row["name"]: float(row["value"]) for row in table("film_advice")}
    focal = next(float(row["start"]) for row in table("film_beliefs") if row["name"] == "focal")
    seen_px_m = focal * advice["usual_film_width"]
    first = {tag.segment: tag for tag in reversed(tags)}
    segments = [
        {
            "words": first[segment].words,
            "segment": segment,
            "ids": [tag.id for tag in tags if tag.segment == segment],
            "size_mm": first[segment].size_mm,
            "cube_mm": first[segment].plate_mm,
            "side_px": [round(seen_px_m * first[segment].size_mm / 1000 / metres) for metres in DISTANCES_M],
        }
        for segment in order.segments
    ]
    return {
        "segments": segments,
        "distances_m": DISTANCES_M,
        "least_side_px": round(advice["least_side"]),
        "exposure_parts": round(1 / advice["longest_exposure"]),
        "phone_m": advice["phone_distance"],
        "film_width_px": round(advice["usual_film_width"]),
        "family": order.family,
        "faces": list(FACES),
    }


def _in_mm(rectangles_m: Sequence[Rectangle]) -> list[Rectangle]:
    return [(x * 1000, y * 1000, width * 1000, height * 1000) for x, y, width, height in rectangles_m]


def _numbers(values: Any) -> str:
    return "[" + ", ".join(f"{value + 0.0:.6f}" for value in values) + "]"


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    """Everything is written beside its place first, so that a full disk leaves no half of it there."""
    folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".onthree-", dir=folder) as drafts:
        for name, content in files.items():
            (Path(drafts) / name).write_bytes(content)
        for name in files:
            (Path(drafts) / name).replace(folder / name)
