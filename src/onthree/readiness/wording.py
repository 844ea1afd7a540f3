"""Puts a finding together: what every rule says in the same way."""

from collections.abc import Mapping

from onthree.programme.records import Team
from onthree.readiness.finding import Finding, Level
from onthree.transfers.options import OptionsEngine

SOURCES = {
    "weight-limit": "en-1865-1",
    "rating-unknown": "common-practice",
    "hands": "common-practice",
    "gear-absent": "common-practice",
    "inspection-overdue": "common-practice",
    "face-mask-tools": "copeland-2007",
    "visitors-unknown": "nfhs-2024",
    "agreement-undecided": "common-practice",
    "upkeep-due": "common-practice",
    "gear-damaged": "common-practice",
    "check-off-overdue": "common-practice",
    "qualification-expired": "common-practice",
    "tool-not-ready": "common-practice",
    "tool-untried": "common-practice",
    "accessory-misfit": "common-practice",
    "fit": "gordon-2014",
    "measure-next": "gordon-2014",
    "vehicle-space": "common-practice",
    "gate-narrow": "common-practice",
    "gate-key": "common-practice",
    "double-booked": "common-practice",
    "bariatric-lead": "common-practice",
    "ambulance-may-leave": "common-practice",
    "communication": "andersen-2002",
    "protocol-unmatched": "common-practice",
    "host-plan": "common-practice",
    "backup-untested": "castle-2024",
    "aed-time": "thompson-2021",
    "rehearsed-with": "andersen-2002",
    "play-paused-by": "common-practice",
    "bariatric-wording": "common-practice",
    "cooling-absent": "heat-protocols-51",
    "airway-gear": "common-practice",
    "standing-orders": "common-practice",
    "life-first-unapproved": "common-practice",
    "hospital-agreed": "castle-2024",
    "hospital-children": "common-practice",
    "rides-along": "common-practice",
    "plan-posted": "castle-2024",
    "details-unverified": "common-practice",
    "lay-unbriefed": "common-practice",
    "agreements-clash": "common-practice",
    "load-unknown": "common-practice",
    "cot-retention": "common-practice",
    "time-out-not-agreed": "nfhs-2024",
}
"""Rule identifier to the source that asks for it."""

DEFAULT_TELL = "ambulance crew lead"


def finding(
    engine: OptionsEngine,
    rule: str,
    level: Level,
    subject: str,
    message: str,
    evidence: tuple[tuple[str, str], ...],
    *,
    do: str,
    who: str,
) -> Finding:
    """A finding at the engine's event, told to whom the event names."""
    tell = engine.event.tell or DEFAULT_TELL
    return Finding(rule, level, engine.event.code, subject, message, evidence, do, who, tell, SOURCES[rule])


def teams_of(engine: OptionsEngine) -> Mapping[str, Team]:
    """The event's teams by code, in the order of the event."""
    return {code: engine.programme.teams[code] for code in engine.event.teams}


def wears_equipment(engine: OptionsEngine) -> bool:
    """Whether some team listed wears equipment; 0 kg typed for a team says that it does not."""
    worn = [team.equipment_mass for team in teams_of(engine).values()]
    return any(mass is None or mass.kg > 0 for mass in worn)
