"""What is said to a crew after a run, while they still kneel: who began late, where the head moved most, what to do.

Three sentences in plain words. They name no limit and call no motion safe: no accepted safe threshold exists.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from onthree.kinematics.passing import LagBand, pace
from onthree.kinematics.start_lag import TURNED_BACK, later_size
from onthree.programme.fields import Number
from onthree.programme.programme import Programme
from onthree.programme.records import Measured, Run, RunPhase
from onthree.programme.rehearsals import LAGS, START_LAG, START_LAG_LATER, START_LAG_MODELLED
from onthree.rehearsals.ladder import Rung, rung_recorded
from onthree.rehearsals.recorded import RecordedRun, recorded_run
from onthree.rehearsals.tonight import Tonight, beside, tonight
from onthree.techniques.library import Library
from onthree.techniques.state import spoken
from onthree.techniques.technique import Technique

PEAK = "peak_total_deg"
AWAKE = "Awake volunteer; a limp neck may move more."
DUMMY = "This was a dummy: a person guards, and moves otherwise."
CAUTIONS = (
    "No accepted safe threshold exists: no motion is ever called safe, and none is forbidden by a number here.",
    "Dummy before person, with spotters and consent; nobody under age without permission; never on a real patient.",
    "Local protocol, medical direction and the maker's manual come first. Nothing here is clinical advice.",
)
NOT_MEASURED = "not measured"

_REHEARSE: Mapping[str, str] = {
    "caught on equipment": "give one person the edges to watch, and stop before forcing",
    "caught on turf": "lift the edge clear before it slides",
    "latch would not close": "open and close both latches empty before the next run, and pull to test",
    "re-grip": "settle the hands and say ready before the count",
    "stop called": "say what the stop was for; it was right to call it; begin again from hands on",
    "hold lost": "rehearse handing the head hold over, out loud, before the next run",
    "command missed": "have everybody say ready, and move on the last word of the count only",
}
"""What to rehearse after each kind of incident: common practice, no source."""


@dataclass(frozen=True)
class Mark:
    """A moment [s] of the run clock worth looking at again, and why."""

    moment_s: float
    why: str
    kind: str


@dataclass(frozen=True)
class PhaseLine:
    """One phase: its technique, how long it took [s], what is usual [s], and whether the usual time is a guess."""

    title: str
    start_s: float
    took_s: float | None
    usual_s: float | None
    usual_is_guess: bool
    lag: str
    peak: str
    seen: str


@dataclass(frozen=True)
class IncidentLine:
    """One incident: its moment [s] of the run clock, its kind, and where, who and what more was written."""

    moment_s: float
    kind: str
    more: str


@dataclass(frozen=True)
class Debrief:
    """One page about one run, in words and numbers; ``sentences`` are the three to say aloud."""

    run: RecordedRun
    title: str
    sentences: tuple[str, str, str]
    facts: tuple[tuple[str, str], ...]
    lag: Measured | None
    lag_said: str
    later: Measured | None
    later_said: str
    peak: Measured | None
    peak_said: str
    phases: tuple[PhaseLine, ...]
    incidents: tuple[IncidentLine, ...]
    people: tuple[tuple[str, str, int | None], ...]
    guess: str
    beside: tuple[str, ...]
    rung: Rung
    marks: tuple[Mark, ...]
    cautions: tuple[str, ...]

    @property
    def lag_value(self) -> str:
        """The start lag as said to people."""
        return shown(self.lag.value, self.lag.quantity) if self.lag else NOT_MEASURED

    @property
    def later_size(self) -> str:
        """At which size the lag is told again."""
        return " or ".join(later_size(by) for by in ("rotation", "position"))

    @property
    def later_value(self) -> str:
        """The lag at the later size as said to people."""
        return shown(self.later.value, self.later.quantity) if self.later else NOT_MEASURED

    @property
    def peak_value(self) -> str:
        """The largest turn of head on trunk as said to people."""
        return shown(self.peak.value, self.peak.quantity) if self.peak else NOT_MEASURED


def debrief(programme: Programme, code: str, library: Library) -> Debrief:
    """The page about one run of the programme. Raises KeyError for a run that is not there."""
    run = recorded_run(programme, code)
    evening = tonight(programme, run.run)
    rung = rung_recorded(run.run, run.recordings)
    lag, peak = _largest(run, START_LAG), _largest(run, PEAK)
    later = next(
        (one for one in run.measured if lag and (one.quantity, one.phase) == (START_LAG_LATER, lag.phase)), None
    )
    return Debrief(
        run=run,
        title=f"{what_was_done(run, library)}, {run.run.code}",
        sentences=(_start_sentence(run, lag, rung), _where_sentence(run, peak, library), _last_sentence(run)),
        facts=tuple(_facts(programme, run)),
        lag=lag,
        lag_said=lag_said(lag) if lag else _no_lag(run, rung),
        later=later,
        later_said=_later_said(lag, later) if lag and later else _not_measured(rung),
        peak=peak,
        peak_said=peak_said(peak) if peak else _not_measured(rung),
        phases=tuple(_phase_line(run, phase, library) for phase in run.phases),
        incidents=tuple(_incidents(programme, run, library)),
        people=tuple(_people(programme, run, library)),
        guess=_guess(run, peak),
        beside=tuple(_beside(run, evening, library)),
        rung=rung,
        marks=tuple(_marks(run, peak, library)),
        cautions=(*_cautions_of(run.run), *CAUTIONS),
    )


def _not_measured(rung: Rung) -> str:
    """Why there is no number, and what would lift the run to one."""
    return f"rung {rung.number}; to lift it: {rung.lifts[0]}" if rung.lifts else f"rung {rung.number}"


def lag_said(lag: Measured) -> str:
    """The band of a start lag, and who was first only if the band tells."""
    first = "not told apart"
    if lag.low is not None and lag.high is not None:
        first = "the body first" if lag.low > 0 else "the head first" if lag.high < 0 else first
    remark = f"; {TURNED_BACK}" if TURNED_BACK in lag.measured_as else ""
    return f"{band_said(lag)}; {first}{remark}"


def _later_said(lag: Measured, later: Measured) -> str:
    """The band of the lag at a later size, and whether the head went on at another pace than the body."""
    bands = [
        LagBand(one.value, *(np.nan if end is None else end for end in (one.low, one.high))) for one in (lag, later)
    ]
    went_on = pace(bands[0], bands[1])
    return f"{band_said(later)}{f'; {went_on}' if went_on else ''}"


def _no_lag(run: RecordedRun, rung: Rung) -> str:
    """Why there is no start lag: one that an earlier version reckoned otherwise is not told as one."""
    if not run.run.is_hold and any(one.quantity == START_LAG_MODELLED for one in run.measured):
        return "an earlier version reckoned it otherwise: measure the film again"
    return "nobody moved, no start to tell" if run.run.is_hold else _not_measured(rung)


def peak_said(peak: Measured) -> str:
    """The band of a peak, when it was, and what was measured."""
    when = f", at {peak.moment_s:.1f} s" if peak.moment_s is not None else ""
    return f"{band_said(peak)}{when}; {peak.measured_as or 'what was measured is not recorded'}"


def shown(value: Number, quantity: str) -> str:
    """A value as said to people: milliseconds for a lag, tenths of a degree for an angle."""
    if quantity in LAGS:
        return f"{1000 * value:.0f} ms"
    return f"{value:.1f} degrees" if quantity.endswith("_deg") else f"{value:.2f}"


def band_said(one: Measured) -> str:
    """The 95 % band of a value, in its unit."""
    if one.low is None or one.high is None:
        return "band not known"
    low, high = (shown(end, one.quantity).partition(" ")[0] for end in (one.low, one.high))
    return f"95 % band {low} to {high}"


def _with_band(one: Measured) -> str:
    return f"{shown(one.value, one.quantity)} ({band_said(one)})"


def _largest(run: RecordedRun, quantity: str) -> Measured | None:
    """The largest of a quantity over the phases; over the whole run where no phase has it."""
    found = [one for one in run.measured if one.quantity == quantity and one.phase]
    found = found or [one for one in run.measured if one.quantity == quantity]
    return max(found, key=lambda one: abs(one.value), default=None)


def what_was_done(run: RecordedRun, library: Library) -> str:
    """The techniques of a run that moved the athlete, as a title."""
    if run.run.is_hold:
        return "Do-nothing hold"
    moves = [phase.technique for phase in run.phases]
    moving = [one for one in moves if one in library.by_id and set(library[one].after) - {"head", "alignment"}]
    named = moving or moves
    titles = [_title(one, library) for one in named] or ["Run"]
    return ", then ".join([titles[0], *map(_lower, titles[1:])])


def _title(technique: str, library: Library) -> str:
    return library[technique].title if technique in library.by_id else spoken(technique)


def _start_sentence(run: RecordedRun, lag: Measured | None, rung: Rung) -> str:
    """The first sentence: who began first, for that can be coached."""
    if run.run.is_hold:
        return "Nobody moved in this run: whatever it shows is what measuring alone adds tonight."
    if lag is None:
        lift = rung.lifts[0] if rung.lifts else "mark a still stretch before the count"
        return f"Who began first was not measured; to see it next time: {lift}."
    if lag.low is None or lag.high is None or lag.low <= 0 <= lag.high:
        return f"Head and body began together as far as the film can tell: {_with_band(lag)}; keep counting aloud."
    but = f", but {TURNED_BACK}" if TURNED_BACK in lag.measured_as else ""
    if lag.low > 0:
        return f"The body began before the head, by {_with_band(lag)}{but}: count aloud, and all move on the same word."
    ahead = Measured(code="", run="", quantity=START_LAG, value=-lag.value, low=-float(lag.high), high=-float(lag.low))
    return f"The head began before the body, by {_with_band(ahead)}{but}: head holder, give the count and move on it."


def _where_sentence(run: RecordedRun, peak: Measured | None, library: Library) -> str:
    """The second sentence: where the head moved most, else what took the time."""
    if peak is not None and not run.run.is_hold:
        phase = next((one for one in run.phases if one.code == peak.phase), None)
        where = f" in {_lower(_title(phase.technique, library))}" if phase else ""
        when = f" at {peak.moment_s:.1f} s" if peak.moment_s is not None else ""
        look = "; look at that moment together" if when else ""
        return f"The head turned most{when}{where}, by {_with_band(peak)}, {peak.measured_as}{look}."
    if peak is not None:
        return (
            f"With nobody moving the film still showed {_with_band(peak)}: no more than that comes of measuring alone."
        )
    timed = [(phase.end_s - phase.start_s, phase) for phase in run.phases if phase.end_s is not None]
    if not timed:
        return "No phase was timed; tap each technique as it begins, or mark it on the film."
    took_s, longest = max(timed, key=lambda one: one[0])
    usual_s, is_guess = _usual_s(longest.technique, library)
    usual = f"; usual is {usual_s:.0f} s{' (a guess)' if is_guess else ''}" if usual_s is not None else ""
    return f"Most of the time went into {_lower(_title(longest.technique, library))}: {took_s:.0f} s{usual}."


def _last_sentence(run: RecordedRun) -> str:
    """The third sentence: the first thing that went otherwise, and what to rehearse; else who found it hardest."""
    who = AWAKE if run.run.stand_in == "volunteer" else DUMMY if run.run.stand_in == "dummy" else ""
    if run.incidents:
        first, more = run.incidents[0], len(run.incidents) - 1
        others = f" and {more} more" if more else ""
        said = f"{first.kind.capitalize()} at {first.moment_s:.1f} s{others}: {_REHEARSE[first.kind]}."
    else:
        rated = [role for role in run.roles if role.effort is not None]
        hardest = max(rated, key=lambda role: role.effort or 0, default=None)
        said = "No incident was recorded"
        said += (
            f"; the hardest role: {hardest.role}, {hardest.effort} of 10." if hardest else "; ask each how hard it was."
        )
    return f"{said} {who}".strip()


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]


def _usual_s(technique: str, library: Library) -> tuple[float | None, bool]:
    """The usual time [s] of a technique, and whether any of its tasks' times is a guess."""
    found: Technique | None = library.by_id.get(technique)
    return (found.usual_s, any(task.guess for task in found.task)) if found else (None, False)


