"""What the pages of rehearsals show: runs by evening, one run, and what a device needs to go on recording it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from onthree.actions.run_answer import RunAnswer, every_run, one_run
from onthree.actions.run_taps import WENT_AT, held_back
from onthree.actions.runs import run_of
from onthree.programme.programme import Programme
from onthree.programme.records import Gear, Responder
from onthree.programme.rehearsals import GUESSED_PLANES, INCIDENT_KINDS, ROLES_OF_THEIR_OWN
from onthree.rehearsals.debrief import what_was_done
from onthree.rehearsals.recorded import RecordedRun
from onthree.techniques.library import bundled_library
from onthree.techniques.state import CARRYING_DEVICES

MOST_RESPONDERS = 500
MOST_DEVICES = 200
"""Of one kind."""


@dataclass(frozen=True)
class RunLine:
    """One run in a list: what was done, and how it was filmed."""

    run: RecordedRun
    title: str


@dataclass(frozen=True)
class Evening:
    """The runs of one day, in order."""

    day: date
    lines: tuple[RunLine, ...]


@dataclass(frozen=True)
class Evenings:
    """Every evening, the latest first."""

    programme: Programme
    evenings: tuple[Evening, ...]


def evenings(on: date, organisation_code: str | None = None) -> Evenings:
    """Every run, evening by evening. Raises LookupError where the store is empty."""
    answer = every_run(on, organisation_code)
    library = bundled_library()
    days: dict[date, list[RunLine]] = {}
    for run in answer.runs:
        days.setdefault(run.run.day, []).append(RunLine(run, what_was_done(run, library)))
    found = tuple(Evening(day, tuple(lines)) for day, lines in sorted(days.items(), reverse=True))
    return Evenings(answer.programme, found)


def run_page(code: str, on: date, organisation_code: str | None = None) -> RunAnswer:
    """One run with all that is recorded of it. Raises LookupError."""
    return one_run(code, on, organisation_code)


def recording_data(code: str | None, organisation_code: str | None = None) -> Mapping[str, Any]:
    """What a device needs to record a run, offline if need be; of one that was begun also what has arrived of it."""
    library = bundled_library()
    begun = _arrived(code, organisation_code) if code else {}
    return {
        "techniques": {
            one.id: {"title": one.title, "roles": [role.id for role in one.role if role.staffed_by == "event"]}
            for one in library.techniques
        },
        "incidents": list(INCIDENT_KINDS),
        "planes": list(GUESSED_PLANES),
        "run": held_back(run_of(code, organisation_code)) if code else None,
        **begun,
    }


def role_names() -> tuple[str, ...]:
    """Every role that somebody may have in a run: those of the techniques, then those of the run itself."""
    found = [role.id for one in bundled_library().techniques for role in one.role if role.staffed_by == "event"]
    return tuple(dict.fromkeys([*sorted(found), *ROLES_OF_THEIR_OWN]))


def technique_titles() -> tuple[tuple[str, str], ...]:
    """Every technique, in the order in which they are usually done."""
    return tuple((one.id, one.title) for one in bundled_library().techniques)


def responders(organisation_code: str | None = None) -> tuple[tuple[str, str], ...]:
    """Who may have a role: code and name."""
    from onthree.store.listing import codes_of

    listed, _ = codes_of(Responder.__name__, ("name",), most=MOST_RESPONDERS, organisation_code=organisation_code)
    return tuple((code, name) for code, name in listed)


def devices(organisation_code: str | None = None) -> tuple[tuple[str, str], ...]:
    """What a run may be carried on: code, kind and name of each device, kind by kind, other gear left out."""
    from onthree.store.listing import list_records

    found: list[tuple[str, str]] = []
    for kind in CARRYING_DEVICES:
        listed = list_records(Gear, where={"kind": kind}, most=MOST_DEVICES, organisation_code=organisation_code)
        found += [(one.code, f"{kind}: {one.name} ({one.code})") for one in listed.records if isinstance(one, Gear)]
    return tuple(found)


def running_s(code: str, now: datetime, organisation_code: str | None = None) -> float | None:
    """How long the clock of a run has run by the clock of this computer [s]; None where its start has not arrived."""
    from onthree.store.listing import owner_of
    from onthree.store.models import Received

    gone = Received.objects.filter(
        organisation_id=owner_of(organisation_code) or 0, kind="run-tap", result__run=code, result__what="go"
    ).order_by("at_server", "key")
    went_at = [result[WENT_AT] for result in gone.values_list("result", flat=True) if WENT_AT in result]
    return (now - datetime.fromisoformat(went_at[-1])).total_seconds() if went_at else None


def is_invented(organisation_code: str | None = None) -> bool:
    """Whether the data are those of the demo, or otherwise invented."""
    from onthree.store.calendar import find_organisation

    found = find_organisation(organisation_code)
    return bool(found and found[1].is_invented)


def _arrived(code: str, organisation_code: str | None) -> Mapping[str, Any]:
    """Keys of the taps that have arrived, when the clock was started [ms since 1970], the order that was planned."""
    from onthree.store.listing import owner_of
    from onthree.store.models import Received

    kept = Received.objects.filter(
        organisation_id=owner_of(organisation_code) or 0, kind__in=("run-start", "run-tap"), result__run=code
    ).order_by("at_server", "key")
    keys, went_ms, sequence = [], None, []
    for key, kind, body in kept.values_list("key", "kind", "body"):
        keys.append(str(key))
        if kind == "run-start":
            sequence = body.get("sequence", [])
        elif body.get("what") == "go":
            went_ms = body.get("at_ms")
    return {"received": keys, "went_ms": went_ms, "sequence": sequence}
