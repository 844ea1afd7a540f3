"""What was measured, kept with the run it was filmed of; and what the run says about its own film."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from importlib.metadata import version
from pathlib import Path

import numpy as np

from onthree.actions.measure import WHOLE, FilmResult, PhaseResult
from onthree.actions.measured_rung import rung
from onthree.actions.runs import attach_recording, recording_of, run_of, save_measured
from onthree.capture.phases_file import NOTHING_MARKED, MarkedPhases
from onthree.kinematics.measures import NAMES, Phase
from onthree.kinematics.start_lag import TURNED_BACK, first_size, later_size
from onthree.programme.records import Measured, Recording, RunPhase
from onthree.programme.rehearsals import START_LAG, START_LAG_LATER, TOLD_BY
from onthree.rehearsals.recorded import RecordedRun

TAGGED = "film with tags"
KEPT_OF = ("head", "helmet")
"""Segments whose motion on the trunk is kept with a run; its numbers say what was measured."""


@dataclass(frozen=True)
class KeptWithRun:
    """The run that was written to, how many numbers it now has of this film, and phases that are none of the run's."""

    run: str
    count: int
    left_out: tuple[str, ...]


def phases_of_run(run: RecordedRun, film: Path) -> MarkedPhases:
    """What is marked on a film of a run, and the phases tapped live, by the film's clock where that is known."""
    recording = recording_of(run, film)
    if recording is None:
        return NOTHING_MARKED
    movements_s = dict(recording.marked_s)
    marked = MarkedPhases(movements_s.pop("neutral", None), movements_s, (), {})
    if recording.offset_s is None:
        return marked
    times = Counter[str]()
    phases, techniques = [], {}
    for one in run.phases:
        times[one.technique] += 1
        name = one.technique if times[one.technique] == 1 else f"{one.technique} {times[one.technique]}"
        start_s = max(one.start_s - recording.offset_s, 0.0)
        if one.end_s is not None and one.end_s - recording.offset_s > start_s:
            phases.append(Phase(name, start_s, one.end_s - recording.offset_s))
            techniques[name] = one.technique
    return replace(marked, phases=tuple(phases), techniques=techniques)


def keep_with_run(code: str, result: FilmResult, by: str, organisation_code: str | None = None) -> KeptWithRun:
    """Attach the films to a run and keep what was measured, phase by phase. Raises LookupError, ValueError."""
    run = run_of(code, organisation_code)
    for path in result.paths:
        known = recording_of(run, path)
        clock = (known.offset_s, known.offset_sd_s, known.taken_by) if known else (None, None, "")
        attach_recording(code, path, TAGGED, by, *clock, organisation_code)
    run = run_of(code, organisation_code)
    recording = recording_of(run, result.paths[0])
    matched = dict(_matched(run, result))
    values = [
        one for number, phase in matched.items() for one in _values(result.phases[number], phase, result, recording)
    ]
    save_measured(code, values, by, rung(result), organisation_code)
    left_out = tuple(one.phase.name for number, one in enumerate(result.phases) if number not in matched)
    return KeptWithRun(code, sum(1 for one in values if one.value == one.value), left_out)


def _matched(run: RecordedRun, result: FilmResult) -> Iterator[tuple[int, RunPhase | None]]:
    """Which phase of the run each measured phase is: by its technique, in order; None for the whole film."""
    waiting = list(run.phases)
    for number, one in enumerate(result.phases):
        if one.technique is None and one.phase.name == WHOLE:
            yield number, None
            continue
        found = next((phase for phase in waiting if phase.technique == one.technique), None)
        if found is not None:
            waiting.remove(found)
            yield number, found


def _values(
    one: PhaseResult, phase: RunPhase | None, result: FilmResult, recording: Recording | None
) -> Iterator[Measured]:
    offset_s = None if recording is None else recording.offset_s
    common = Measured(
        code="",
        run="",
        phase=phase.code if phase else None,
        quantity="",
        value=np.nan,
        measured_as=result.read.motion.measured_as,
        seen_ratio=one.measures.seen_ratio,
        recording=recording.code if recording else None,
        program=version("onthree"),
    )
    told = [common.measured_as, *([TURNED_BACK] if one.lag.is_turned_back else [])]
    for quantity, lag, size in (
        (START_LAG, one.lag, first_size(one.lag.by)),
        (START_LAG_LATER, one.lag.later, later_size(one.lag.by)),
    ):
        told_by = "; ".join([*told, f"{TOLD_BY}{size}"])
        yield replace(common, quantity=quantity, value=lag.lag_s, low=lag.low_s, high=lag.high_s, measured_as=told_by)
    for place, name in enumerate(NAMES):
        moment_s = one.measures.moments_s[place]
        yield replace(
            common,
            quantity=name,
            value=float(one.measures.values[place]),
            low=float(one.bands.low[place]),
            high=float(one.bands.high[place]),
            moment_s=None if offset_s is None or np.isnan(moment_s) else max(float(moment_s) + offset_s, 0.0),
        )
