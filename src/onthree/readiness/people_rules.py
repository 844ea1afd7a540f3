"""Rules about the responders at the event: skills not checked off lately, qualifications that ended, lay helpers."""

from collections.abc import Mapping, Sequence
from datetime import date

from onthree.programme.records import Qualification, Responder
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.sources import parameter
from onthree.transfers.options import OptionsEngine


def check_off_overdue(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Trained responders there whose recorded skills were never checked off, or too long ago; lay helpers are spared.

    Where nobody there was ever checked off, the record itself is what is missing: one finding about the event.
    """
    trained = [one for one in _responders(engine) if one.kind != "lay helper" and one.skills]
    days = _check_offs(engine)
    if trained and not any(code == one.code for one in trained for code, _ in days):
        return (_none_recorded(engine, len(trained)),)
    return tuple(
        found
        for one in trained
        for found in _overdue(engine, one, {skill: days.get((one.code, skill)) for skill in one.skills})
    )


def qualification_expired(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Responders there with a qualification that ended before the event's day, or of which no last day is recorded."""
    held: dict[str, list[Qualification]] = {}
    for row in engine.programme.qualifications.values():
        held.setdefault(row.responder, []).append(row)
    day = engine.event.day
    return tuple(
        found for one in _responders(engine) for found in _expired(engine, one, _not_valid(held.get(one.code, ()), day))
    )


_AT_THE_ATHLETE = {"legs", "board", "straps"}
"""What a lay helper is shown who counts as hands; a gate or the crowd is another place."""


def lay_unbriefed(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Lay helpers who are counted as hands there and were shown nothing that is done at the athlete, in one finding."""
    lay = [one for one in _responders(engine) if one.kind == "lay helper"]
    unbriefed = [one for one in lay if not _AT_THE_ATHLETE.intersection(one.briefed_for)]
    if not unbriefed:
        return ()
    who = ", ".join(f"{one.name} ({one.code})" for one in unbriefed)
    return (
        finding(
            engine,
            "lay-unbriefed",
            Level.FIX,
            engine.event.code,
            f"counted as hands and briefed for nothing at the athlete: {who}",
            tuple((one.code, f"briefed for {', '.join(one.briefed_for) or 'nothing recorded'}") for one in unbriefed),
            do="show them what they lift or hold and on whose word, and record it; or plan without them",
            who="lead",
        ),
    )


def _responders(engine: OptionsEngine) -> tuple[Responder, ...]:
    return tuple(engine.programme.responders[there.code] for there in engine.event.responders)


def _check_offs(engine: OptionsEngine) -> Mapping[tuple[str, str], date]:
    """Responder and skill to the last check-off known on the programme's day."""
    done = sorted((row.done_on, row.responder, row.skill) for row in engine.programme.check_offs.values())
    return {(responder, skill): day for day, responder, skill in done if day <= engine.programme.on}


def _none_recorded(engine: OptionsEngine, people_count: int) -> Finding:
    return finding(
        engine,
        "check-off-overdue",
        Level.UNKNOWN,
        engine.event.code,
        "no check-off of anybody there is recorded",
        (("trained people named", str(people_count)),),
        do="record who showed which skill, when, and who checked it",
        who="lead",
    )


def _overdue(engine: OptionsEngine, one: Responder, days: Mapping[str, date | None]) -> Sequence[Finding]:
    interval_days = parameter("check_off_interval_days", engine.event.day).value
    overdue = {
        skill: f"last {done.isoformat()}" if done else "no check-off recorded"
        for skill, done in days.items()
        if done is None or (engine.event.day - done).days > interval_days
    }
    if not overdue:
        return ()
    return (
        finding(
            engine,
            "check-off-overdue",
            Level.FIX,
            one.code,
            f"{one.name} ({one.code}): not checked off within {interval_days} days: {', '.join(overdue)}",
            (*overdue.items(), ("interval", f"{interval_days} days (a guess: common practice, no source)")),
            do=f"check {one.code} off in: {', '.join(overdue)}; or give the role to somebody who is",
            who="lead",
        ),
    )


def _not_valid(rows: Sequence[Qualification], day: date) -> Mapping[str, date | None]:
    """Qualifications not known to hold on a day, with the day they ended; None where some row of the name has none."""
    days: dict[str, list[date | None]] = {}
    for row in rows:
        days.setdefault(row.name.casefold(), []).append(row.expires_on)
    names = {row.name.casefold(): row.name for row in rows}
    return {
        names[name]: None if None in ended else max(filter(None, ended))
        for name, ended in days.items()
        if not any(last and last >= day for last in ended)
    }


def _expired(engine: OptionsEngine, one: Responder, not_valid: Mapping[str, date | None]) -> Sequence[Finding]:
    if not not_valid:
        return ()
    ended = [name for name, last in not_valid.items() if last]
    undated = [name for name, last in not_valid.items() if last is None]
    words = [f"expired: {', '.join(ended)}"] if ended else []
    words += [f"last valid day not recorded: {', '.join(undated)}"] if undated else []
    return (
        finding(
            engine,
            "qualification-expired",
            Level.FIX if ended else Level.UNKNOWN,
            one.code,
            f"{one.name} ({one.code}): {'; '.join(words)}",
            tuple((name, f"until {last.isoformat()}" if last else "not recorded") for name, last in not_valid.items()),
            do=f"renew it, or plan without {one.code}"
            if ended
            else f"ask {one.code} for the last valid day and record it",
            who="lead",
        ),
    )