def _phase_line(run: RecordedRun, phase: RunPhase, library: Library) -> PhaseLine:
    usual_s, is_guess = _usual_s(phase.technique, library)
    lag, peak = (run.measured_in(phase, quantity) for quantity in (START_LAG, PEAK))
    known = [one.seen_ratio for one in run.measured if one.phase == phase.code and one.seen_ratio is not None]
    return PhaseLine(
        title=_title(phase.technique, library),
        start_s=phase.start_s,
        took_s=None if phase.end_s is None else phase.end_s - phase.start_s,
        usual_s=usual_s,
        usual_is_guess=is_guess,
        lag=_with_band(lag).replace("95 % band ", "") if lag else NOT_MEASURED,
        peak=_with_band(peak).replace("95 % band ", "") if peak else NOT_MEASURED,
        seen=f"{min(known) if min(known) == 1 else min(*known, 0.99):.0%}" if known else "not known",
    )


def _facts(programme: Programme, run: RecordedRun) -> Iterator[tuple[str, str]]:
    one = run.run
    clock = f", {one.start:%H:%M}" if one.start else ""
    yield "When", f"{one.day.isoformat()}{clock}"
    place = programme.places[one.place].name if one.place else None
    venue = programme.venues[one.venue].name if one.venue else None
    yield "Where", ", ".join(filter(None, [place, venue, one.surface, one.condition])) or "not recorded"
    found = [one.position, f"head {one.alignment}" if one.alignment else None, one.equipment, one.equipment_note]
    yield "Found", ", ".join(filter(None, found)) or "not recorded"
    mass = f", {one.stand_in_mass}" if one.stand_in_mass else ""
    yield "Stand-in", f"{one.stand_in}{mass}" if one.stand_in else "not recorded"
    gear = [programme.gear[one.device].name] if one.device else []
    gear += [f"cot of {programme.vehicles[one.vehicle].name}"] if one.vehicle else []
    yield "Device", ", ".join(gear) or "none"
    yield "Led by", programme.responders[one.led_by].name if one.led_by else "not recorded"
    if one.goal:
        yield "Goal", one.goal
    yield "Times", f"taken {one.timed}" if one.timed else "how they were taken is not recorded"


