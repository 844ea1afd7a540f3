"""Which runs there are, and one of them with everything recorded of it."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from onthree.actions.run_programme import run_programme
from onthree.programme.programme import Programme, Scope
from onthree.rehearsals.debrief import Debrief, debrief
from onthree.rehearsals.recorded import RecordedRun, recorded_run, runs_in_order
from onthree.techniques.library import bundled_library

SCHEMA_VERSION = 1


@dataclass(frozen=True)
class RunsAnswer:
    """Every run, by day and time, with what is known on a date."""

    programme: Programme
    runs: tuple[RecordedRun, ...]


@dataclass(frozen=True)
class RunAnswer:
    """One run, and what there is to say about it."""

    programme: Programme
    page: Debrief

    @property
    def run(self) -> RecordedRun:
        """The run."""
        return self.page.run


def every_run(on: date, organisation_code: str | None = None) -> RunsAnswer:
    """The runs of the store. Raises LookupError where it is empty."""
    programme = run_programme(on, organisation_code)
    return RunsAnswer(programme, tuple(recorded_run(programme, run.code) for run in runs_in_order(programme)))


def one_run(code: str, on: date, organisation_code: str | None = None) -> RunAnswer:
    """A run of the store. Raises LookupError naming the nearest codes."""
    from onthree.store.load import load_programme

    load_programme(
        on, Scope("run", code), organisation_code=organisation_code
    )  # refuses a code that nobody has, naming the nearest
    programme = run_programme(on, organisation_code)
    return RunAnswer(programme, debrief(programme, code, bundled_library()))


def runs_document(answer: RunsAnswer) -> dict[str, Any]:
    """The runs as plain data for JSON."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "runs",
        "data_are_invented": answer.programme.organisation.is_invented,
        "runs": [run_data(run) for run in answer.runs],
    }


def run_document(answer: RunAnswer) -> dict[str, Any]:
    """One run as plain data for JSON."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "run",
        "data_are_invented": answer.programme.organisation.is_invented,
        **run_data(answer.run),
        "rung": {
            "number": answer.page.rung.number,
            "said": answer.page.rung.said,
            "lifts": list(answer.page.rung.lifts),
        },
        "cautions": list(answer.page.cautions),
    }


def run_data(run: RecordedRun) -> dict[str, Any]:
    """A run's records as plain data, fields as the sheets have them."""
    parts = {
        "roles": run.roles,
        "phases": run.phases,
        "incidents": run.incidents,
        "recordings": run.recordings,
        "measured": run.measured,
    }
    return {
        **_plain(run.run),
        "counts": run.counts,
        **{
            name: [{key: value for key, value in _plain(one).items() if key != "run"} for one in of_kind]
            for name, of_kind in parts.items()
        },
    }


def _plain(record: Any) -> dict[str, Any]:
    """A record's fields as JSON can hold them; masses as typed."""
    plain = (str, int, float, bool, type(None))
    return {name: value if isinstance(value, plain) else str(value) for name, value in vars(record).items()}
