"""The rule about the tools that open the face masks really worn."""

from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.transfers.options import OptionsEngine

_OPENED_BY = {"screws": ("powered screwdriver",), "quick release": ("quick-release tool",), "no face mask": ()}
_ANY_MASK = ("cutting tool",)


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
