"""Measuring a rendered film: against its truth, file by file, and what happens when a film or the disk is bad."""

import csv
import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import av
import numpy as np
import pytest

from onthree.actions.evening import EveningError, read_evening, tonight
from onthree.actions.measure import FilmResult, MeasureError, measured, read_film
from onthree.actions.measure_films import Asked, asked_for, measure_films
from onthree.actions.measured_csv import angles_csv
from onthree.actions.measured_files import FILES, write_files
from onthree.actions.measured_json import film_document
from onthree.actions.measured_lags import against_ground
from onthree.actions.written_files import FilesError, Writing, replaced_names
from onthree.capture.phases_file import MarkedPhases
from onthree.capture.progress import Cancelled, Progress
from onthree.capture.rig import Rig, read_rig
from onthree.capture.tagged_video import Movements, with_axes_of
from onthree.demo.film_writer import Truth
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.kinematics.angles import angles_deg
from onthree.kinematics.bands import bands
from onthree.kinematics.measures import NAMES, Phase
from onthree.kinematics.segment_motion import FloatArray
from onthree.kinematics.track_band import half_widths_deg
from tests.rendered_film import GO_S, LAG_S, STILL_S, write_roll

ON = date(2026, 11, 25)
PHASES = (Phase("go", STILL_S, STILL_S + GO_S), Phase("back", STILL_S + GO_S, 1.9))
MARKED = MarkedPhases((0.0, 0.6), {}, PHASES, {"go": "log_roll_push_long_board"})


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("film")


@pytest.fixture(scope="module")
def truth(folder: Path) -> Truth:
    return write_roll(folder)


@pytest.fixture(scope="module")
def rig(folder: Path, truth: Truth) -> Rig:
    return read_rig(folder / "rig.toml")


@pytest.fixture(scope="module")
def result(folder: Path, rig: Rig) -> FilmResult:
    path = folder / "roll.mp4"
    return measured((path,), rig, read_film((path,), rig, None, MARKED), MARKED, bound_deg=5.0)


def asked(folder: Path, rig: Rig, **changes: object) -> Asked:
    """The film as one of several things asked."""
    films = [folder / "roll.mp4"]
    wanted = asked_for(
        films,
        folder / "rig.toml",
        (),
        None,
        together=False,
        bound_deg=None,
        out=None,
        with_film=False,
        on=ON,
    )
    return replace(wanted, **changes)  # type: ignore[arg-type]


def angles_of(truth: Truth, place: int) -> FloatArray:
    """The true angles about the true neutral."""
    return angles_deg(truth.rotation * truth.rotation[0].inv())[:, place]


def test_measures_agree_with_the_truth(result: FilmResult, truth: Truth) -> None:
    (go, _) = result.phases
    inside = (truth.time_s >= go.phase.start_s) & (truth.time_s <= go.phase.end_s)
    for place in range(3):
        true_deg = float(np.ptp(angles_of(truth, place)[inside]))
        spare_deg = 0.3
        assert go.bands.low[place] - spare_deg <= true_deg <= go.bands.high[place] + spare_deg
    turned = np.degrees((truth.rotation * truth.rotation[inside.argmax()].inv()).magnitude())[inside].max()

    assert go.measures.of("peak_total_deg") == pytest.approx(turned, abs=0.5)


def test_start_lag_is_within_ten_milliseconds(result: FilmResult) -> None:
    (go, back) = result.phases

    assert go.why_no_lag == ""
    assert go.lag.lag_s == pytest.approx(LAG_S, abs=0.01)
    assert "do not stand still" in back.why_no_lag


def test_the_same_film_gives_the_same_bands(result: FilmResult, rig: Rig) -> None:
    again = measured(result.paths, rig, result.read, MARKED, bound_deg=5.0)

    for one, other in zip(result.phases, again.phases, strict=True):
        np.testing.assert_array_equal(one.bands.low, other.bands.low)
        np.testing.assert_array_equal(one.bands.high, other.bands.high)


def test_every_band_names_what_made_it_wide(result: FilmResult) -> None:
    for name in ("range_flexion_extension_deg", "peak_total_deg", "path_deg", "peak_distance_m"):
        assert result.phases[0].widened_by(name).split("%")[0][-2:].strip().isdigit()


def test_neutral_is_taken_where_none_is_marked(result: FilmResult, rig: Rig) -> None:
    read = replace(result.read, motion=replace(result.read.motion, neutral_s=None))
    taken = measured(result.paths, rig, read)

    assert "taken, not marked" in taken.neutral_said
    assert taken.track.neutral_s[0] == 0.0
    assert 0.5 < taken.track.neutral_s[1] <= STILL_S
    assert [one.phase.name for one in taken.phases] == ["whole film"]


