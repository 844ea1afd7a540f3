"""Rules about one day: people, gear and vehicles that two events want at the same time."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from onthree.programme.records import Event
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.sources import parameter
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import OptionsEngine


def double_booked(engine: OptionsEngine) -> tuple[Finding, ...]:
    """People, gear and vehicles that another event of the day names too, unless it is known that they can do both.

    An ambulance on call at both events is booked by neither.
    """
    asked = engine.event
    others = [each for each in engine.programme.events.values() if each.day == asked.day and each.code != asked.code]
    clashes = [(other, verdict) for other in others if (verdict := _can_do_both(asked, other)) is not Verdict.OK]
    wanted: dict[tuple[str, str], list[tuple[Event, Verdict]]] = {}
    for other, verdict in clashes:
        for named in _named_by_both(asked, other):
            wanted.setdefault(named, []).append((other, verdict))
    return tuple(_booked(engine, kind, code, clash) for (kind, code), clash in wanted.items())


def _can_do_both(one: Event, other: Event) -> Verdict:
    """Ok where one ends in time for the other, no where they overlap, unknown where the sheet does not say enough."""
    earlier, later = sorted((one, other), key=lambda event: (str(event.start or ""), event.code))
    if earlier.start is None or later.start is None:
        return Verdict.UNKNOWN
    if earlier.start == later.start:
        return Verdict.NO
    if earlier.end is None:
        return Verdict.UNKNOWN
    free, needed = datetime.combine(earlier.day, earlier.end), datetime.combine(later.day, later.start)
    if earlier.end <= earlier.start or free > needed:
        return Verdict.NO
    between = timedelta(minutes=parameter("between_venues_min", one.day).value)
    return Verdict.OK if one.venue == other.venue or needed - free >= between else Verdict.UNKNOWN


def _named_by_both(one: Event, other: Event) -> Iterator[tuple[str, str]]:
    for kind in ("responders", "gear", "vehicles"):
        there = {named.code: named.from_min for named in getattr(other, kind)}
        for named in getattr(one, kind):
            is_on_call = kind == "vehicles" and named.from_min and there.get(named.code)
            if named.code in there and not is_on_call:
                yield kind, named.code


def _booked(engine: OptionsEngine, kind: str, code: str, clash: list[tuple[Event, Verdict]]) -> Finding:
    name = getattr(engine.programme, kind)[code].name
    is_certain = any(verdict is Verdict.NO for _, verdict in clash)
    if is_certain:
        level, message = Level.FIX, f"{name} ({code}) is named by another event at the same time"
        do = "decide where, and bring another to the other event"
    else:
        level, message = Level.UNKNOWN, f"not known whether {name} ({code}) can be at two events of the day"
        do = "record start and end of both, and ask whether the time between is enough"
    events = [engine.event, *(event for event, _ in clash)]
    evidence = tuple((event.code, _when_and_where(engine, event)) for event in events)
    return finding(engine, "double-booked", level, code, message, evidence, do=do, who="lead")


def _when_and_where(engine: OptionsEngine, event: Event) -> str:
    start = f"{event.start:%H:%M}" if event.start else "start not recorded"
    end = f"{event.end:%H:%M}" if event.end else "end not recorded"
    return f"{start} to {end}, {engine.programme.venues[event.venue].name}"
