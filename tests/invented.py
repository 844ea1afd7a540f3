"""A small invented programme for tests: one clean game that no rule has anything to say about, and changes to it."""

from dataclasses import replace
from datetime import date, time
from typing import Any

from onthree.programme.presence import Presence
from onthree.programme.programme import Programme, Scope, programme_of
from onthree.programme.records import (
    Agency,
    Athlete,
    CheckOff,
    Event,
    Gate,
    Gear,
    Hospital,
    Incident,
    Measured,
    MedicalOrder,
    Organisation,
    Place,
    PreAgreement,
    Qualification,
    Record,
    Recording,
    Responder,
    Run,
    RunPhase,
    RunRole,
    Team,
    Upkeep,
    Vehicle,
    Venue,
)
from onthree.units import read_length, read_mass

DAY = date(2026, 11, 27)
TRAINED = ("in-line hold", "log roll", "team lift", "scoop", "strapping", "face mask")
LIFE_FIRST = (
    "arrest",
    "airway",
    "bleeding",
    "heat_stroke",
    "dangerous_scene",
    "agitated_or_seizing",
    "falling_consciousness",
    "mid_move",
)
DEVICES = ("long board", "scoop")
BROUGHT = ("SCOOP", "BOARD", "STRAPS", "BLOCKS", "DRIVER", "CUTTER", "AIRWAY", "SUCTION", "TUB")
HELMET = "round-screw model"
SIZE = {"usable_width": read_length("45 cm"), "usable_length": read_length("200 cm")}


def clean_records() -> tuple[Record, ...]:
    """A game with ten trained people, two carrying devices, an ambulance on stand-by and everything settled."""
    people = tuple(
        Responder(
            code=f"R-{n}",
            name=f"responder {n}",
            kind="medical-team member",
            skills=(*TRAINED, "airway") if n == 1 else TRAINED,
            fit_to_lift=True,
        )
        for n in range(1, 11)
    )
    return (
        Organisation(code="ORG", name="Invented conference", plan_version="2026-08", is_invented=True),
        Hospital(code="H-1", name="invented trauma centre", capabilities=("trauma",), agreed_on=date(2026, 8, 10)),
        Venue(
            cot_way="flat",
            code="V-1",
            name="Invented field",
            surface="turf",
            hospital="H-1",
            communication="radio",
            backup_communication="telephone",
            dead_spots="none",
            backup_tested_on=date(2026, 11, 1),
            address="12 Mill Lane, north gate",
            details_verified_on=date(2026, 8, 15),
            plan_posted="2026-08",
        ),
        Place(code="P-AED", venue="V-1", kind="AED", name="AED at the home bench", reach_s=90),
        Gate(
            code="GATE-1",
            venue="V-1",
            name="north gate",
            is_cot_way=True,
            width=read_length("1.2 m"),
            key_holder="grounds crew",
        ),
        Team(code="T-1", name="Herons", sport="football", equipment_mass=read_mass("18 lb")),
        athlete("T1-12", 12, "190 lb"),
        athlete("T1-52", 52, "300 lb"),
        *people,
        Qualification(code="Q-1", responder="R-1", name="state licence", expires_on=date(2027, 3, 31)),
        *(
            CheckOff(code=f"C-{n}-{place}", responder=f"R-{n}", skill=skill, done_on=date(2026, 8, 2))
            for n in range(1, 11)
            for place, skill in enumerate(TRAINED, start=1)
        ),
        CheckOff(code="C-AIRWAY", responder="R-1", skill="airway", done_on=date(2026, 8, 2)),
        Agency(
            code="AG-1",
            name="county ambulance",
            skills=(*TRAINED, "airway"),
            protocol_edition="2026-03",
            protocol_on=date(2026, 3, 1),
            rehearsed_on=date(2026, 8, 2),
            bariatric_lead_min=40,
            bariatric_call="send the heavy-patient unit",
        ),
        gear("SCOOP", "scoop", "scoop", rated_load=read_mass("350 lb"), **SIZE),
        gear("BOARD", "long board", "long board", rated_load=read_mass("500 lb"), **SIZE),
        gear("STRAPS", "straps", "straps", rated_load=read_mass("500 lb"), fits=DEVICES, reaches_over_pads=True),
        gear("BLOCKS", "head blocks", "head blocks", fits=(*DEVICES, "cot")),
        gear("DRIVER", "powered screwdriver", "screwdriver", is_charged=True, has_right_bit=True, helmets=(HELMET,)),
        gear("CUTTER", "cutting tool", "cutter", helmets=(HELMET,)),
        gear("AIRWAY", "airway kit", "airway kit"),
        gear("SUCTION", "suction", "suction"),
        gear("TUB", "cooling tub", "cooling tub"),
        Upkeep(code="U-1", gear="SCOOP", day=date(2026, 11, 10), done="used"),
        Upkeep(code="U-2", gear="SCOOP", day=date(2026, 11, 10), done="cleaned"),
        Vehicle(
            code="AMB-1",
            agency="AG-1",
            name="stand-by ambulance",
            crew=2,
            cot_rated_load=read_mass("700 lb"),
            has_loading_system=False,
            is_bariatric=False,
            cot_width=read_length("66 cm"),
            retains=DEVICES,
            left_space=read_length("60 cm"),
            right_space=read_length("60 cm"),
            head_space=read_length("60 cm"),
        ),
        Event(
            code="E-1",
            name="Herons v Otters",
            kind="game",
            day=DAY,
            start=time(19, 0),
            end=time(22, 0),
            venue="V-1",
            teams=("T-1",),
            visitors="none",
            is_wet=False,
            responders=tuple(Presence(f"R-{n}") for n in range(1, 11)),
            gear=tuple(Presence(code) for code in BROUGHT),
            vehicles=(Presence("AMB-1"),),
            pauses_play="game manager",
            rides_along="responder 10",
        ),
        PreAgreement(
            code="AGR-1",
            agency="AG-1",
            technique="device_out_on_cot",
            answer="agreed",
            protocol_edition="2026-03",
            settled_on=date(2026, 7, 15),
        ),
        *(medical_order(f"MO-{page.replace('_', '-')}", f"life_first/{page}") for page in LIFE_FIRST),
        medical_order("MO-KIT", "airway and suction"),
    )


