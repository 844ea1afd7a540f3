"""Where it happens: the organisation, hospitals, venues, and the places and gates of a venue."""

from dataclasses import dataclass
from datetime import date

from onthree.programme.fields import CODE_HELP, Kind, Number, described
from onthree.techniques.state import SURFACES, WAYS
from onthree.units import Length

CAPABILITIES = ("trauma", "spine surgery", "neurosurgery", "heart", "children", "burns")
PREFERENCES = ("evidence", "handlings", "people", "time")
"""By what one option comes before another once both are agreed and current, in the order used unless changed."""

PLACE_KINDS = (
    "field",
    "sideline",
    "boards",
    "bench",
    "tunnel",
    "stairs",
    "locker room",
    "AED",
    "gear",
    "cooling",
    "access route",
    "ambulance route",
)
DRAWN_FIELDS = (
    "American football",
    "association football",
    "rugby union",
    "lacrosse",
    "field hockey",
    "ice hockey",
    "basketball",
)
"""Fields that a plan is drawn on; their sizes are in the table ``field_sizes``."""
MARK_KINDS = (
    "gate",
    "ambulance route",
    "ambulance position",
    "cot route",
    "access route",
    "gear",
    "AED",
    "cooling",
    "meeting point",
    "spectators",
    "hazard",
)
CONDITIONS_OF_SURFACE = ("dry", "wet", "frozen", "uneven", "sloping")


@dataclass(frozen=True, kw_only=True)
class Organisation:
    """Who runs the programme."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="QVC", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Quillmere Valley Conference", required=True)
    medical_direction: str = described(
        "Medical direction", Kind.TEXT, "Who answers medically, as a role.", example="team physician on call"
    )
    administration: str = described(
        "Administration", Kind.TEXT, "Who answers for the organisation, as a role.", example="director of athletics"
    )
    plan_version: str = described(
        "Plan version", Kind.TEXT, "Version of the emergency action plan in force.", example="2026-08"
    )
    preference: tuple[str, ...] = described(
        "Order of options",
        Kind.CHOICES,
        "By what options are ordered after agreed and current; blank: evidence, handlings, people, time.",
        example="handlings, evidence, people, time",
        choices=PREFERENCES,
    )
    is_invented: bool | None = described(
        "Invented data", Kind.YES_NO, "yes for training data: every page and print then says so.", example="yes"
    )


@dataclass(frozen=True, kw_only=True)
class Hospital:
    """A hospital that ambulances go to."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="H-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="county trauma centre", required=True)
    capabilities: tuple[str, ...] = described(
        "Capability",
        Kind.CHOICES,
        "What it takes, separated by commas. Blank: not known.",
        example="trauma, spine surgery",
        choices=CAPABILITIES,
    )
    agreed_on: date | None = described(
        "Agreed with us",
        Kind.DATE,
        "When its emergency department last agreed on how we hand over.",
        example="2026-08-10",
    )
    note: str = described("Note", Kind.TEXT, "In your own words.", example="ambulance entrance from the east")


