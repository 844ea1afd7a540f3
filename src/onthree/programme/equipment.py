"""What helps: ambulance agencies with their shifts, gear with its upkeep, vehicles with their cots."""

from dataclasses import dataclass
from datetime import date

from onthree.programme.fields import CODE_HELP, Kind, described
from onthree.techniques.state import CARRYING_DEVICES, FITS, GEAR_KINDS, SKILLS
from onthree.units import Length, Mass

MECHANISMS = ("none", "latches", "folds", "vacuum valve", "battery")
GEAR_CONDITIONS = ("good", "worn", "damaged")
FOUND_READY, FOUND_NOT_READY = "found ready", "found not ready"
UPKEEP = ("used", "cleaned", "inspected", "lubricated", "charged", "repaired", FOUND_READY, FOUND_NOT_READY)
"""The last two: the look at it before an event, which is no inspection by the maker's manual."""


@dataclass(frozen=True, kw_only=True)
class Agency:
    """An ambulance agency; its staff need no names here."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="AG-1", required=True)
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="county ambulance", required=True)
    skills: tuple[str, ...] = described(
        "Crew skills",
        Kind.CHOICES,
        "What its crews have rehearsed with you, separated by commas. Blank: not known.",
        example="in-line hold, team lift, cot",
        choices=SKILLS,
    )
    protocol_edition: str = described("Protocol edition", Kind.TEXT, "The edition in force there.", example="2026-03")
    protocol_on: date | None = described(
        "Protocol since", Kind.DATE, "First day of this edition.", example="2026-03-01"
    )
    rehearsed_on: date | None = described("Rehearsed with us", Kind.DATE, "Last time.", example="2026-08-02")
    bariatric_lead_min: int | None = described(
        "Bariatric unit (min)",
        Kind.INTEGER,
        "Minutes from the call to a unit for heavy patients. Blank: not known.",
        example="40",
        lowest="0",
        highest="600",
    )
    bariatric_call: str = described(
        "Bariatric wording",
        Kind.TEXT,
        "What to say in the first call so that the unit for heavy patients comes.",
        example="send the heavy-patient unit with the first ambulance",
    )


@dataclass(frozen=True, kw_only=True)
class Shift:
    """A shift of an agency: rehearsals count for the shift that was there."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="SH-1", required=True)
    agency: str = described(
        "Agency", Kind.REFERENCE, "Code of the agency.", example="AG-1", required=True, refers_to="Agency"
    )
    name: str = described("Name", Kind.TEXT, "Name as spoken.", example="A shift", required=True)
    rehearsed_on: date | None = described("Rehearsed with us", Kind.DATE, "Last time.", example="2026-08-02")


@dataclass(frozen=True, kw_only=True)
class MutualAid:
    """Which agency comes in place of another when its ambulance has left."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="MA-1", required=True)
    agency: str = described(
        "Agency", Kind.REFERENCE, "Code of the agency that left.", example="AG-1", required=True, refers_to="Agency"
    )
    replacement: str = described(
        "Replaced by",
        Kind.REFERENCE,
        "Code of the agency that comes.",
        example="AG-2",
        required=True,
        refers_to="Agency",
    )
    usual_min: int | None = described(
        "Usual minutes", Kind.INTEGER, "From the call to the venue.", example="15", lowest="0", highest="180"
    )


@dataclass(frozen=True, kw_only=True)
class Gear:
    """One item: a carrying device, an accessory or a tool. Ratings come from the label on the item in hand."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="G-1", required=True)
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
    standard: str = described(
        "Standard", Kind.TEXT, "Standard and edition as printed on the label.", example="EN 1865-1:2015"
    )
    own_mass: Mass | None = described(
        "Own mass", Kind.MASS, "Of the item itself.", example="8 kg", lowest="0.1 kg", highest="80 kg"
    )
    attached_mass: Mass | None = described(
        "Attached mass",
        Kind.MASS,
        "What is fixed to it and loads it, such as a head rest or a monitor. Blank: nothing.",
        example="2 kg",
        lowest="0 kg",
        highest="40 kg",
    )
    usable_width: Length | None = described(
        "Usable width", Kind.LENGTH, "Where the trunk lies.", example="40.6 cm", lowest="20 cm", highest="120 cm"
    )
    usable_length: Length | None = described(
        "Usable length", Kind.LENGTH, "Head end to foot end.", example="183 cm", lowest="60 cm", highest="260 cm"
    )
    slot_width: Length | None = described(
        "Slot width", Kind.LENGTH, "Between the strap slots.", example="43 cm", lowest="20 cm", highest="120 cm"
    )
    pairs_of_holds: int | None = described(
        "Pairs of holds", Kind.INTEGER, "Hand holds on one side.", example="3", lowest="1", highest="8"
    )
    first_hold: Length | None = described(
        "First hold at", Kind.LENGTH, "From the head end.", example="25 cm", lowest="0 cm", highest="150 cm"
    )
    hold_spacing: Length | None = described(
        "Holds every", Kind.LENGTH, "From one hold to the next.", example="60 cm", lowest="5 cm", highest="200 cm"
    )
    holds_apart: Length | None = described(
        "Holds apart", Kind.LENGTH, "Left to right.", example="44 cm", lowest="10 cm", highest="120 cm"
    )
    mechanism: str | None = described(
        "Mechanism", Kind.CHOICE, "What moves and may fail.", example="latches", choices=MECHANISMS
    )
    fits: tuple[str, ...] = described(
        "Fits", Kind.CHOICES, "For straps and head blocks: on what they fit.", example="scoop, cot", choices=FITS
    )
    fits_items: tuple[str, ...] = described(
        "Fits items",
        Kind.WORDS,
        "Codes of the items it was tried on, where not every item of a kind takes it.",
        example="G-1, G-3",
    )
    reaches_over_pads: bool | None = described(
        "Over pads", Kind.YES_NO, "For straps: do they reach over pads? Blank: not tried.", example="yes"
    )
    helmets: tuple[str, ...] = described(
        "Tried on helmets",
        Kind.WORDS,
        "For tools: the helmet models whose face mask it took off, as in Athletes.",
        example="round-screw model, flat-screw model",
    )
    is_charged: bool | None = described(
        "Charged", Kind.YES_NO, "For a powered screwdriver. Blank: not looked.", example="yes"
    )
    has_right_bit: bool | None = described(
        "Right bit", Kind.YES_NO, "For a screwdriver: is the right bit in it? Blank: not looked.", example="yes"
    )
    place: str | None = described("Kept at", Kind.REFERENCE, "Code of the venue.", example="V-1", refers_to="Venue")
    condition: str | None = described(
        "Condition", Kind.CHOICE, "As last seen.", example="good", choices=GEAR_CONDITIONS
    )
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
    lubricate_every_days: int | None = described(
        "Lubricate every (days)",
        Kind.INTEGER,
        "From the maker's manual; blank: it asks for none.",
        example="90",
        lowest="1",
        highest="730",
    )


