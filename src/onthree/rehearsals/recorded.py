"""A run and everything recorded of it, in the order in which it happened; and which runs count."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Protocol, TypeVar

from onthree.programme.programme import Programme
from onthree.programme.records import Incident, Measured, Recording, Run, RunPhase, RunRole


class _OfRun(Protocol):
    @property
    def run(self) -> str: ...


P = TypeVar("P", bound=_OfRun)


@dataclass(frozen=True)
class RecordedRun:
    """One run with its roles, phases in order, incidents by moment, recordings, and what was measured."""

    run: Run
    roles: tuple[RunRole, ...]
    phases: tuple[RunPhase, ...]
    incidents: tuple[Incident, ...]
    recordings: tuple[Recording, ...]
    measured: tuple[Measured, ...]

    @property
    def counts(self) -> bool:
        """Whether the run was not set aside."""
        return counts(self.run)

    @property
    def open_phase(self) -> RunPhase | None:
        """The phase that is not done yet."""
        return next((phase for phase in reversed(self.phases) if phase.end_s is None), None)

    def phase_at(self, moment_s: float) -> RunPhase | None:
        """The phase during which a moment [s] of the run clock falls."""
        inside = (
            phase
            for phase in self.phases
            if phase.start_s <= moment_s and (phase.end_s is None or moment_s <= phase.end_s)
        )
        return next(inside, None)

    def measured_in(self, phase: RunPhase | None, quantity: str) -> Measured | None:
        """What was measured of a quantity in a phase, None for the whole run."""
        code = phase.code if phase else None
        return next((one for one in self.measured if (one.phase, one.quantity) == (code, quantity)), None)


def recorded_run(programme: Programme, code: str) -> RecordedRun:
    """A run of the programme with all that belongs to it. Raises KeyError for a code that is not there."""
    return RecordedRun(
        run=programme.runs[code],
        roles=tuple(_of(code, programme.run_roles.values())),
        phases=tuple(sorted(_of(code, programme.run_phases.values()), key=lambda phase: (phase.order, phase.start_s))),
        incidents=tuple(sorted(_of(code, programme.incidents.values()), key=lambda one: (one.moment_s, one.code))),
        recordings=tuple(_of(code, programme.recordings.values())),
        measured=tuple(_of(code, programme.measured.values())),
    )


def counts(run: Run) -> bool:
    """Whether a run counts: it was not set aside."""
    return not run.set_aside


def runs_in_order(programme: Programme) -> tuple[Run, ...]:
    """Every run, by day and time; those without a time of day last."""
    return tuple(
        sorted(programme.runs.values(), key=lambda run: (run.day, run.start is None, str(run.start), run.code))
    )


def counting_runs_of_evening(programme: Programme, run: Run) -> tuple[Run, ...]:
    """The runs of the same day that count, in order; the run itself only if it counts."""
    return tuple(one for one in runs_in_order(programme) if one.day == run.day and counts(one))


def _of(run: str, found: Iterable[P]) -> Iterator[P]:
    return (one for one in found if one.run == run)
