"""A film of the demo by a rig without measured places: lag and total angle stay, angles each way and shifts do not."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

import onthree.demo
from onthree.actions.measure import FilmResult, measured, read_film
from onthree.actions.measured_traces import write_traces
from onthree.capture.rig import read_rig
from onthree.capture.tagged_video import Movements, with_axes_of
from onthree.cli.commands import app
from onthree.demo.film_writer import rig_text
from onthree.kinematics.measures import AXIS_NAMES, NAMES, PLANE_NAMES, WAY_NAMES
from onthree.kinematics.untold import Untold

REHEARSAL = Path(onthree.demo.__file__).parent / "rehearsal"
FILM = REHEARSAL / "roll-head-late.mp4"
EACH_WAY = (*PLANE_NAMES, *(way for ways in WAY_NAMES for way in ways))

Measure = Callable[..., FilmResult]


@pytest.fixture(scope="module")
def by() -> Measure:
    """The shipped film measured by its rig, from which the places of the tags of some segments are taken."""
    known: dict[tuple[str, ...], FilmResult] = {}

    def measure(*bare: str) -> FilmResult:
        if bare not in known:
            rig = read_rig(REHEARSAL / "rig.toml")
            tags = (replace(tag, centre_m=None, rotvec_rad=None) if tag.segment in bare else tag for tag in rig.tags)
            rig = replace(rig, tags=tuple(tags))
            known[bare] = measured((FILM,), rig, read_film((FILM,), rig))
        return known[bare]

    return measure


def test_where_no_place_was_measured_angles_each_way_and_shifts_are_unknown(by: Measure, tmp_path: Path) -> None:
    usual, bare = by().phases[0], by("head", "trunk").phases[0]
    write_traces(by("head", "trunk"), tmp_path)
    about = json.loads((tmp_path / "traces.json").read_text(encoding="utf-8"))

    for place, name in enumerate(NAMES):
        numbers = [bare.measures.values[place], bare.bands.low[place], bare.bands.high[place], bare.floor[place]]
        if any(way in name for way in EACH_WAY) or name.endswith("_m"):
            assert np.isnan(numbers).all(), name
            assert bare.widened_by(name) == ""
        elif not name.startswith("beyond"):
            assert bare.measures.values[place] == pytest.approx(usual.measures.values[place], rel=0.01), name
            assert np.isfinite(numbers).all(), name
    assert bare.lag.lag_s == pytest.approx(usual.lag.lag_s, abs=0.002)
    assert bare.measures.seen_ratio == usual.measures.seen_ratio
    assert sum("are not told: mark a nod and a turn" in flag for flag in by("head", "trunk").flags) == 2
    assert [rows[0][1] is None for rows in about["trace_rows"]] == [True, True, True, False]


def test_the_axes_of_what_moves_fall_out_of_its_angles_with_neutral(by: Measure) -> None:
    usual, bare = by().phases[0].measures, by("head").phases[0].measures

    for plane in PLANE_NAMES:
        assert bare.of(f"range_{plane}_deg") == pytest.approx(usual.of(f"range_{plane}_deg"), abs=0.05)
    assert np.isnan([bare.of(f"range_{axis}_m") for axis in AXIS_NAMES]).all()


def test_after_a_nod_and_a_turn_angles_are_told_and_shifts_are_not(by: Measure) -> None:
    """Two stretches of the roll stand for a nod and a turn: not what they are, but enough to be taken."""
    bare = by("head", "trunk")
    motion, raw = (replace(each, neutral_s=bare.track.neutral_s) for each in (bare.read.motion, bare.read.raw))
    read = with_axes_of(replace(bare.read, motion=motion, raw=raw), Movements((4.0, 6.0), (5.0, 8.0)))
    found = measured((FILM,), bare.rig, read)

    assert read.untold("head", "trunk") == Untold(axes=False, origin=True)
    assert np.isfinite([found.phases[0].measures.of(f"range_{plane}_deg") for plane in PLANE_NAMES]).all()
    assert np.isnan([found.phases[0].measures.of(f"range_{axis}_m") for axis in AXIS_NAMES]).all()
    assert any(flag.startswith("origin of head is that of a tag") for flag in found.flags)
    assert not any("are not told: mark a nod" in flag for flag in found.flags)


def test_the_printed_table_and_json_tell_none_of_them(tmp_path: Path) -> None:
    rig = read_rig(REHEARSAL / "rig.toml")
    bare = replace(rig, tags=tuple(replace(tag, centre_m=None, rotvec_rad=None) for tag in rig.tags))
    (tmp_path / "rig.toml").write_text(rig_text(bare), encoding="utf-8")
    words = ["measure", str(FILM), "--rig", str(tmp_path / "rig.toml"), "--bound", "5", "--out", str(tmp_path / "out")]
    printed = CliRunner().invoke(app, [*words, "--no-film"])
    film = json.loads((tmp_path / "out" / "measures.json").read_text(encoding="utf-8"))
    told = film["phases"][0]["measures"]

    assert printed.exit_code == 0, printed.output
    assert "peak, total" in printed.stdout
    for words_of in ("range, lateral bending", "peak, flexion", "beyond bound, axial rotation", "shift"):
        assert words_of not in printed.stdout.split("Rung")[0]
    assert {name for name, one in told.items() if one["value"] is None} == {
        name for name in NAMES if any(way in name for way in EACH_WAY) or name.endswith("_m")
    }
    assert "mark a nod and a turn of the head alone" in " ".join(film["rung"]["lifts"])
