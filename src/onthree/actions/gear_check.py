"""The look at what is brought, before an event: each item ready or not, kept in its upkeep log."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from onthree.actions.arrived import Arrived
from onthree.actions.event_answer import EventAnswer
from onthree.programme.equipment import FOUND_NOT_READY, FOUND_READY
from onthree.programme.records import Gear, Upkeep

KIND = "gear-check"
LOOKS = (FOUND_READY, FOUND_NOT_READY)

_ASKS: Mapping[str, str] = {
    "powered screwdriver": "Here, charged, the right bit in it, turned once?",
    "cutting tool": "Here, blades whole, closed once?",
    "quick-release tool": "Here, tried once?",
    "AED": "Here, shows that it is ready, pads in date?",
    "airway kit": "Here, complete, in date?",
    "suction": "Here, charged, sucks?",
    "cooling tub": "Here, water and ice beside it?",
    "scoop": "Here, both latches close and hold, straps with it?",
    "vacuum mattress": "Here, holds its vacuum, pump with it?",
}
"""What to look at, by kind (common practice, no source)."""
_ASKS_OTHERWISE = "Here, whole, clean?"


@dataclass(frozen=True)
class GearToCheck:
    """One item of an event: what to look at, from which minute it is there, and the looks of the day so far."""

    gear: Gear
    from_min: int
    asks: str
    looks: tuple[Upkeep, ...]

    @property
    def standing(self) -> str:
        """What the last look of the day found."""
        return self.looks[-1].done if self.looks else "not looked at yet"


def gear_to_check(answer: EventAnswer) -> tuple[GearToCheck, ...]:
    """Everything brought to an event."""
    looks: dict[str, list[Upkeep]] = {}
    for row in answer.programme.upkeep.values():
        if row.done in LOOKS and row.day == answer.programme.on:
            looks.setdefault(row.gear, []).append(row)
    return tuple(
        GearToCheck(
            there.gear,
            there.from_min,
            _ASKS.get(there.gear.kind, _ASKS_OTHERWISE),
            tuple(looks.get(there.gear.code, ())),
        )
        for there in answer.engine.situation.gear
    )


def take_gear_check(arrived: Arrived) -> Mapping[str, Any]:
    """Save one look as an entry in the upkeep log. Content: gear, done, who; note may be left out.

    Raises ValueError and LookupError that name the field.
    """
    from onthree.store.records import save_records

    row = Upkeep(
        code=arrived.record_code("U"),
        gear=arrived.text("gear", longest=40),
        day=arrived.at.astimezone().date(),
        done=arrived.one_of("done", LOOKS),
        by=arrived.text("who"),
        note=arrived.text("note", longest=2000, is_required=False),
    )
    save_records([row], by=arrived.by, organisation_code=arrived.organisation_code)
    return {"code": row.code}
