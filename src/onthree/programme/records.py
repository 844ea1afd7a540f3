"""The records of a programme as frozen dataclasses; a sheet of the workbook and a table of the store for each."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time

from onthree.programme.fields import Kind, described
from onthree.programme.presence import Presence
from onthree.techniques.state import FITS, GEAR_KINDS, SKILLS, SURFACES
from onthree.units import Length, Mass

FASTENINGS = ("screws", "quick release", "no face mask")
RESPONDER_KINDS = ("athletic trainer", "physician", "medical-team member", "lay helper")
EVENT_KINDS = ("game", "practice")
VISITORS = ("none", "known", "unknown")
ANSWERS = ("agreed", "undecided", "refused")

_CODE_HELP = "Your own short code, used by the other sheets. Keep it once it is given."


@dataclass(frozen=True, kw_only=True)
class Organisation:
    """Who runs the programme."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="QVC", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Quillmere Valley Conference", required=True)
    medical_direction: str = described(
        "Medical direction", Kind.TEXT, "Who answers medically, as a role.", example="team physician on call"
    )
    is_invented: bool | None = described(
        "Invented data", Kind.YES_NO, "yes for training data: every page and print then says so.", example="yes"
    )


@dataclass(frozen=True, kw_only=True)
class Venue:
    """A place where teams play or practise."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="V-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Main field", required=True)
    surface: str | None = described(
        "Surface",
        Kind.CHOICE,
        "What the athlete lies on, in the condition to plan for.",
        example="turf",
        choices=SURFACES,
    )
    ambulance_access: str = described(
        "Ambulance access", Kind.TEXT, "Gate, and who opens it.", example="north gate, grounds crew"
    )
    hospital: str = described(
        "Receiving hospital", Kind.TEXT, "Where the ambulance goes from here.", example="county trauma centre"
    )


@dataclass(frozen=True, kw_only=True)
class Team:
    """A roster of athletes."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="T-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Herons", required=True)
    sport: str = described("Sport", Kind.TEXT, "Sport as spoken.", example="football")
    equipment_mass: Mass | None = described(
        "Equipment worn",
        Kind.MASS,
        "Helmet, pads and clothing of the heaviest set, weighed; used for athletes without their own value.",
        example="18 lb",
        lowest="0 kg",
        highest="30 kg",
    )


@dataclass(frozen=True, kw_only=True)
class Athlete:
    """One athlete on a roster."""

    code: str = described("Code", Kind.CODE, "Your own code; no name needed.", example="T1-52", required=True)
    team: str = described("Team", Kind.REFERENCE, "Code of the team.", example="T-1", required=True, refers_to="Team")
    number: int | None = described("Number", Kind.INTEGER, "Jersey number.", example="52", lowest="0", highest="99")
    plays: str = described("Plays", Kind.TEXT, "Playing position as spoken.", example="offensive line")
    mass: Mass | None = described(
        "Body mass", Kind.MASS, "With unit.", example="290 lb", lowest="25 kg", highest="260 kg"
    )
    stature: Length | None = described(
        "Stature", Kind.LENGTH, "With unit.", example="6 ft 3 in", lowest="1.1 m", highest="2.4 m"
    )
    equipment_mass: Mass | None = described(
        "Equipment worn",
        Kind.MASS,
        "Only if weighed for this athlete.",
        example="20 lb",
        lowest="0 kg",
        highest="30 kg",
    )
    face_mask: str | None = described(
        "Face mask", Kind.CHOICE, "How the face mask is fastened.", example="screws", choices=FASTENINGS
    )


@dataclass(frozen=True, kw_only=True)
class Responder:
    """Someone of the medical team, or a lay helper briefed to help."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="R-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name or role as spoken.", example="head athletic trainer", required=True)
    kind: str = described(
        "Kind", Kind.CHOICE, "What they are.", example="athletic trainer", required=True, choices=RESPONDER_KINDS
    )
    skills: tuple[str, ...] = described(
        "Skills",
        Kind.CHOICES,
        "What they have rehearsed, separated by commas. Blank: not known.",
        example="in-line hold, log roll",
        choices=SKILLS,
    )
    fit_to_lift: bool | None = described("Fit to lift", Kind.YES_NO, "Blank: not asked.", example="yes")


@dataclass(frozen=True, kw_only=True)
class Agency:
    """An ambulance agency; its staff need no names here."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="AG-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="county ambulance", required=True)
    skills: tuple[str, ...] = described(
        "Crew skills",
        Kind.CHOICES,
        "What its crews have rehearsed with you, separated by commas. Blank: not known.",
        example="in-line hold, team lift, cot",
        choices=SKILLS,
    )
    protocol_edition: str = described("Protocol edition", Kind.TEXT, "The edition you agreed on.", example="2026-03")
    rehearsed_on: date | None = described("Rehearsed with us", Kind.DATE, "Last time.", example="2026-08-02")


