"""Rules about the venue: gates on the way of the cot, and how the medical team calls for help."""

from collections.abc import Iterator

from onthree.programme.records import Gate, Venue
from onthree.readiness.finding import Finding, Level
from onthree.readiness.intervals import day_shown, interval_shown, overdue
from onthree.readiness.wording import finding
from onthree.transfers.options import OptionsEngine

_NONE = "none"


def gate_narrow(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Gates on the way of the cot narrower than the widest cot that may come, or of which nobody can tell."""
    return tuple(found for gate in _on_the_way(engine) for found in _narrow(engine, gate))


def _on_the_way(engine: OptionsEngine) -> tuple[Gate, ...]:
    gates = engine.programme.gates.values()
    return tuple(gate for gate in gates if gate.venue == engine.event.venue and gate.is_cot_way is not False)


def _narrow(engine: OptionsEngine, gate: Gate) -> Iterator[Finding]:
    vehicles = [there.vehicle for there in engine.situation.vehicles]
    cots = [(vehicle.cot_width.m, vehicle) for vehicle in vehicles if vehicle.cot_width]
    widest = max(cots, key=lambda cot: cot[0], default=None)
    unmeasured = [f"the cot of the {vehicle.name}" for vehicle in vehicles if vehicle.cot_width is None]
    if not vehicles:
        return
    name = f"the {gate.name} ({gate.code})"
    if gate.width and widest and gate.width.m < widest[0]:
        if gate.is_cot_way:
            level, message = Level.FIX, f"{name} is narrower than the cot of the {widest[1].name}"
            do = "find the cot another way in and tell the crew, or have the gate widened"
        else:
            level, message = (
                Level.UNKNOWN,
                f"{name} is narrower than a cot, and nobody recorded whether it goes through",
            )
            do = "walk the way of the cot and record which gates are on it"
    elif gate.width is None or unmeasured:
        missing = ([] if gate.width else [name]) + unmeasured
        level, message = Level.UNKNOWN, f"not known whether the cot fits through {name}"
        do = f"measure {', '.join(missing)}"
    else:
        return
    evidence = (
        ("clear width", str(gate.width or "not known")),
        ("widest cot", f"{widest[1].cot_width} ({widest[1].code})" if widest else "not known"),
    )
    yield finding(engine, "gate-narrow", level, gate.code, message, evidence, do=do, who="lead")


def gate_key(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Gates on the way of the cot of which nobody recorded who has the key."""
    return tuple(
        finding(
            engine,
            "gate-key",
            Level.UNKNOWN,
            gate.code,
            f"nobody recorded who opens the {gate.name} ({gate.code})",
            (("key with", "not recorded"),),
            do="ask who has the key during the event, and record it; none if it is never locked",
            who="lead",
        )
        for gate in _on_the_way(engine)
        if not gate.key_holder
    )


def communication(engine: OptionsEngine) -> tuple[Finding, ...]:
    """How one calls from the event's venue: nothing recorded, no backup, and where it does not reach."""
    venue = engine.programme.venues[engine.event.venue]
    if not (venue.communication or venue.backup_communication or venue.dead_spots):
        message = f"nobody recorded how one calls for help from the {venue.name}"
        do = "try radio and telephone at every corner, and record first choice, backup and dead spots"
        return (_calls(engine, venue, Level.UNKNOWN, message, do),)
    return (*_ways_to_call(engine, venue), *_reach(engine, venue))


def _ways_to_call(engine: OptionsEngine, venue: Venue) -> Iterator[Finding]:
    if _is_none(venue.communication):
        message = f"how one calls first from the {venue.name} is not recorded"
        yield _calls(engine, venue, Level.UNKNOWN, message, "record the first choice, and try it before the start")
    elif _is_none(venue.backup_communication):
        message = f"no backup for calling from the {venue.name}"
        yield _calls(engine, venue, Level.FIX, message, "name a second way to call that does not fail with the first")


def _reach(engine: OptionsEngine, venue: Venue) -> Iterator[Finding]:
    if not venue.dead_spots:
        message = f"not known whether calls reach everywhere at the {venue.name}"
        do = "try it at every corner, and record the dead spots; none if it reaches everywhere"
        yield _calls(engine, venue, Level.UNKNOWN, message, do)
    elif not _is_none(venue.dead_spots):
        message = f"calls do not reach everywhere at the {venue.name}: {venue.dead_spots}"
        yield _calls(engine, venue, Level.TELL, message, "say at the time-out who goes where to call")


def _calls(engine: OptionsEngine, venue: Venue, level: Level, message: str, do: str) -> Finding:
    evidence = (
        ("first choice", venue.communication or "not recorded"),
        ("backup", venue.backup_communication or "not recorded"),
        ("dead spots", venue.dead_spots or "not recorded"),
    )
    return finding(engine, "communication", level, venue.code, message, evidence, do=do, who="lead")


def backup_untested(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Venues whose backup for calling was not tested lately; where there is none, communication says so."""
    venue = engine.programme.venues[engine.event.venue]
    level = overdue(engine, venue.backup_tested_on, "backup_test_days")
    if level is None or _is_none(venue.backup_communication):
        return ()
    is_late = level is Level.FIX
    return (
        finding(
            engine,
            "backup-untested",
            level,
            venue.code,
            f"the backup for calling from the {venue.name} was not tested lately"
            if is_late
            else f"not known when the backup for calling from the {venue.name} was tested",
            (
                ("backup", venue.backup_communication),
                ("tested", day_shown(venue.backup_tested_on)),
                ("interval", interval_shown(engine, "backup_test_days")),
            ),
            do="call once by the backup from the sideline, and record the day",
            who="lead",
        ),
    )


def _is_none(text: str) -> bool:
    return text.strip().casefold() in ("", _NONE)
