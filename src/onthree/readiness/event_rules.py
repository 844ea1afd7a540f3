"""Rules about who and what is at the event: hands, gear, visitors, agreements."""

from collections.abc import Sequence

from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.techniques.state import FOUND_POSITIONS, spoken
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import OptionsEngine
from onthree.transfers.transfer_needs import best_crews, missing_kinds


def hands(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Found positions for which the people there from the start can fill no option, with its heaviest known athlete."""
    return tuple(found for position in FOUND_POSITIONS for found in _hands(engine, position))


def _hands(engine: OptionsEngine, position: str) -> Sequence[Finding]:
    short = [crew for crew in best_crews(engine, position) if crew.verdict is not Verdict.OK or crew.from_min > 0]
    if not short:
        return ()
    best = short[0]
    there = sum(hand.from_min == 0 for hand in engine.situation.hands)
    evidence = (
        ("people there", str(there)),
        ("people coming", str(len(engine.situation.hands) - there)),
        ("needed at once", str(best.least_count)),
    )
    if best.verdict is Verdict.OK:
        message = f"found {position}: hold here until minute {best.from_min}, when enough hands are there"
        level = Level.TELL
        do = "hold the head in line and wait, life first; or bring more people"
        if not any(hand.from_min == 0 and "in-line hold" in hand.skills for hand in engine.situation.hands):
            level, do = Level.FIX, "bring somebody who can hold the head in line from the start"
    elif best.verdict is Verdict.UNKNOWN:
        message = f"found {position}: not known whether the hands there are enough"
        level, do = Level.UNKNOWN, "record skills, fitness to lift, ambulance crews and the heaviest athletes"
    else:
        lacking = ", ".join(f"{role} by {count}" for role, count in best.short_of)
        message = f"found {position}: not enough hands for any option, even later (short: {lacking})"
        level, do = Level.FIX, "bring or call more trained people"
    return (finding(engine, "hands", level, position, message, evidence, do=do, who="lead"),)


def _absent(kind: str) -> str:
    return "no ambulance at the event or called to it" if kind == "cot" else f"no {kind} in service at the event"


def gear_absent(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Kinds of gear without which no option from a found position is possible; face-mask tools have their own rule."""
    positions: dict[str, list[str]] = {}
    for position in FOUND_POSITIONS:
        for kind in missing_kinds(engine, position):
            positions.setdefault(kind, []).append(position)
    return tuple(
        finding(
            engine,
            "gear-absent",
            Level.FIX,
            kind,
            f"{_absent(kind)}: no option from {' or '.join(where)} to the hospital stretcher",
            (("kind", kind), ("found", " and ".join(where))),
            do="ask for an ambulance" if kind == "cot" else f"bring: {kind}",
            who="ambulance service" if kind == "cot" else "gear keeper",
        )
        for kind, where in sorted(positions.items())
    )


def visitors_unknown(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Events whose visiting athletes nobody knows, or of which nobody said whether there are visitors."""
    is_listed = engine.event.visitors == "known" and len(engine.event.teams) > 1
    if engine.event.visitors == "none" or is_listed:
        return ()
    return (
        finding(
            engine,
            "visitors-unknown",
            Level.UNKNOWN,
            engine.event.code,
            "the visiting athletes are not known: their size, helmets and face masks may close options",
            (("visitors", engine.event.visitors or "not recorded"), ("teams listed", str(len(engine.event.teams)))),
            do="ask the visiting side for its largest athletes, helmets, and who leads",
            who="lead",
        ),
    )


def agreement_undecided(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Techniques that need an agreement, without a valid answer from an agency whose ambulance may come."""
    agencies = {there.agency.code: there.agency for there in engine.situation.vehicles}
    asked = [technique for technique in engine.library.techniques if technique.needs_agreement]
    return tuple(
        finding(
            engine,
            "agreement-undecided",
            Level.FIX,
            f"{code}/{technique.id}",
            f"{agency.name} has not settled: {spoken(technique.id)}",
            (("answer", engine.situation.answer(code, technique.id) or "none valid on the day"),),
            do=f"settle it with {agency.name} before the event; until then the device stays under the athlete",
            who="lead",
        )
        for code, agency in agencies.items()
        for technique in asked
        if engine.situation.answer(code, technique.id) not in ("agreed", "refused")
    )
