"""What happens and what was settled: events, numbers worn there, who was told, signed gaps, agreements."""

from dataclasses import dataclass
from datetime import date, time

from onthree.programme.fields import CODE_HELP, Kind, described
from onthree.programme.presence import Presence

EVENT_KINDS = ("game", "practice")
VISITORS = ("none", "known", "unknown")
PLANS = ("ours", "the host's")
ANSWERS = ("agreed", "required", "undecided", "refused")
TOLD_ANSWERS = ("confirmed", "will do", "cannot", "no answer yet")
SIGNERS = ("medical direction", "administration")


@dataclass(frozen=True, kw_only=True)
class Event:
    """A game or practice, with who and what will be there."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="E-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Herons v Otters", required=True)
    kind: str = described("Kind", Kind.CHOICE, "Game or practice.", example="game", required=True, choices=EVENT_KINDS)
    day: date = described("Date", Kind.DATE, "Day of the event.", example="2026-11-28", required=True)
    start: time | None = described("Start", Kind.CLOCK, "Local time.", example="19:00")
    end: time | None = described("End", Kind.CLOCK, "Local time. Blank: not known.", example="22:00")
    venue: str = described(
        "Venue", Kind.REFERENCE, "Code of the venue.", example="V-1", required=True, refers_to="Venue"
    )
    plan_of: str | None = described(
        "Plan of", Kind.CHOICE, "Whose emergency action plan holds. Blank: ours.", example="the host's", choices=PLANS
    )
    teams: tuple[str, ...] = described(
        "Teams",
        Kind.REFERENCES,
        "Teams whose rosters you know, visitors among them.",
        example="T-1",
        required=True,
        refers_to="Team",
    )
    visitors: str | None = described(
        "Visitors", Kind.CHOICE, "none, known (their team is listed) or unknown.", example="unknown", choices=VISITORS
    )
    is_wet: bool | None = described(
        "Wet clothing", Kind.YES_NO, "Will clothing and pads be soaked? Blank: not known.", example="no"
    )
    responders: tuple[Presence, ...] = described(
        "Responders",
        Kind.PRESENCES,
        "Codes; @8min for eight minutes away.",
        example="R-1, R-2, R-5@8min",
        refers_to="Responder",
    )
    others: str = described(
        "Others there", Kind.TEXT, "Officials and others who know the plan.", example="four officials, game manager"
    )
    gear: tuple[Presence, ...] = described(
        "Gear", Kind.PRESENCES, "Codes of what is brought.", example="G-1, G-2", refers_to="Gear"
    )
    vehicles: tuple[Presence, ...] = described(
        "Vehicles",
        Kind.PRESENCES,
        "Codes; without minutes: on stand-by at the venue.",
        example="AMB-1@8min",
        refers_to="Vehicle",
    )
    may_leave: tuple[str, ...] = described(
        "May leave",
        Kind.REFERENCES,
        "Codes of stand-by vehicles that may be called away.",
        example="AMB-1",
        refers_to="Vehicle",
    )
    shifts: tuple[str, ...] = described(
        "Shifts", Kind.REFERENCES, "Codes of the agencies' shifts on duty then.", example="SH-1", refers_to="Shift"
    )
    pauses_play: str = described(
        "Pauses play", Kind.TEXT, "Who stops the game while the ambulance is away.", example="game manager"
    )
    rides_along: str = described(
        "Rides along", Kind.TEXT, "Who goes to the hospital, with the tools.", example="second athletic trainer"
    )
    tell: str = described("Tell before start", Kind.TEXT, "Who must hear it.", example="ambulance crew lead")


@dataclass(frozen=True, kw_only=True)
class JerseyNumber:
    """A number that an athlete wears at one event only."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="J-1", required=True)
    event: str = described(
        "Event", Kind.REFERENCE, "Code of the event.", example="E-1", required=True, refers_to="Event"
    )
    athlete: str = described(
        "Athlete", Kind.REFERENCE, "Code of the athlete.", example="T1-52", required=True, refers_to="Athlete"
    )
    number: int = described(
        "Number", Kind.INTEGER, "Jersey number that day.", example="57", required=True, lowest="0", highest="99"
    )


