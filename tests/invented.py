"""A small invented programme for tests: one clean game that no rule has anything to say about, and changes to it."""

from dataclasses import replace
from datetime import date, time
from typing import Any

from onthree.programme.presence import Presence
from onthree.programme.programme import Programme, Scope, programme_of
from onthree.programme.records import (
    Agency,
    Athlete,
    Event,
    Gear,
    Organisation,
    PreAgreement,
    Record,
    Responder,
    Team,
    Vehicle,
    Venue,
)
from onthree.units import read_length, read_mass

DAY = date(2026, 11, 27)
TRAINED = ("in-line hold", "log roll", "team lift", "scoop", "strapping", "face mask")
DEVICES = ("long board", "scoop")


def clean_records() -> tuple[Record, ...]:
    """A game with ten trained people, two carrying devices, an ambulance on stand-by and everything settled."""
    people = tuple(
        Responder(code=f"R-{n}", name=f"responder {n}", kind="medical-team member", skills=TRAINED, fit_to_lift=True)
        for n in range(1, 11)
    )
    return (
        Organisation(code="ORG", name="Invented conference", is_invented=True),
        Venue(code="V-1", name="Invented field", surface="turf"),
        Team(code="T-1", name="Herons", sport="football", equipment_mass=read_mass("18 lb")),
        athlete("T1-12", 12, "190 lb"),
        athlete("T1-52", 52, "300 lb"),
        *people,
        Agency(code="AG-1", name="county ambulance", skills=TRAINED),
        gear("SCOOP", "scoop", "scoop", rated_load=read_mass("350 lb")),
        gear("BOARD", "long board", "long board", rated_load=read_mass("500 lb")),
        gear("STRAPS", "straps", "straps", fits=DEVICES),
        gear("BLOCKS", "head blocks", "head blocks", fits=(*DEVICES, "cot")),
        gear("DRIVER", "powered screwdriver", "screwdriver"),
        gear("CUTTER", "cutting tool", "cutter"),
        Vehicle(
            code="AMB-1",
            agency="AG-1",
            name="stand-by ambulance",
            crew=2,
            cot_rated_load=read_mass("700 lb"),
            has_loading_system=False,
        ),
        Event(
            code="E-1",
            name="Herons v Otters",
            kind="game",
            day=DAY,
            start=time(19, 0),
            venue="V-1",
            teams=("T-1",),
            visitors="none",
            responders=tuple(Presence(f"R-{n}") for n in range(1, 11)),
            gear=tuple(Presence(code) for code in ("SCOOP", "BOARD", "STRAPS", "BLOCKS", "DRIVER", "CUTTER")),
            vehicles=(Presence("AMB-1"),),
        ),
        PreAgreement(code="AGR-1", agency="AG-1", technique="device_out_on_cot", answer="agreed"),
    )


def athlete(code: str, number: int, mass: str | None, **changes: Any) -> Athlete:
    """An athlete of team T-1 with a face mask on screws."""
    return replace(
        Athlete(
            code=code,
            team="T-1",
            number=number,
            mass=read_mass(mass) if mass else None,
            stature=read_length("6 ft 3 in"),
            face_mask="screws",
        ),
        **changes,
    )


def gear(code: str, kind: str, name: str, **more: Any) -> Gear:
    """An item in service, inspected two weeks before the game."""
    item = Gear(
        code=code, kind=kind, name=name, own_mass=read_mass("8 kg"), in_service=True, inspected_on=date(2026, 11, 13)
    )
    return replace(item, **more)


def clean_programme(**changes: Any) -> Programme:
    """The clean programme; ``changes`` map a code (with _ for -) to the fields to replace, None to leave it out."""
    wanted = {code.replace("_", "-"): change for code, change in changes.items()}
    changed = ((record, wanted.get(record.code, {})) for record in clean_records())
    changed = ((record, wanted.get(record.code, {})) for record in clean_records())
    kept = [replace(record, **change) for record, change in changed if change is not None]
    return programme_of(kept, DAY, Scope())
