"""What a film showed is kept with the run it was filmed of, and the run's own phases can mark its film."""

from pathlib import Path

import pytest

from onthree.actions import runs
from onthree.actions.film_clock import mark_stretches
from onthree.actions.measure import FilmResult, measured, read_film
from onthree.actions.measured_run import keep_with_run, phases_of_run
from onthree.capture.phases_file import NOTHING_MARKED, MarkedPhases
from onthree.capture.rig import read_rig
from onthree.demo.conference import conference_records
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.kinematics.measures import Phase
from onthree.programme.records import Recording, Run
from onthree.store.records import save_records
from tests.invented import DAY, ROLL, clean_records, rehearsal_records
from tests.rendered_film import write_roll

pytestmark = pytest.mark.django_db

RUN = next(each.code for each in rehearsal_records() if isinstance(each, Run))
PHASES = (Phase("roll", 0.8, 1.6), Phase("something else", 1.6, 1.9))
MARKED = MarkedPhases((0.0, 0.6), {}, PHASES, {"roll": ROLL})
WHEN_S = 3.5


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> FilmResult:
    folder = tmp_path_factory.mktemp("film")
    write_roll(folder)
    rig, paths = read_rig(folder / "rig.toml"), (folder / "roll.mp4",)
    return measured(paths, rig, read_film(paths, rig, None, MARKED), MARKED)


@pytest.fixture
def recorded() -> None:
    """The clean game and one recorded run."""
    save_records([*clean_records(), *rehearsal_records()], by="test")


def test_numbers_are_kept_with_the_phase_of_their_technique(recorded: None, result: FilmResult) -> None:
    kept = keep_with_run(RUN, result, by="test")
    run = runs.run_of(RUN)
    phase = next(one.code for one in run.phases if one.technique == ROLL)
    found = {one.quantity: one for one in run.measured if one.recording and one.phase == phase}
    peak = result.phases[0]

    assert kept.left_out == ("something else",)
    assert kept.count == len(found)
    assert float(found["peak_total_deg"].value) == pytest.approx(float(peak.measures.of("peak_total_deg")), abs=1e-6)
    assert float(found["start_lag_first_turn_s"].value) == pytest.approx(peak.lag.lag_s, abs=1e-6)
    assert float(found["start_lag_later_turn_s"].value) == pytest.approx(peak.lag.later.lag_s, abs=1e-6)
    assert found["peak_total_deg"].moment_s is None, "the film's place on the run clock is not known"
    assert found["peak_total_deg"].measured_as == result.read.motion.measured_as
    assert "beyond_total_s" not in found, "no bound was set"
    assert run.run.rung == 2
    assert [one.sha256 for one in run.recordings if one.file == str(result.paths[0])] == [
        result.read.motion.source_sha256
    ]


def test_measured_again_nothing_is_doubled_and_the_clock_is_kept(recorded: None, result: FilmResult) -> None:
    runs.attach_recording(RUN, result.paths[0], "film with tags", "test", WHEN_S, 0.1, "phone on a stand")
    keep_with_run(RUN, result, by="test")
    first = runs.run_of(RUN)
    keep_with_run(RUN, result, by="test")
    again = runs.run_of(RUN)
    recording = next(one for one in again.recordings if one.file == str(result.paths[0]))
    peak = next(one for one in again.measured if one.recording and one.quantity == "peak_total_deg")

    assert len(again.measured) == len(first.measured)
    assert (recording.offset_s, recording.taken_by) == (WHEN_S, "phone on a stand")
    assert peak.moment_s == pytest.approx(WHEN_S + result.phases[0].measures.moment_s("peak_total_deg"), abs=1e-5)


def test_a_recording_typed_by_name_is_the_film_of_that_name(recorded: None, result: FilmResult) -> None:
    typed = Recording(
        code="REC-90", run=RUN, file=result.paths[0].name, sha256="", kind="film with tags", offset_s=3.0, taken_by="A"
    )
    save_records([typed], by="test")
    keep_with_run(RUN, result, by="test")
    run = runs.run_of(RUN)
    (recording,) = [one for one in run.recordings if Path(one.file).name == result.paths[0].name]

    assert (recording.code, recording.offset_s, recording.sha256) == ("REC-90", 3.0, runs.sha256_of(result.paths[0]))


def test_the_films_of_the_demo_are_those_its_runs_name() -> None:
    named = {one.file: one.sha256 for one in conference_records() if isinstance(one, Recording)}

    for path in rehearsal_folder().glob("*.mp4"):
        assert named[path.name] == runs.sha256_of(path)


def test_phases_tapped_live_mark_the_film(recorded: None, result: FilmResult, tmp_path: Path) -> None:
    film = result.paths[0]
    assert phases_of_run(runs.run_of(RUN), film) == NOTHING_MARKED, "not attached"
    runs.attach_recording(RUN, film, "film with tags", "test")
    assert phases_of_run(runs.run_of(RUN), film) == NOTHING_MARKED, "its clock is not known"
    runs.attach_recording(RUN, film, "film with tags", "test", offset_s=1.0)
    run = runs.run_of(RUN)
    marked = phases_of_run(run, film)
    ended = [one for one in run.phases if one.end_s is not None and one.end_s > 1.0]

    assert [phase.end_s for phase in marked.phases] == [pytest.approx((one.end_s or 0) - 1.0) for one in ended]
    assert [marked.techniques[phase.name] for phase in marked.phases] == [one.technique for one in ended]
    assert marked.neutral_s is None


def test_what_is_marked_on_a_film_stays_when_it_is_measured_and_needs_no_run_clock(
    recorded: None, result: FilmResult
) -> None:
    film = result.paths[0]
    before = runs.recording_of(runs.attach_recording(RUN, film, "film with tags", "test"), film)
    assert before
    ends = {"neutral_from_s": "0.5", "neutral_to_s": "1", "nod_from_s": "2", "nod_to_s": "3"}
    mark_stretches(RUN, before.code, {**ends, "turn_from_s": "3", "turn_to_s": "4"}, DAY, "test")
    runs.attach_recording(RUN, film, "film with tags", "test", taken_by="phone A")
    marked = phases_of_run(runs.run_of(RUN), film)

    assert marked.neutral_s == (0.5, 1.0)
    assert marked.movements_s == {"nod": (2.0, 3.0), "turn": (3.0, 4.0)}
    assert marked.phases == ()


def test_a_run_nobody_has_is_refused(recorded: None, result: FilmResult) -> None:
    with pytest.raises(LookupError, match="no run has the code"):
        keep_with_run("RUN-0", result, by="test")
