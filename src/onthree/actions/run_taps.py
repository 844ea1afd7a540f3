"""What a device sends while a run is recorded: the start of it, then each tap, in the order in which they were made."""

from collections.abc import Callable, Mapping
from math import isfinite
from typing import Any

from onthree.actions import runs
from onthree.actions.arrived import Arrived
from onthree.programme.fields import fields_of
from onthree.programme.records import Run, RunRole
from onthree.programme.rehearsals import GUESSED_PLANES
from onthree.rehearsals.recorded import RecordedRun
from onthree.workbook.problems import InputError
from onthree.workbook.values import read_value

RUN_PREFIX, PHASE_PREFIX, INCIDENT_PREFIX, ROLE_PREFIX = "RUN", "PH", "IN", "RR"
WENT_AT = "went_at"
"""What is kept of the tap that starts the clock: when, by the clock of this computer."""
MOST_ROLES = 20
ASKED = (
    "day",
    "is_hold",
    "venue",
    "surface",
    "condition",
    "position",
    "equipment",
    "device",
    "agency",
    "stand_in",
    "stand_in_mass",
    "stand_in_age_group",
    "permission",
    "consent",
    "spotters",
    "led_by",
    "note",
)
"""Fields of a run that are asked for before it starts."""
ASKED_OF_ROLE = ("technique", "role", "responder", "somebody")


def take_run_start(arrived: Arrived) -> Mapping[str, Any]:
    """Save a run that is about to start. Content: fields and roles, as typed. Raises ValueError, LookupError."""
    run = arrived.record_code(RUN_PREFIX)
    given = arrived.body.get("fields")
    roles = arrived.body.get("roles", [])
    if not isinstance(given, Mapping) or not isinstance(roles, list) or len(roles) > MOST_ROLES:
        raise ValueError(f"fields and at most {MOST_ROLES} roles expected")
    made = run_as_typed({**given, "code": run})
    runs.start_run(made, roles_as_typed(run, roles), arrived.by, arrived.organisation_code)
    return {"run": run}


def take_run_tap(arrived: Arrived) -> Mapping[str, Any]:
    """Do what a tap asks. Content: run, what; then what this needs. Raises ValueError, LookupError."""
    run, what = arrived.text("run"), arrived.one_of("what", tuple(_TAPS))
    done = {"run": run, "what": what, "code": _TAPS[what](arrived, run) or ""}
    return {**done, WENT_AT: arrived.at.isoformat()} if what == "go" else done


def run_as_typed(given: Mapping[str, Any]) -> Run:
    """The run that was typed, nothing saved. Raises ValueError with every problem, and for what must never be done."""
    run: Run = _as_typed(Run, ("code", *ASKED), given)
    told = list(_refused(run))
    if told:
        raise ValueError("; ".join(told))
    return run


def roles_as_typed(run: str, given: list[Any]) -> tuple[RunRole, ...]:
    """Who does what in a run; rows without a role are left out. Raises ValueError with every problem."""
    rows = [row for row in given if isinstance(row, Mapping) and str(row.get("role") or "").strip()]
    return tuple(
        _as_typed(
            RunRole, ("code", "run", *ASKED_OF_ROLE), {**row, "run": run, "code": f"{ROLE_PREFIX}-{run[4:]}-{number}"}
        )
        for number, row in enumerate(rows, start=1)
    )


def _refused(run: Run) -> list[str]:
    """What no run may start without."""
    told = []
    if run.stand_in is None:
        told.append("Stand-in: say dummy or volunteer; a run is never done with a patient")
    if run.spotters is not True:
        told.append("Spotters: place them first, then say yes")
    if run.stand_in == "volunteer" and run.consent is not True:
        told.append("Consent recorded: a volunteer's is needed, and that of everybody in the run")
    if run.stand_in == "volunteer" and run.stand_in_age_group is None:
        told.append("Stand-in age: nobody under age without permission, so say it")
    if run.stand_in == "volunteer" and run.stand_in_age_group not in (None, "adult") and run.permission is not True:
        told.append("Permission recorded: a volunteer under age needs that of a parent or guardian, on paper")
    return told