@dataclass(frozen=True, kw_only=True)
class Upkeep:
    """Something done to an item, or a use of it, on a day."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="U-1", required=True)
    gear: str = described("Item", Kind.REFERENCE, "Code of the item.", example="G-1", required=True, refers_to="Gear")
    day: date = described("Date", Kind.DATE, "When.", example="2026-11-18", required=True)
    done: str = described("Done", Kind.CHOICE, "What.", example="cleaned", required=True, choices=UPKEEP)
    by: str = described("By", Kind.TEXT, "Who.", example="gear keeper")
    note: str = described("Note", Kind.TEXT, "In your own words.", example="latch at the foot end stiff")


@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """An ambulance with its cot and crew."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="AMB-1", required=True)
    agency: str = described(
        "Agency", Kind.REFERENCE, "Code of the agency.", example="AG-1", required=True, refers_to="Agency"
    )
    name: str = described("Spoken name", Kind.TEXT, "What people call it.", example="stand-by ambulance", required=True)
    crew: int | None = described(
        "Crew", Kind.INTEGER, "People who can help lift.", example="2", lowest="0", highest="6"
    )
    is_bariatric: bool | None = described(
        "Bariatric unit", Kind.YES_NO, "Made for heavy patients? Blank: not known.", example="no"
    )
    cot_rated_load: Mass | None = described(
        "Cot rated load",
        Kind.MASS,
        "As printed on the cot. Blank: not known.",
        example="500 lb",
        lowest="50 kg",
        highest="900 kg",
    )
    standard: str = described(
        "Standard", Kind.TEXT, "Standard and edition as printed on the cot.", example="EN 1865-2:2024"
    )
    attached_mass: Mass | None = described(
        "Attached mass",
        Kind.MASS,
        "What rides on the cot, such as monitor and oxygen. Blank: nothing.",
        example="9 kg",
        lowest="0 kg",
        highest="60 kg",
    )
    cot_width: Length | None = described(
        "Cot width", Kind.LENGTH, "Rails up, at the widest.", example="66 cm", lowest="40 cm", highest="120 cm"
    )
    strap_length: Length | None = described(
        "Cot strap length", Kind.LENGTH, "Longest chest strap.", example="150 cm", lowest="50 cm", highest="400 cm"
    )
    retains: tuple[str, ...] = described(
        "Cot retains",
        Kind.CHOICES,
        "Carrying devices its retention takes, separated by commas. Blank: not known.",
        example="scoop, long board",
        choices=CARRYING_DEVICES,
    )
    loading_rated_load: Mass | None = described(
        "Loading system rated load",
        Kind.MASS,
        "Lift, winch or ramp. Blank: not known.",
        example="700 lb",
        lowest="50 kg",
        highest="900 kg",
    )
    cot_lifts_itself: bool | None = described(
        "Cot lifts itself",
        Kind.YES_NO,
        "Does the cot go down to the ground and up again with an athlete on it? Blank: not known.",
        example="no",
    )
    has_loading_system: bool | None = described(
        "Loading system", Kind.YES_NO, "Does a lift, winch or ramp carry the cot? Blank: not known.", example="no"
    )
    left_space: Length | None = described(
        "Space left", Kind.LENGTH, "Clear beside the cot.", example="60 cm", lowest="0 cm", highest="200 cm"
    )
    right_space: Length | None = described(
        "Space right", Kind.LENGTH, "Clear beside the cot.", example="35 cm", lowest="0 cm", highest="200 cm"
    )
    head_space: Length | None = described(
        "Space at head", Kind.LENGTH, "Clear behind the head end.", example="55 cm", lowest="0 cm", highest="200 cm"
    )