@dataclass(frozen=True, kw_only=True)
class Venue:
    """A place where teams play or practise."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="V-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="Main field", required=True)
    surface: str | None = described(
        "Surface",
        Kind.CHOICE,
        "What the athlete lies on, in the condition to plan for.",
        example="turf",
        choices=SURFACES,
    )
    ambulance_access: str = described(
        "Ambulance access", Kind.TEXT, "The way in, as told to the crew.", example="north gate, then the running track"
    )
    hospital: str | None = described(
        "Receiving hospital",
        Kind.REFERENCE,
        "Code of the hospital the ambulance goes to from here.",
        example="H-1",
        refers_to="Hospital",
    )
    communication: str = described(
        "Communication", Kind.TEXT, "How the medical team calls, first choice.", example="radio, channel 4"
    )
    backup_communication: str = described(
        "Backup communication", Kind.TEXT, "When the first choice fails.", example="telephone in the press box"
    )
    dead_spots: str = described(
        "Dead spots", Kind.TEXT, "Where it does not reach; none if it was tried everywhere.", example="visitors' tunnel"
    )
    backup_tested_on: date | None = described(
        "Backup tested on", Kind.DATE, "When somebody last called by it.", example="2026-11-01"
    )
    address: str = described("Address", Kind.TEXT, "As told to the dispatcher.", example="12 Mill Lane, north gate")
    details_verified_on: date | None = described(
        "Details verified on", Kind.DATE, "When address and telephone numbers were last checked.", example="2026-08-15"
    )
    plan_posted: str = described(
        "Plan posted", Kind.TEXT, "Version of the plan that hangs at the venue.", example="2026-08"
    )
    cot_way: str | None = described(
        "Way of the cot",
        Kind.CHOICE,
        "The hardest part from the athlete to the ambulance.",
        example="slope",
        choices=WAYS,
    )
    drawn_field: str | None = described(
        "Drawn field",
        Kind.CHOICE,
        "The field that the plan is drawn on, at its usual size; blank: an empty ground.",
        example="American football",
        choices=DRAWN_FIELDS,
    )
    latitude_deg: Number | None = described(
        "Latitude (deg)",
        Kind.NUMBER,
        "Of the centre of the field, WGS 84, north positive. Blank: the plan is not tied to a map.",
        example="12.3456",
        lowest="-89",
        highest="89",
    )
    longitude_deg: Number | None = described(
        "Longitude (deg)",
        Kind.NUMBER,
        "Of the centre of the field, WGS 84, east positive.",
        example="-65.4321",
        lowest="-180",
        highest="180",
    )
    bearing_deg: Number | None = described(
        "Field points to (deg)",
        Kind.NUMBER,
        "Where the right end of the drawn field points, clockwise from true north: 90 is east.",
        example="90",
        lowest="0",
        highest="360",
    )


@dataclass(frozen=True, kw_only=True)
class Place:
    """A place at a venue where something may happen or something is kept, or a way through it."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="P-1", required=True)
    venue: str = described(
        "Venue", Kind.REFERENCE, "Code of the venue.", example="V-1", required=True, refers_to="Venue"
    )
    kind: str = described(
        "Kind", Kind.CHOICE, "What it is, or what is kept there.", example="bench", required=True, choices=PLACE_KINDS
    )
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="home bench", required=True)
    surface: str | None = described(
        "Surface", Kind.CHOICE, "What one lies or walks on there.", example="hard floor", choices=SURFACES
    )
    condition: str | None = described(
        "Condition", Kind.CHOICE, "As to be planned for.", example="wet", choices=CONDITIONS_OF_SURFACE
    )
    reach_s: int | None = described(
        "Reached in (s)",
        Kind.INTEGER,
        "For an AED or gear: seconds from a call to its use, from the farthest spot, measured. Blank: not known.",
        example="90",
        lowest="1",
        highest="3600",
    )
    note: str = described("Note", Kind.TEXT, "In your own words.", example="four steps down")


@dataclass(frozen=True, kw_only=True)
class Gate:
    """A gate or door of a venue."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="GATE-1", required=True)
    venue: str = described(
        "Venue", Kind.REFERENCE, "Code of the venue.", example="V-1", required=True, refers_to="Venue"
    )
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="north gate", required=True)
    is_cot_way: bool | None = described(
        "Cot goes through", Kind.YES_NO, "Is it on the way of the cot? Blank: not known.", example="yes"
    )
    width: Length | None = described(
        "Clear width", Kind.LENGTH, "Between the posts, opened.", example="96 cm", lowest="0.3 m", highest="20 m"
    )
    key_holder: str = described(
        "Key with", Kind.TEXT, "Who opens it; none if it is never locked.", example="grounds crew"
    )


@dataclass(frozen=True, kw_only=True)
class PlanMark:
    """Something on the drawn plan of a venue: a point, a line or an area, in metres from the centre of the field."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="M-1", required=True)
    venue: str = described(
        "Venue", Kind.REFERENCE, "Code of the venue.", example="V-1", required=True, refers_to="Venue"
    )
    kind: str = described(
        "Kind", Kind.CHOICE, "What it marks.", example="ambulance route", required=True, choices=MARK_KINDS
    )
    label: str = described("Label", Kind.TEXT, "What stands beside it on the plan.", example="way in from north gate")
    drawn: str = described(
        "Drawn as",
        Kind.TEXT,
        "POINT (x y), LINESTRING (x y, x y) or POLYGON ((x y, x y, x y)): metres from the centre of the field, x along "
        "it to the right, y across it upwards.",
        example="LINESTRING (-60 35, -20 30)",
        required=True,
    )
    note: str = described("Note", Kind.TEXT, "In your own words.", example="kept free from an hour before the start")
