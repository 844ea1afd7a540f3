"""``onthree tags`` at true size: what is printed is rasterised, and read again by two detectors."""

import json
import re
import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from typer.testing import CliRunner

from onthree.actions.tag_sheets import TagOrder, printed_tags, rig_text
from onthree.capture.board import BOARD, opencv_board
from onthree.capture.detectors import tag_detector
from onthree.capture.rig import FAMILIES, read_rig
from onthree.cli.commands import app
from onthree.documents.tag_sheets import PAPERS_MM, sheets

DPI = 300
MM_PX = DPI / 25.4  # 1 inch = 25.4 mm exactly, as agreed internationally in 1959; from memory
WITHIN_MM = 0.2
EVERY = "head,trunk,device,helmet"

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Printed:
    """A folder of sheets, their rig, and each page as a picture."""

    folder: Path
    paper: str

    def pages(self, name: str) -> list[Picture]:
        """The pages of a document as a printer would see them."""
        return pages_of(self.folder / name)


@cache
def pages_of(stem: Path) -> list[Picture]:
    """The pages of a PDF, given without its ending."""
    command = ["pdftoppm", "-r", str(DPI), "-gray", stem.with_suffix(".pdf"), stem]
    subprocess.run(command, check=True, capture_output=True)
    pages = sorted(stem.parent.glob(f"{stem.name}-*.pgm"))
    return [np.asarray(cv2.imread(str(page), cv2.IMREAD_GRAYSCALE), np.uint8) for page in pages]


@pytest.fixture(scope="module", params=PAPERS_MM)
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Printed:
    """Every segment on each paper, with cubes."""
    folder = tmp_path_factory.mktemp(request.param)
    run("--out", str(folder), "--segments", EVERY, "--paper", request.param, "--cubes", "--on", "2026-11-25")
    return Printed(folder, request.param)


def run(*words: str, code: int = 0) -> str:
    """What the command prints, with its exit code checked."""
    result = CliRunner().invoke(app, ["tags", *words])
    assert result.exit_code == code, result.output
    return result.output


@pytest.mark.print
def test_every_tag_is_read_at_its_size_by_two_detectors(printed: Printed) -> None:
    rig = read_rig(printed.folder / "rig.toml")
    size_mm = {tag.id: tag.size_m * 1000 for tag in rig.tags}
    expected = sheets(printed_tags(TagOrder(tuple(EVERY.split(",")), printed.paper, on_cubes=True)), printed.paper)
    pages = printed.pages("tags")
    assert len(pages) == len(expected)

    read: dict[str, list[int]] = {"pupil": [], "opencv": []}
    for page, sheet in zip(pages, expected, strict=True):
        assert np.allclose(np.array(page.shape[::-1]) / MM_PX, PAPERS_MM[printed.paper], atol=WITHIN_MM)
        middle_mm = {
            placed.tag.id: np.array([placed.left_mm, placed.top_mm]) + placed.tag.plate_mm / 2 for placed in sheet.tags
        }
        for library, ids in read.items():
            for tag, corners_px in tag_detector(library, rig.family).detect(page):  # type: ignore[arg-type]
                ids.append(tag)
                corners_mm = (corners_px + 0.5) / MM_PX
                sides_mm = np.linalg.norm(corners_mm - np.roll(corners_mm, -1, axis=0), axis=1)
                assert sides_mm == pytest.approx(size_mm[tag], abs=WITHIN_MM)
                assert corners_mm.mean(axis=0) == pytest.approx(middle_mm[tag], abs=WITHIN_MM)
                assert (np.sign(corners_mm - middle_mm[tag]) == [[-1, -1], [1, -1], [1, 1], [-1, 1]]).all(), "upright"
    assert sorted(read["pupil"]) == sorted(read["opencv"]) == sorted(size_mm)