def _incidents(programme: Programme, run: RecordedRun, library: Library) -> Iterator[IncidentLine]:
    for one in run.incidents:
        phase = run.phase_at(one.moment_s)
        technique = one.technique or (phase.technique if phase else "")
        who = programme.responders[one.responder].name if one.responder else ""
        more = [_title(technique, library) if technique else "", who, one.note]
        yield IncidentLine(one.moment_s, one.kind, "; ".join(filter(None, more)))


def _people(programme: Programme, run: RecordedRun, library: Library) -> Iterator[tuple[str, str, int | None]]:
    """Who did what, each once for the same role: name, role, and the most effort they gave."""
    found: dict[tuple[str, str], int | None] = {}
    for role in run.roles:
        who = programme.responders[role.responder].name if role.responder else role.somebody or "not recorded"
        before = found.get((who, role.role))
        efforts = [effort for effort in (before, role.effort) if effort is not None]
        found[who, role.role] = max(efforts, default=None)
    yield from ((who, role, effort) for (who, role), effort in found.items())


def _guess(run: RecordedRun, peak: Measured | None) -> str:
    one = run.run
    if one.head_guess_deg is None:
        return "not asked: ask before anything is shown"
    said = one.head_guess_plane or "in which way was not asked"
    if peak is None:
        return f"{said}; {NOT_MEASURED}"
    return f"{said}; measured, all ways together: {_with_band(peak)}"