ROLL = "log_roll_push_long_board"


def rehearsal_records() -> tuple[Record, ...]:
    """Beside the clean game: one run of an evening before it, a log roll filmed with tags and measured."""
    return (
        Run(
            code="RUN-1",
            day=date(2026, 11, 24),
            start=time(18, 40),
            is_hold=False,
            venue="V-1",
            surface="turf",
            condition="dry",
            position="prone",
            alignment="neutral",
            equipment="helmet and pads",
            device="BOARD",
            vehicle="AMB-1",
            agency="AG-1",
            stand_in="volunteer",
            stand_in_mass=read_mass("205 lb"),
            stand_in_age_group="adult",
            consent=True,
            spotters=True,
            led_by="R-1",
            lasted_s=41.25,
            timed="live",
            head_guess_deg=4.0,
            head_guess_plane="axial rotation",
        ),
        RunRole(code="RR-1", run="RUN-1", technique=ROLL, role="head", responder="R-1", effort=4),
        RunRole(code="RR-2", run="RUN-1", technique=ROLL, role="shoulders", responder="R-2", effort=6),
        RunRole(code="RR-3", run="RUN-1", role="spotter", somebody="second of the ambulance crew"),
        RunPhase(
            code="PH-1", run="RUN-1", technique="manual_in_line_stabilization", order=1, start_s=2.375, end_s=9.125
        ),
        RunPhase(code="PH-2", run="RUN-1", technique=ROLL, order=2, start_s=9.125, end_s=39.5),
        Incident(
            code="IN-1", run="RUN-1", moment_s=21.625, kind="command missed", responder="R-2", note="began on two"
        ),
        Recording(
            code="REC-1",
            run="RUN-1",
            file="run-1-left.mp4",
            kind="film with tags",
            offset_s=-2.5,
            offset_sd_s=0.05,
            taken_by="phone A, left",
        ),
        Measured(
            code="ME-1",
            run="RUN-1",
            phase="PH-2",
            quantity="start_lag_first_turn_s",
            value=0.182,
            low=0.151,
            high=0.213,
            moment_s=14.5,
            measured_as="helmet on pads",
            seen_ratio=0.94,
            recording="REC-1",
            program="0.1.0",
        ),
    )


def medical_order(code: str, about: str, **changes: Any) -> MedicalOrder:
    """An order signed before the season, without a last day."""
    return replace(MedicalOrder(code=code, about=about, signer="team physician", signed_on=date(2026, 8, 1)), **changes)


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
            helmet=HELMET,
            age_group="adult",
            survey_table="male",
            trunk_breadth=read_length("34 cm"),
            hip_breadth=read_length("39 cm"),
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
