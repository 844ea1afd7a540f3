"""Rules about single items: inspection, and the tools that open the face masks really worn."""

from datetime import timedelta

from onthree.programme.records import Gear
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.sources import parameter
from onthree.transfers.options import OptionsEngine

_OPENED_BY = {"screws": ("powered screwdriver",), "quick release": ("quick-release tool",), "no face mask": ()}
_ANY_MASK = ("cutting tool",)


def inspection_overdue(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Gear at the event whose inspection is overdue on the day, or of which no inspection is recorded."""
    return tuple(found for item in engine.situation.gear for found in _overdue(engine, item.gear))


def _overdue(engine: OptionsEngine, gear: Gear) -> tuple[Finding, ...]:
    day = engine.event.day
    default_days = parameter("inspection_interval_days", day)
    interval_days = gear.inspect_every_days or default_days.value
    basis = "the maker's manual" if gear.inspect_every_days else "common practice, no source"
    if gear.inspected_on is None:
        level, message = Level.UNKNOWN, f"no inspection of the {gear.name} ({gear.code}) is recorded"
        evidence = [("last inspected", "not recorded")]
    else:
        due = gear.inspected_on + timedelta(days=interval_days)
        if day <= due:
            return ()
        level, message = Level.FIX, f"the {gear.name} ({gear.code}) is {(day - due).days} days past its inspection"
        evidence = [("last inspected", gear.inspected_on.isoformat()), ("due", due.isoformat())]
    evidence.append(("interval", f"{interval_days} days ({basis})"))
    do = f"inspect {gear.code} by the maker's manual and record it"
    return (
        finding(engine, "inspection-overdue", level, gear.code, message, tuple(evidence), do=do, who="gear keeper"),
    )


def face_mask_tools(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Tools missing for the face masks of the athletes there: the tool of each fastening, and a cutting tool always."""
    fastenings = [athlete.face_mask for athlete in engine.programme.roster(engine.event)]
    there = {item.gear.kind for item in engine.situation.gear if item.gear.in_service}
    needed: dict[str, int] = {}
    for fastening in fastenings:
        for tool in (*_tools_for(fastening), *(() if fastening == "no face mask" else _ANY_MASK)):
            needed[tool] = needed.get(tool, 0) + 1
    return tuple(
        finding(
            engine,
            "face-mask-tools",
            Level.FIX,
            tool,
            f"no {tool} in service at the event, for {count} of {len(fastenings)} athletes",
            (("athletes who need it", str(count)),),
            do=f"bring: {tool}{', charged and with the right bit' if tool == 'powered screwdriver' else ''}",
            who="gear keeper",
        )
        for tool, count in sorted(needed.items())
        if tool not in there
    )


def _tools_for(fastening: str | None) -> tuple[str, ...]:
    if fastening is None:
        return tuple(tool for tools in _OPENED_BY.values() for tool in tools)
    return _OPENED_BY[fastening]