def _beside(run: RecordedRun, evening: Tonight, library: Library) -> Iterator[str]:
    """Each difference to the run before with the same technique, with tonight's figure beside it."""
    for phase in run.phases:
        for quantity in (START_LAG, PEAK):
            now, before = run.measured_in(phase, quantity), evening.before(run, phase.technique, quantity)
            if now is None or before is None:
                continue
            other, then = before
            apart, figure = now.value - then.value, evening.figure.get(quantity)
            way = "more" if apart > 0 else "less"
            name = "start lag" if quantity == START_LAG else "peak"
            difference = f"{name} {shown(abs(apart), quantity)} {way} than in {other.run.code}"
            is_more = None if figure is None else abs(apart) > figure
            yield beside(difference, is_more, shown(figure, quantity) if figure is not None else "")
    if run.measured and evening.why_none:
        yield f"Tonight's noise is not known: {evening.why_none}"


def _marks(run: RecordedRun, peak: Measured | None, library: Library) -> Iterator[Mark]:
    """The moments to look at: the peak, incidents, then the start of each phase."""
    if peak is not None and peak.moment_s is not None:
        yield Mark(peak.moment_s, "head turned most", "peak")
    for one in run.incidents:
        yield Mark(one.moment_s, one.kind, "incident")
    for phase in run.phases:
        yield Mark(phase.start_s, f"{_lower(_title(phase.technique, library))} begins", "phase")


def _cautions_of(run: Run) -> Iterator[str]:
    """What was not as it should be in the run itself: said first."""
    if run.set_aside:
        yield f"Set aside, does not count: {run.set_aside}."
    if run.stand_in == "volunteer" and run.stand_in_age_group is None:
        yield "The volunteer's age is not recorded: nobody under age without permission."
    if run.stand_in == "volunteer" and run.stand_in_age_group not in (None, "adult") and not run.permission:
        yield "The volunteer is under age and no permission is recorded: find it, or set the run aside."
    if run.stand_in == "volunteer" and run.consent is not True:
        yield "Consent is not recorded."
    if run.spotters is not True:
        yield "Spotters are not recorded: place them before the next run."