@dataclass(frozen=True, kw_only=True)
class Told:
    """That somebody was told what a rule found, and what they answered."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="TOLD-1", required=True)
    event: str = described(
        "Event", Kind.REFERENCE, "Code of the event.", example="E-1", required=True, refers_to="Event"
    )
    rule: str = described("Rule", Kind.TEXT, "Identifier of the rule.", example="weight-limit", required=True)
    subject: str = described("Subject", Kind.TEXT, "Subject of the finding. Blank: all of this rule.", example="G-1")
    who: str = described("Told", Kind.TEXT, "Who was told, as a role.", example="ambulance crew lead", required=True)
    day: date = described("Date", Kind.DATE, "When.", example="2026-11-27", required=True)
    at: time | None = described("Time", Kind.CLOCK, "Local time.", example="18:35")
    answer: str = described(
        "Answer", Kind.CHOICE, "What they answered.", example="confirmed", required=True, choices=TOLD_ANSWERS
    )
    note: str = described("Note", Kind.TEXT, "In their words.", example="second scoop is in the truck")


@dataclass(frozen=True, kw_only=True)
class KnownGap:
    """A finding that medical direction or administration knows and signed, with reason and last day; it stays seen."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="GAP-1", required=True)
    rule: str = described("Rule", Kind.TEXT, "Identifier of the rule.", example="gate-narrow", required=True)
    subject: str = described("Subject", Kind.TEXT, "Subject of the finding.", example="GATE-1", required=True)
    event: str | None = described(
        "Event", Kind.REFERENCE, "Code of the event. Blank: every event.", example="E-1", refers_to="Event"
    )
    signed_by: str = described(
        "Signed by", Kind.CHOICE, "Nobody else can.", example="medical direction", required=True, choices=SIGNERS
    )
    signer: str = described("Signer", Kind.TEXT, "Who, as a role or name.", example="team physician", required=True)
    reason: str = described("Reason", Kind.TEXT, "Why it stays for now.", example="new gate ordered", required=True)
    signed_on: date = described("Signed on", Kind.DATE, "When.", example="2026-11-20", required=True)
    until: date = described("Until", Kind.DATE, "Last day it holds.", example="2027-01-31", required=True)


@dataclass(frozen=True, kw_only=True)
class PreAgreement:
    """What an ambulance agency and the programme settled about one technique."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="AGR-1", required=True)
    agency: str = described(
        "Agency", Kind.REFERENCE, "Code of the agency.", example="AG-1", required=True, refers_to="Agency"
    )
    shift: str | None = described(
        "Shift", Kind.REFERENCE, "Code of the shift. Blank: every shift.", example="SH-1", refers_to="Shift"
    )
    technique: str = described(
        "Technique",
        Kind.TEXT,
        "Identifier of a technique, or how the athlete arrives, such as device in or equipment off.",
        example="device_out_on_cot",
        required=True,
    )
    answer: str = described(
        "Answer",
        Kind.CHOICE,
        "What was settled; required only for how the athlete arrives.",
        example="agreed",
        required=True,
        choices=ANSWERS,
    )
    protocol_edition: str = described(
        "Protocol edition", Kind.TEXT, "The edition it was settled on. Blank: not recorded.", example="2026-03"
    )
    settled_on: date | None = described("Settled on", Kind.DATE, "Day of the answer.", example="2026-07-15")
    valid_until: date | None = described("Valid until", Kind.DATE, "Blank: until changed.", example="2027-06-30")
    note: str = described("Note", Kind.TEXT, "In your own words.", example="crew chief decides on the day")


@dataclass(frozen=True, kw_only=True)
class MedicalOrder:
    """What medical direction signed: a life-first page, a technique under local protocol, a standing order."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="MO-1", required=True)
    about: str = described(
        "About",
        Kind.TEXT,
        "Identifier of a life-first page or technique, or a standing order such as airway and suction.",
        example="life_first/arrest",
        required=True,
    )
    signer: str = described(
        "Signed by", Kind.TEXT, "Medical direction, role or name.", example="physician", required=True
    )
    signed_on: date = described("Signed on", Kind.DATE, "When.", example="2026-08-01", required=True)
    until: date | None = described("Until", Kind.DATE, "Last day it holds. Blank: until changed.", example="2027-07-31")
    conditions: str = described(
        "Conditions", Kind.TEXT, "Clinical conditions under which it holds.", example="alert, no pain, no weakness"
    )
