"""The state of a transfer: what is true between two handlings, and the words every other module uses for it."""

from collections.abc import Iterator, Mapping
from itertools import product
from typing import NamedTuple

STATE_VALUES: Mapping[str, tuple[str, ...]] = {
    "position": ("supine", "prone", "side", "sitting"),
    "place": ("ground", "obstacle", "cot", "cot at vehicle", "vehicle", "hospital stretcher"),
    "device": ("none", "long board", "scoop", "vacuum mattress"),
    "centred": ("yes", "no"),
    "head": ("free", "held", "held by crew", "secured"),
    "alignment": ("neutral", "not neutral", "not realignable"),
    "body": ("loose", "strapped"),
    "mask": ("screws", "quick release", "fastening not known", "off", "not worn"),
    "equipment": ("on", "helmet off, head padded", "off", "not worn", "not worn, torso not padded"),
    "collar": ("none", "on"),
}

FOUND_POSITIONS = ("supine", "prone")
"""Positions that every answer, rule and sentence goes through; the others are answered when asked for."""
FOUND_PLACES = ("ground", "obstacle")
FOUND_MASKS = ("screws", "quick release", "fastening not known", "not worn")
FOUND_EQUIPMENT = ("on", "not worn", "not worn, torso not padded")
POSITIONS = STATE_VALUES["position"]
ALIGNMENTS = STATE_VALUES["alignment"]
CARRYING_DEVICES = tuple(kind for kind in STATE_VALUES["device"] if kind != "none")
ACCESSORIES = ("straps", "head blocks", "collar", "padding")
TOOLS = ("powered screwdriver", "cutting tool", "quick-release tool")
EMERGENCY_GEAR = ("AED", "airway kit", "suction", "cooling tub")
GEAR_KINDS = (*CARRYING_DEVICES, *ACCESSORIES, *TOOLS, *EMERGENCY_GEAR)
FITS = (*CARRYING_DEVICES, "cot")
SKILLS = (
    "in-line hold",
    "log roll",
    "team lift",
    "scoop",
    "vacuum mattress",
    "strapping",
    "face mask",
    "equipment removal",
    "airway",
    "cot",
)
SURFACES = ("turf", "wet turf", "grass", "wet grass", "hard floor", "ice")
WAYS = ("flat", "slope", "stairs")
ARRIVALS = ("device in", "device out", "equipment on", "equipment off", "collar on", "head secured")
"""How an athlete may have to arrive at the hospital, as an agreement that requires it says it."""


class State(NamedTuple):
    """One state of a transfer; every field takes one of its ``STATE_VALUES``."""

    position: str
    place: str
    device: str
    centred: str
    head: str
    alignment: str
    body: str
    mask: str
    equipment: str
    collar: str


Conditions = Mapping[str, tuple[str, ...]]
"""What a state must be: field to the values allowed; a field left out may be anything."""


def found(position: str, mask: str, equipment: str = "on", alignment: str = "neutral", place: str = "ground") -> State:
    """The state in which an athlete is found: nobody's hands on the head, nothing under the athlete."""
    return State(position, place, "none", "no", "free", alignment, "loose", mask, equipment, "none")


def found_states() -> Iterator[State]:
    """Every state in which an athlete may be found."""
    for found_as in product(POSITIONS, FOUND_MASKS, FOUND_EQUIPMENT, ALIGNMENTS, FOUND_PLACES):
        yield found(*found_as)


def meets(state: State, conditions: Conditions) -> bool:
    """Whether the state has an allowed value in every field the conditions name."""
    return all(getattr(state, name) in allowed for name, allowed in conditions.items())


def spoken(identifier: str) -> str:
    """A technique's identifier as words."""
    return identifier.replace("_", " ")