def test_phases_after_the_end_are_refused(result: FilmResult, rig: Rig) -> None:
    late = replace(MARKED, phases=(Phase("late", 5.0, 6.0),))
    with pytest.raises(MeasureError, match=r"roll\.mp4: it ends at 1\.97 s, but late begins at 5\.00 s"):
        measured(result.paths, rig, result.read, late)


def test_phases_after_the_end_of_a_film_that_broke_off_are_said_and_the_others_measured(
    result: FilmResult, rig: Rig
) -> None:
    late = replace(MARKED, phases=(PHASES[0], Phase("late", 5.0, 6.0)))
    found = measured(result.paths, rig, result.read, late)

    assert [one.phase.name for one in found.phases] == ["go"]
    assert "late begins at 5.00 s, but the film ends at 1.97 s: not measured" in found.flags


def test_an_unmarked_hold_is_measured_from_its_first_frame() -> None:
    """The shipped film of a hold, still to its end; what follows its still stretch would be two frames."""
    folder = rehearsal_folder()
    paths, hold_rig = (folder / "hold-still.mp4",), read_rig(folder / "rig.toml")
    found = measured(paths, hold_rig, read_film(paths, hold_rig))
    (whole,) = found.phases

    assert (whole.phase.start_s, whole.phase.end_s) == (0.0, found.track.time_s[-1])
    assert whole.measures.of("peak_total_deg") > 0.05, "breath and measuring, not the nothing of two frames"


def test_marked_movements_take_the_place_of_the_axes_of_the_hand(result: FilmResult) -> None:
    """Two stretches of the roll stand for a nod and a turn: not what they are, but enough to be taken."""
    (by_hand,) = [flag for flag in result.read.motion.flags if flag.startswith("axes of head are those")]
    found = with_axes_of(result.read, Movements((STILL_S, 1.7), (1.1, 1.95), "head", "trunk"))

    for motion in (found.motion, found.raw):
        assert by_hand not in motion.flags
        assert any("from marked movements" in flag for flag in motion.flags)


def test_half_bands_are_those_of_draws(result: FilmResult) -> None:
    half_deg = half_widths_deg(result.track, result.uncertainty)
    drawn = bands(
        result.read.motion,
        result.uncertainty,
        lambda track: track.angles_deg.ravel(),
        np.random.default_rng(1),
        result.track.neutral_s,
    )
    by_draws = ((drawn.high - drawn.low) / 2).reshape(-1, 3)
    moves = result.track.time_s > STILL_S + 0.3

    np.testing.assert_allclose(half_deg[moves, :3], by_draws[moves], rtol=0.25, atol=0.02)


def test_csv_and_json_agree_with_the_result(result: FilmResult) -> None:
    lines = angles_csv(result, half_widths_deg(result.track, result.uncertainty)).splitlines()
    head = [line for line in lines if line.startswith("#")]
    rows = list(csv.DictReader(lines[len(head) :]))
    document = film_document(result)
    (go, _) = document["phases"]

    assert any("intrinsic Z-X-Y" in line for line in head)
    assert any("helmet on pads is not head on trunk" in line for line in head)
    assert len(rows) == document["frames"] == len(result.track.time_s)
    inside = [row for row in rows if go["start_s"] <= float(row["time_s"]) <= go["end_s"]]
    flexion_deg = [float(row["flexion_extension_deg"]) for row in inside]
    measured_deg = go["measures"]["range_flexion_extension_deg"]
    assert max(flexion_deg) - min(flexion_deg) == pytest.approx(measured_deg["value"], abs=1e-3)
    assert measured_deg["low"] <= measured_deg["value"] <= measured_deg["high"]
    assert go["technique"] == "log_roll_push_long_board"
    assert go["start_lag"]["value_s"] == result.phases[0].lag.lag_s
    assert document["source_sha256"] == result.read.motion.source_sha256
    assert document["rung"]["lifts"]
    lost = sum(int((~track.is_valid).sum()) for track in result.read.bodies.values())
    assert sum(one["frames_count"] for one in document["lost"]) == lost
    assert "NaN" not in json.dumps(document)


def test_all_files_are_written_and_the_film_is_drawn(result: FilmResult, tmp_path: Path) -> None:
    told: list[Progress] = []
    written = write_files(result, tmp_path, ON, with_film=True, on_progress=told.append)

    assert {path.name for path in written} == {*FILES, "drawn.mp4", "peak.mp4", "measures.json"}
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in written}
    with av.open(str(tmp_path / "drawn.mp4")) as drawn:
        stream = drawn.streams.video[0]
        times_s = [float(frame.pts * frame.time_base) for frame in drawn.decode(stream) if frame.pts is not None]
        assert stream.codec_context.name == "h264"
    np.testing.assert_allclose(times_s, result.track.time_s, atol=1e-4)
    assert told[-1].done_s <= result.track.time_s[-1]