@pytest.mark.print
def test_a_cell_around_every_tag_is_white(printed: Printed) -> None:
    expected = sheets(printed_tags(TagOrder(tuple(EVERY.split(",")), printed.paper, on_cubes=True)), printed.paper)
    for page, sheet in zip(printed.pages("tags"), expected, strict=True):
        for placed in sheet.tags:
            middle_px = (np.array([placed.left_mm, placed.top_mm]) + placed.tag.plate_mm / 2) * MM_PX
            side_px, cell_px = placed.tag.size_mm * MM_PX, placed.tag.size_mm / 8 * MM_PX  # tag36h11: 8 cells across
            outer, inner = side_px / 2 + cell_px - 2, side_px / 2 + 2
            ring = np.ones(page.shape, dtype=bool)
            ring[box(middle_px, inner)] = False
            assert (page[box(middle_px, outer)][ring[box(middle_px, outer)]] == 255).all()
            assert page[box(middle_px, side_px / 2 - 2)][0].max() == 0, "the border is black right to its edge"


def box(middle_px: NDArray[np.float64], half_px: float) -> tuple[slice, slice]:
    """The part of a picture around a point."""
    (left, top), (right, bottom) = np.round(middle_px - half_px).astype(int), np.round(middle_px + half_px).astype(int)
    return slice(top, bottom), slice(left, right)


