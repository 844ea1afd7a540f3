"""The state of a transfer: what is true between two handlings, and the words every other module uses for it."""

from collections.abc import Mapping
from typing import NamedTuple

STATE_VALUES: Mapping[str, tuple[str, ...]] = {
    "position": ("supine", "prone"),
    "place": ("ground", "cot", "hospital stretcher"),
    "device": ("none", "long board", "scoop"),
    "centred": ("yes", "no"),
    "head": ("free", "held", "secured"),
    "body": ("loose", "strapped"),
    "mask": ("screws", "quick release", "fastening not known", "off", "not worn"),
}

FOUND_POSITIONS = STATE_VALUES["position"]
CARRYING_DEVICES = tuple(kind for kind in STATE_VALUES["device"] if kind != "none")
ACCESSORIES = ("straps", "head blocks")
TOOLS = ("powered screwdriver", "cutting tool", "quick-release tool")
GEAR_KINDS = (*CARRYING_DEVICES, *ACCESSORIES, *TOOLS)
FITS = (*CARRYING_DEVICES, "cot")
SKILLS = ("in-line hold", "log roll", "team lift", "scoop", "strapping", "face mask", "cot")
SURFACES = ("turf", "wet turf", "grass", "wet grass", "hard floor", "ice")


class State(NamedTuple):
    """One state of a transfer; every field takes one of its ``STATE_VALUES``."""

    position: str
    place: str
    device: str
    centred: str
    head: str
    body: str
    mask: str


Conditions = Mapping[str, tuple[str, ...]]
"""What a state must be: field to the values allowed; a field left out may be anything."""


def found(position: str, mask: str) -> State:
    """The state in which an athlete is found: on the ground, nobody's hands on the head."""
    return State(position, "ground", "none", "no", "free", "loose", mask)


def meets(state: State, conditions: Conditions) -> bool:
    """Whether the state has an allowed value in every field the conditions name."""
    return all(getattr(state, name) in allowed for name, allowed in conditions.items())


def spoken(identifier: str) -> str:
    """A technique's identifier as words."""
    return identifier.replace("_", " ")