def test_nothing_is_left_when_it_is_called_off(result: FilmResult, tmp_path: Path) -> None:
    def call_off(_: Progress) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        write_files(result, tmp_path / "out", ON, with_film=True, on_progress=call_off)

    assert list((tmp_path / "out").iterdir()) == []


def test_nothing_is_left_when_the_disk_is_full(
    folder: Path, rig: Rig, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Writing, name: str, content: str | bytes) -> None:
        if name == "quality.pdf":
            raise OSError(28, "No space left on device")
        (self.draft / name).write_bytes(content.encode() if isinstance(content, str) else content)

    monkeypatch.setattr(Writing, "add", full)
    answer = measure_films(asked(folder, rig, out=tmp_path / "out"))

    assert answer.films == ()
    assert "No space left" in answer.failed[0]
    assert list((tmp_path / "out").iterdir()) == []


def test_only_files_of_this_command_are_replaced(folder: Path, rig: Rig, tmp_path: Path) -> None:
    wanted = asked(folder, rig, out=tmp_path)
    first, second = measure_films(wanted), measure_films(wanted)

    assert first.replaced == ()
    assert set(second.replaced) == set(first.written)
    (tmp_path / "angles.csv").write_text("mine", encoding="utf-8")
    refused = measure_films(wanted)
    assert "angles.csv would be replaced" in refused.failed[0]
    assert (tmp_path / "angles.csv").read_text(encoding="utf-8") == "mine"


def test_a_list_of_somebody_elses_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "measures.json").write_text("{}", encoding="utf-8")
    with pytest.raises(FilesError, match=r"measures\.json would be replaced"):
        replaced_names(tmp_path, FILES)


def test_without_ground_tags_the_motion_stays_as_it_is(result: FilmResult) -> None:
    assert against_ground(result.read.motion) is result.read.motion


def test_an_evening_says_how_far_two_runs_differ(folder: Path, result: FilmResult) -> None:
    evening = folder / "evening.toml"
    kinds = ["hold", "hold", "repeat", "repeat", "repeat"]
    evening.write_text("".join(f'[[film]]\nfile = "roll.mp4"\nkind = "{kind}"\n' for kind in kinds), encoding="utf-8")
    wanted = read_evening(evening)
    films = [
        replace(result, read=replace(result.read, motion=replace(result.read.motion, source_sha256=f"{number:064x}")))
        for number in range(len(kinds))
    ]
    told = tonight(list(zip(wanted, films, strict=True)))

    assert [one.kind for one in wanted] == kinds
    assert wanted[0].paths == (folder / "roll.mp4",)
    assert told.noise is not None
    assert told.noise.figure[NAMES.index("peak_total_deg")] == pytest.approx(0.0, abs=1e-9), "three times the same"
    assert len(told.differences) == 2 * (3 - 1), "phases of one film are not set against each other"
    assert "no more than" in told.differences[1] or "more than" in told.differences[1]


def test_a_film_listed_twice_tells_nothing_of_two_runs(folder: Path, result: FilmResult) -> None:
    twice = folder / "twice.toml"
    twice.write_text('[[film]]\nfile = "roll.mp4"\nkind = "repeat"\n' * 2, encoding="utf-8")
    told = tonight([(one, result) for one in read_evening(twice)])

    assert told.noise is None
    assert "roll.mp4 is the film roll.mp4 once more: list each film once" in told.why_not
    assert all("nothing can be said" in each for each in told.differences)


def test_an_evening_without_repeats_says_what_is_missing(result: FilmResult, folder: Path) -> None:
    evening = folder / "short.toml"
    evening.write_text('[[film]]\nfile = "roll.mp4"\n[[film]]\nfile = "roll.mp4"\n', encoding="utf-8")
    told = tonight([(one, result) for one in read_evening(evening)])

    assert told.noise is None
    assert "0 hold given, at least two expected" in told.why_not
    assert all("nothing can be said" in each for each in told.differences)


def test_every_problem_of_an_evening_is_told(tmp_path: Path) -> None:
    path = tmp_path / "evening.toml"
    path.write_text('[[film]]\nkind = "pause"\n[[film]]\nfile = "a.mp4"\nphases = "none.toml"\n', encoding="utf-8")
    with pytest.raises(EveningError) as raised:
        read_evening(path)

    for words in ("film 1: file None given", "film 1: kind 'pause' given", "film 2: none.toml: no such file"):
        assert words in str(raised.value)
