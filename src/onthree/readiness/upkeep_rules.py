"""Rules about the state of what is brought: inspected, cleaned after use, lubricated, worn or damaged."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from onthree.programme.equipment import FOUND_NOT_READY, FOUND_READY
from onthree.programme.records import Gear, Upkeep
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.sources import parameter
from onthree.transfers.options import OptionsEngine

_LEVELS = {"damaged": Level.FIX, "worn": Level.WATCH}
_LOOKS = (FOUND_READY, FOUND_NOT_READY, "repaired", "charged")

Days = Mapping[tuple[str, str], date]
"""Gear code and what was done to the last day on which it was done."""

Due = tuple[Level, str, tuple[tuple[str, str], ...], str]
"""Level, what is due, its numbers, what to do."""


def upkeep_due(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Gear at the event that was used and not cleaned since, or whose lubrication by the maker's interval is due."""
    days = _last_days(engine)
    return tuple(
        found
        for gear in (item.gear for item in engine.situation.gear)
        for found in _upkeep(engine, gear, [*_not_cleaned(gear, days), *_not_lubricated(engine, gear, days)])
    )


def inspection_overdue(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Gear at the event whose inspection is overdue on the day, or of which no inspection is recorded."""
    days = _last_days(engine)
    return tuple(found for item in engine.situation.gear for found in _overdue(engine, item.gear, days))


def _overdue(engine: OptionsEngine, gear: Gear, days: Days) -> tuple[Finding, ...]:
    day = engine.event.day
    interval_days = gear.inspect_every_days or parameter("inspection_interval_days", day).value
    basis = "the maker's manual" if gear.inspect_every_days else "common practice, no source"
    inspected = (gear.inspected_on, days.get((gear.code, "inspected")))
    last = max((done for done in inspected if done and done <= engine.programme.on), default=None)
    if last is None:
        level, message = Level.UNKNOWN, f"no inspection of the {gear.name} ({gear.code}) is recorded"
        evidence = [("last inspected", "not recorded")]
    else:
        due = last + timedelta(days=interval_days)
        if day <= due:
            return ()
        level, message = Level.FIX, f"the {gear.name} ({gear.code}) is {(day - due).days} days past its inspection"
        evidence = [("last inspected", last.isoformat()), ("due", due.isoformat())]
    evidence.append(("interval", f"{interval_days} days ({basis})"))
    do = f"inspect {gear.code} by the maker's manual and record it"
    return (
        finding(engine, "inspection-overdue", level, gear.code, message, tuple(evidence), do=do, who="gear keeper"),
    )


def gear_damaged(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Gear at the event that was last seen damaged or worn, or that the last look found not ready."""
    return (*_worn_or_damaged(engine), *_not_ready(engine))


def _worn_or_damaged(engine: OptionsEngine) -> tuple[Finding, ...]:
    return tuple(
        finding(
            engine,
            "gear-damaged",
            _LEVELS[condition],
            item.gear.code,
            f"the {item.gear.name} ({item.gear.code}): {condition}",
            (("condition", condition), ("in service", _answer(item.gear.in_service))),
            do=f"repair or replace {item.gear.code} by the maker's manual, and take it out of service until then"
            if condition == "damaged"
            else f"look at {item.gear.code} before every use, and plan its replacement",
            who="gear keeper",
        )
        for item in engine.situation.gear
        if (condition := item.gear.condition) in _LEVELS
    )


def _not_ready(engine: OptionsEngine) -> Iterator[Finding]:
    """Items of which the last look before an event says not ready, and nothing was repaired or charged after it."""
    latest: dict[str, Upkeep] = {}
    for row in sorted(engine.programme.upkeep.values(), key=lambda row: row.day):
        if row.done in _LOOKS and row.day <= engine.event.day:
            latest[row.gear] = row
    for item in engine.situation.gear:
        found = latest.get(item.gear.code)
        if found is None or found.done != FOUND_NOT_READY or item.gear.condition == "damaged":
            continue
        yield finding(
            engine,
            "gear-damaged",
            Level.FIX,
            item.gear.code,
            f"the {item.gear.name} ({item.gear.code}) was found not ready{f': {found.note}' if found.note else ''}",
            (("looked at", found.day.isoformat()), ("by", found.by or "not recorded")),
            do=f"make {item.gear.code} ready or bring another, and look at it again",
            who="gear keeper",
        )


def _answer(is_so: bool | None) -> str:
    return "not recorded" if is_so is None else "yes" if is_so else "no"


def _last_days(engine: OptionsEngine) -> Days:
    """Upkeep known on the programme's day; a row dated later was not done yet."""
    done = sorted((row.day, row.gear, row.done) for row in engine.programme.upkeep.values())
    return {(gear, what): day for day, gear, what in done if day <= engine.programme.on}


def _not_cleaned(gear: Gear, days: Days) -> Sequence[Due]:
    used, cleaned = days.get((gear.code, "used")), days.get((gear.code, "cleaned"))
    if used is None or (cleaned is not None and cleaned >= used):
        return ()
    evidence = (("last used", used.isoformat()), ("last cleaned", _shown(cleaned)))
    return ((Level.FIX, "used and not cleaned since", evidence, "clean"),)


def _not_lubricated(engine: OptionsEngine, gear: Gear, days: Days) -> Sequence[Due]:
    if gear.lubricate_every_days is None:
        return ()
    done = days.get((gear.code, "lubricated"))
    interval = ("lubrication", f"every {gear.lubricate_every_days} days (the maker's manual)")
    last = ("last lubricated", _shown(done))
    if done is None:
        return ((Level.UNKNOWN, "no lubrication recorded", (last, interval), "lubricate"),)
    due = done + timedelta(days=gear.lubricate_every_days)
    if engine.event.day <= due:
        return ()
    return ((Level.FIX, "lubrication overdue", (last, ("due", due.isoformat()), interval), "lubricate"),)


def _upkeep(engine: OptionsEngine, gear: Gear, due: Sequence[Due]) -> Sequence[Finding]:
    if not due:
        return ()
    levels, words, evidence, do = zip(*due, strict=True)
    return (
        finding(
            engine,
            "upkeep-due",
            Level.FIX if Level.FIX in levels else Level.UNKNOWN,
            gear.code,
            f"the {gear.name} ({gear.code}): {'; '.join(words)}",
            tuple(pair for pairs in evidence for pair in pairs),
            do=f"{' and '.join(do)} {gear.code} by the maker's manual and record it",
            who="gear keeper",
        ),
    )


def _shown(day: date | None) -> str:
    return "not recorded" if day is None else day.isoformat()