@dataclass(frozen=True, kw_only=True)
class Gear:
    """One item: a carrying device, an accessory or a tool. Ratings come from the label on the item in hand."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="G-1", required=True)
    kind: str = described("Kind", Kind.CHOICE, "What it is.", example="scoop", required=True, choices=GEAR_KINDS)
    name: str = described("Spoken name", Kind.TEXT, "What people call out.", example="wide scoop", required=True)
    rated_load: Mass | None = described(
        "Rated load",
        Kind.MASS,
        "Weight limit as printed on the label of this item. Blank: cannot be read.",
        example="350 lb",
        lowest="50 kg",
        highest="750 kg",
    )
    own_mass: Mass | None = described(
        "Own mass", Kind.MASS, "Of the item itself.", example="8 kg", lowest="0.1 kg", highest="80 kg"
    )
    fits: tuple[str, ...] = described(
        "Fits", Kind.CHOICES, "For straps and head blocks: on what they fit.", example="scoop, cot", choices=FITS
    )
    place: str | None = described("Kept at", Kind.REFERENCE, "Code of the venue.", example="V-1", refers_to="Venue")
    in_service: bool | None = described("In service", Kind.YES_NO, "Blank: not known.", example="yes")
    inspected_on: date | None = described("Inspected on", Kind.DATE, "Last inspection.", example="2026-09-01")
    inspect_every_days: int | None = described(
        "Inspect every (days)",
        Kind.INTEGER,
        "From the maker's manual; blank: the common practice of the programme is used.",
        example="30",
        lowest="1",
        highest="730",
    )


@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """An ambulance with its cot and crew."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="AMB-1", required=True)
    agency: str = described(
        "Agency", Kind.REFERENCE, "Code of the agency.", example="AG-1", required=True, refers_to="Agency"
    )
    name: str = described("Spoken name", Kind.TEXT, "What people call it.", example="stand-by ambulance", required=True)
    crew: int | None = described(
        "Crew", Kind.INTEGER, "People who can help lift.", example="2", lowest="0", highest="6"
    )
    cot_rated_load: Mass | None = described(
        "Cot rated load",
        Kind.MASS,
        "As printed on the cot. Blank: not known.",
        example="500 lb",
        lowest="50 kg",
        highest="900 kg",
    )
    loading_rated_load: Mass | None = described(
        "Loading system rated load",
        Kind.MASS,
        "Lift, winch or ramp. Blank: not known.",
        example="700 lb",
        lowest="50 kg",
        highest="900 kg",
    )
    has_loading_system: bool | None = described(
        "Loading system", Kind.YES_NO, "Does a lift, winch or ramp carry the cot? Blank: not known.", example="no"
    )


@dataclass(frozen=True, kw_only=True)
class Event:
    """A game or practice, with who and what will be there."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="E-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Herons v Otters", required=True)
    kind: str = described("Kind", Kind.CHOICE, "Game or practice.", example="game", required=True, choices=EVENT_KINDS)
    day: date = described("Date", Kind.DATE, "Day of the event.", example="2026-11-28", required=True)
    start: time | None = described("Start", Kind.CLOCK, "Local time.", example="19:00")
    venue: str = described(
        "Venue", Kind.REFERENCE, "Code of the venue.", example="V-1", required=True, refers_to="Venue"
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
    responders: tuple[Presence, ...] = described(
        "Responders",
        Kind.PRESENCES,
        "Codes; @8min for eight minutes away.",
        example="R-1, R-2, R-5@8min",
        refers_to="Responder",
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
    tell: str = described("Tell before start", Kind.TEXT, "Who must hear it.", example="ambulance crew lead")


@dataclass(frozen=True, kw_only=True)
class PreAgreement:
    """What an ambulance agency and the programme settled about one technique."""

    code: str = described("Code", Kind.CODE, _CODE_HELP, example="AGR-1", required=True)
    agency: str = described(
        "Agency", Kind.REFERENCE, "Code of the agency.", example="AG-1", required=True, refers_to="Agency"
    )
    technique: str = described(
        "Technique", Kind.TEXT, "Identifier of the technique.", example="device_out_on_cot", required=True
    )
    answer: str = described(
        "Answer", Kind.CHOICE, "What was settled.", example="agreed", required=True, choices=ANSWERS
    )
    settled_on: date | None = described("Settled on", Kind.DATE, "Day of the answer.", example="2026-07-15")
    valid_until: date | None = described("Valid until", Kind.DATE, "Blank: until changed.", example="2027-06-30")
    note: str = described("Note", Kind.TEXT, "In your own words.", example="crew chief decides on the day")


Record = Organisation | Venue | Team | Athlete | Responder | Agency | Gear | Vehicle | Event | PreAgreement
"""Any record; each has a ``code`` that is unique within its kind."""

RECORD_TYPES: tuple[type[Record], ...] = (
    Organisation,
    Venue,
    Team,
    Athlete,
    Responder,
    Agency,
    Gear,
    Vehicle,
    Event,
    PreAgreement,
)
"""Every kind of record, in the order in which references can be resolved."""

SHEETS: Mapping[str, type[Record]] = {
    "Organisation": Organisation,
    "Venues": Venue,
    "Teams": Team,
    "Athletes": Athlete,
    "Responders": Responder,
    "Agencies": Agency,
    "Gear": Gear,
    "Vehicles": Vehicle,
    "Events": Event,
    "Agreements": PreAgreement,
}
"""Sheet title to record kind, in the order of the workbook."""
