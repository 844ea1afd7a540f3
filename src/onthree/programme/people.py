"""Who it is about and who helps: teams and athletes, responders and what they are good for."""

from dataclasses import dataclass
from datetime import date

from onthree.programme.fields import CODE_HELP, Kind, described
from onthree.techniques.state import SKILLS
from onthree.units import Length, Mass

FASTENINGS = ("screws", "quick release", "no face mask")
RESPONDER_KINDS = ("athletic trainer", "physician", "medical-team member", "lay helper")
SURVEY_TABLES = ("male", "female")
AGE_GROUPS = ("under 8", "8 to 14", "15 to 17", "adult")
BRIEFINGS = ("legs", "board", "straps", "gate", "crowd")

_NARROWEST, _WIDEST = "15 cm", "110 cm"


@dataclass(frozen=True, kw_only=True)
class Team:
    """A roster of athletes."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="T-1", required=True)
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


def _breadth(header: str, help: str, example: str) -> Length | None:
    breadth: Length | None = described(header, Kind.LENGTH, help, example=example, lowest=_NARROWEST, highest=_WIDEST)
    return breadth


@dataclass(frozen=True, kw_only=True)
class Athlete:
    """One athlete on a roster. The six widest measured on equipment day are enough to start; blank is not known."""

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
    helmet: str = described(
        "Helmet", Kind.TEXT, "Model in your own words, the same for the tools tried on it.", example="round-screw model"
    )
    age_group: str | None = described("Age group", Kind.CHOICE, "In years.", example="15 to 17", choices=AGE_GROUPS)
    survey_table: str | None = described(
        "Survey table",
        Kind.CHOICE,
        "Which table of the body survey stands in for breadths nobody measured. Blank: both.",
        example="male",
        choices=SURVEY_TABLES,
    )
    shoulder_breadth: Length | None = _breadth(
        "Shoulder breadth", "At the widest, arms at the sides, without pads.", "54 cm"
    )
    padded_shoulder_breadth: Length | None = _breadth("Padded breadth", "At the widest, in pads.", "62 cm")
    trunk_breadth: Length | None = _breadth("Trunk breadth", "Chest at nipple height, without pads.", "36 cm")
    hip_breadth: Length | None = _breadth("Hip breadth", "At the widest, standing.", "39 cm")
    forearm_breadth: Length | None = _breadth("Elbow breadth", "Outside to outside, elbows bent at the sides.", "64 cm")


@dataclass(frozen=True, kw_only=True)
class Responder:
    """Someone of the medical team, or a lay helper briefed to help."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="R-1", required=True)
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
    fit_to_lift: bool | None = described("Fit to lift", Kind.YES_NO, "Today. Blank: not asked.", example="yes")
    briefed_for: tuple[str, ...] = described(
        "Briefed for",
        Kind.CHOICES,
        "What a lay helper was shown, separated by commas.",
        example="legs, board",
        choices=BRIEFINGS,
    )
    lifting_limit: Mass | None = described(
        "Lifting limit", Kind.MASS, "Only if they state one.", example="50 lb", lowest="5 kg", highest="120 kg"
    )
    stature: Length | None = described(
        "Stature",
        Kind.LENGTH,
        "Only to pair lifters of like height.",
        example="178 cm",
        lowest="1.1 m",
        highest="2.4 m",
    )


@dataclass(frozen=True, kw_only=True)
class Qualification:
    """A licence, certificate or course of a responder."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="Q-1", required=True)
    responder: str = described(
        "Responder", Kind.REFERENCE, "Code of the responder.", example="R-1", required=True, refers_to="Responder"
    )
    name: str = described("Qualification", Kind.TEXT, "As it is called.", example="state licence", required=True)
    expires_on: date | None = described(
        "Expires on", Kind.DATE, "Last valid day. Blank: not known.", example="2027-03-31"
    )


@dataclass(frozen=True, kw_only=True)
class CheckOff:
    """A skill that a responder showed and somebody checked."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="C-1", required=True)
    responder: str = described(
        "Responder", Kind.REFERENCE, "Code of the responder.", example="R-1", required=True, refers_to="Responder"
    )
    skill: str = described("Skill", Kind.CHOICE, "What was shown.", example="log roll", required=True, choices=SKILLS)
    done_on: date = described("Done on", Kind.DATE, "Day of the check-off.", example="2026-08-02", required=True)
    by: str = described("Checked by", Kind.TEXT, "Who watched.", example="head athletic trainer")