@pytest.mark.print
def test_the_board_is_found_whole_at_its_size(printed: Printed) -> None:
    (page,) = printed.pages("board")
    corners, ids, _, markers = cv2.aruco.CharucoDetector(opencv_board()).detectBoard(page)

    assert len(ids) == BOARD.corners_count
    assert len(markers) == BOARD.columns * BOARD.rows // 2
    grid_mm = corners[np.argsort(ids.ravel())].reshape(BOARD.rows - 1, BOARD.columns - 1, 2) / MM_PX
    across, down = np.diff(grid_mm, axis=1), np.diff(grid_mm, axis=0)
    assert across.reshape(-1, 2) == pytest.approx(np.tile([BOARD.square_m * 1000, 0], (across.size // 2, 1)), abs=0.1)
    assert down.reshape(-1, 2) == pytest.approx(np.tile([0, BOARD.square_m * 1000], (down.size // 2, 1)), abs=0.1)
    whole_mm = grid_mm[-1, -1] - grid_mm[0, 0]
    expected_mm = np.array([BOARD.columns - 2, BOARD.rows - 2]) * BOARD.square_m * 1000
    assert whole_mm == pytest.approx(expected_mm, abs=WITHIN_MM)


@pytest.mark.print
@pytest.mark.parametrize("name", ["tags", "board"])
def test_rulers_are_true(printed: Printed, name: str) -> None:
    for page in printed.pages(name):
        bottom_mm = PAPERS_MM[printed.paper][1] - 39
        upper, lower = (page[round((bottom_mm + y) * MM_PX)] < 128 for y in (4 + 3.5, 15 + 3.5))
        assert ticks_mm(upper) == pytest.approx(20 + np.arange(0, 101, 10), abs=WITHIN_MM)
        assert ticks_mm(lower) == pytest.approx(20 + 25.4 * np.arange(5), abs=WITHIN_MM)


def ticks_mm(is_dark: NDArray[np.bool_]) -> NDArray[np.float64]:
    """The middle of each dark stretch along a line, left of the words beside the rulers."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_dark[: round(128 * MM_PX)], [False]]).astype(int)))
    middles: NDArray[np.float64] = (edges[::2] + edges[1::2]) / 2 / MM_PX
    return middles


@pytest.mark.print
def test_the_guide_is_two_pages(printed: Printed) -> None:
    assert len(printed.pages("guide")) == 2


@pytest.mark.print
@pytest.mark.parametrize("family", FAMILIES[:4])
def test_every_family_is_printed_as_it_is_read(family: str, tmp_path: Path) -> None:
    """The other two have so many ids that their detectors take a minute to start."""
    run("--out", str(tmp_path), "--segments", "head", "--family", family, "--size-mm", "40", "--first-id", "5")
    pages = Printed(tmp_path, "a4").pages("tags")
    read = {tag: corners for page in pages for tag, corners in tag_detector("pupil", family).detect(page)}

    assert sorted(read) == [tag.id for tag in read_rig(tmp_path / "rig.toml").tags] == list(range(5, 11))
    for corners_px in read.values():
        sides_mm = np.linalg.norm(corners_px - np.roll(corners_px, -1, axis=0), axis=1) / MM_PX
        assert sides_mm == pytest.approx(40, abs=WITHIN_MM)


def test_places_are_written_only_for_tags_on_cubes(tmp_path: Path) -> None:
    run("--out", str(tmp_path / "plates"))
    run("--out", str(tmp_path / "cubes"), "--cubes")
    plates, cubes = (read_rig(tmp_path / name / "rig.toml") for name in ("plates", "cubes"))

    assert plates.segments == cubes.segments == ("head", "trunk")
    assert all(tag.centre_m is None for tag in plates.tags)
    assert [tag.id for tag in cubes.tags if tag.centre_m is None] == [5, 11], "the spare ones"


def test_sheets_of_one_day_are_the_same_bytes(tmp_path: Path) -> None:
    for name in ("one", "other"):
        run("--out", str(tmp_path / name), "--on", "2026-11-25")

    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "other" / path.name).read_bytes()


def test_json_says_what_was_written(tmp_path: Path) -> None:
    document = json.loads(run("--out", str(tmp_path), "--size-mm", "head=60,80", "--first-id", "100", "--json"))

    assert document["kind"] == "tag-sheets"
    assert [Path(name).name for name in document["written"]] == ["tags.pdf", "board.pdf", "guide.pdf", "rig.toml"]
    assert document["segments"] == [
        {"segment": "head", "ids": list(range(100, 106)), "size_mm": 60},
        {"segment": "trunk", "ids": list(range(106, 112)), "size_mm": 80},
    ]
    assert len(document["next"]) == 3


def test_a_changed_rig_file_is_not_overwritten(tmp_path: Path) -> None:
    run("--out", str(tmp_path))
    rig = tmp_path / "rig.toml"
    mine = rig.read_text(encoding="utf-8").replace("size_m = 0.07", "size_m = 0.0698")
    rig.write_text(mine, encoding="utf-8")

    assert "rig.toml is there already" in run("--out", str(tmp_path), code=2)
    assert rig.read_text(encoding="utf-8") == mine


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("--size-mm 5", "--size-mm: 5 given, 20 to 250 expected"),
        ("--size-mm nan", "--size-mm: nan given, 20 to 250 expected"),
        ("--size-mm inf", "--size-mm: inf given, 20 to 250 expected"),
        ("--size-mm 200", "--size-mm: 200 given for head, at most about 152 expected"),
        ("--size-mm large", "--size-mm: 'large' given, millimetres such as 80 or head=70 expected"),
        ("--size-mm device=80", "--size-mm: 'device' given, one of head, trunk expected"),
        ("--segments head,knee", "--segments: 'knee' given, one or more of head, helmet, trunk, device expected"),
        ("--segments head,head", "--segments: 'head' given twice, once expected"),
        ("--segments ,", "--segments: none given, one or more of"),
        ("--paper a5", "--paper: 'a5' given, one of a4, letter expected"),
        ("--family tagX", "--family: 'tagX' given, one of tag36h11,"),
        ("--family tag16h5 --first-id 25", "tag16h5 has 30 ids, 0 to 29; 30 to 36 asked too"),
        ("--first-id -1", "--first-id: -1 given, zero or more expected"),
    ],
)
def test_bad_input_gives_one_clear_message_and_no_file(words: str, said: str, tmp_path: Path) -> None:
    out = tmp_path / "sheets"

    assert said in run("--out", str(out), *words.split(), code=2)
    assert not out.exists()


def test_every_problem_is_said_at_once(tmp_path: Path) -> None:
    printed = run("--out", str(tmp_path / "s"), "--paper", "a5", "--size-mm", "3", "--segments", "knee", code=2)

    assert len(re.findall(r"^--\w", printed, re.MULTILINE)) == 3


def test_the_rig_file_says_sides_exactly() -> None:
    order = TagOrder(("head",), size_mm={"": 62.5})

    assert rig_text(printed_tags(order), order).count("size_m = 0.0625\n") == 6
