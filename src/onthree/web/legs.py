"""The three legs of the work, and the pages that stand under each; navigation and leg pages are drawn from here."""

from dataclasses import dataclass


@dataclass(frozen=True)
class LegPage:
    """A page that a leg leads to: name of its address, title, one line on what it is for."""

    address: str
    title: str
    what: str


@dataclass(frozen=True)
class Leg:
    """One leg: identifier, which is also the name of its address; title; what it answers; its pages."""

    id: str
    title: str
    asks: str
    pages: tuple[LegPage, ...] = ()


LEGS: tuple[Leg, ...] = (
    Leg(
        "measure",
        "Measure",
        "How far does the head move on the trunk, and who started late?",
        (
            LegPage(
                "rehearsals",
                "Rehearsals",
                "Runs recorded tap by tap, their films, what was measured, and what to say while the team kneels.",
            ),
        ),
    ),
    Leg(
        "choose",
        "Choose",
        "Which option from the ground to the hospital stretcher, with these hands and this gear?",
        (
            LegPage(
                "evidence",
                "Evidence",
                "What was published, as printed, and which of it puts one option before another.",
            ),
        ),
    ),
    Leg(
        "ready",
        "Be ready",
        "What must be fixed, agreed or rehearsed before the event?",
        (
            LegPage(
                "records", "Records", "Venues, teams, medical team, ambulance, gear, events: what the answers rest on."
            ),
        ),
    ),
)
"""The legs in their order. A new page adds its line to the leg it belongs to."""

LEG_OF: dict[str, Leg] = {leg.id: leg for leg in LEGS}