def _as_typed(kind: type[Any], names: tuple[str, ...], given: Mapping[str, Any]) -> Any:
    values: dict[str, Any] = {}
    told = []
    for field in fields_of(kind):
        if field.name in names:
            try:
                values[field.name] = read_value(field, str(given.get(field.name) or ""))
            except InputError as error:
                told.append(f"{field.header}: {error}")
    if told:
        raise ValueError("; ".join(told))
    return kind(**values)


def _go(arrived: Arrived, run: str) -> None:
    start = arrived.at.astimezone().time().replace(second=0, microsecond=0)
    runs.set_start(run, start, arrived.by, arrived.organisation_code)


def _phase(arrived: Arrived, run: str) -> str:
    code = arrived.record_code(PHASE_PREFIX)
    runs.tap_phase(run, arrived.text("technique"), _at_s(arrived), code, arrived.by, arrived.organisation_code)
    return code


def _end_phase(arrived: Arrived, run: str) -> None:
    runs.end_phase(run, _at_s(arrived), arrived.by, arrived.organisation_code)


def _incident(arrived: Arrived, run: str) -> str:
    code = arrived.record_code(INCIDENT_PREFIX)
    kind = arrived.text("kind")
    runs.tap_incident(run, kind, _at_s(arrived), code, arrived.by, organisation_code=arrived.organisation_code)
    return code


def _end_run(arrived: Arrived, run: str) -> None:
    runs.end_run(run, _at_s(arrived), arrived.by, arrived.organisation_code)


def _undo(arrived: Arrived, run: str) -> None:
    runs.undo(run, arrived.text("code"), arrived.by, arrived.organisation_code)


def _open_again(arrived: Arrived, run: str) -> None:
    runs.open_again(run, arrived.by, arrived.organisation_code)


def _effort(arrived: Arrived, run: str) -> None:
    given = arrived.body.get("effort")
    if given is not None and (isinstance(given, bool) or not isinstance(given, int)):
        raise ValueError(f"effort: {given!r} given, a whole number from 0 to 10 expected")
    runs.set_effort(run, arrived.text("role"), given, arrived.by, arrived.organisation_code)


def _guess(arrived: Arrived, run: str) -> None:
    plane = arrived.one_of("plane", GUESSED_PLANES) if arrived.body.get("plane") else None
    runs.set_guess(run, _number(arrived, "guess_deg"), plane, arrived.by, arrived.organisation_code)


_TAPS: Mapping[str, Callable[[Arrived, str], str | None]] = {
    "go": _go,
    "phase": _phase,
    "end-phase": _end_phase,
    "incident": _incident,
    "end-run": _end_run,
    "undo": _undo,
    "open-again": _open_again,
    "effort": _effort,
    "guess": _guess,
}


def _at_s(arrived: Arrived) -> float:
    return float(_number(arrived, "at_s"))


def _number(arrived: Arrived, name: str) -> Any:
    given = arrived.body.get(name)
    if isinstance(given, bool) or not isinstance(given, int | float) or not isfinite(given):
        raise ValueError(f"{name}: {given!r} given, a number expected")
    return float(given)


def held_back(run: RecordedRun) -> Mapping[str, Any]:
    """A run as a device needs it to go on recording: what was tapped so far, and who does what."""
    return {
        "code": run.run.code,
        "lasted_s": run.run.lasted_s,
        "guess_deg": run.run.head_guess_deg,
        "guess_plane": run.run.head_guess_plane,
        "roles": [{"code": one.code, "role": one.role, "effort": one.effort} for one in run.roles],
        "phases": [
            {"code": one.code, "technique": one.technique, "start_s": one.start_s, "end_s": one.end_s}
            for one in run.phases
        ],
        "incidents": [{"code": one.code, "kind": one.kind, "moment_s": one.moment_s} for one in run.incidents],
    }
