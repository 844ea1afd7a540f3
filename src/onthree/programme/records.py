"""Every kind of record of a programme, and its sheet of the workbook; a table of the store for each."""

from collections.abc import Mapping
from types import MappingProxyType

from onthree.programme.equipment import Agency, Gear, MutualAid, Shift, Upkeep, Vehicle
from onthree.programme.events import Event, JerseyNumber, KnownGap, MedicalOrder, PreAgreement, Told
from onthree.programme.people import Athlete, CheckOff, Qualification, Responder, Team
from onthree.programme.places import Gate, Hospital, Organisation, Place, PlanMark, Venue
from onthree.programme.rehearsals import Incident, Measured, Recording, Run, RunPhase, RunRole
from onthree.programme.time_out import TimeOutAnswer, VisitorAnswer

__all__ = [
    "RECORD_TYPES",
    "SHEETS",
    "Agency",
    "Athlete",
    "CheckOff",
    "Event",
    "Gate",
    "Gear",
    "Hospital",
    "Incident",
    "JerseyNumber",
    "KnownGap",
    "Measured",
    "MedicalOrder",
    "MutualAid",
    "Organisation",
    "Place",
    "PlanMark",
    "PreAgreement",
    "Qualification",
    "Record",
    "Recording",
    "Responder",
    "Run",
    "RunPhase",
    "RunRole",
    "Shift",
    "Team",
    "TimeOutAnswer",
    "Told",
    "Upkeep",
    "Vehicle",
    "Venue",
    "VisitorAnswer",
]

Record = (
    Organisation
    | Hospital
    | Venue
    | Place
    | Gate
    | PlanMark
    | Team
    | Athlete
    | Responder
    | Qualification
    | CheckOff
    | Agency
    | Shift
    | MutualAid
    | Gear
    | Upkeep
    | Vehicle
    | Event
    | JerseyNumber
    | Told
    | KnownGap
    | TimeOutAnswer
    | VisitorAnswer
    | PreAgreement
    | MedicalOrder
    | Run
    | RunRole
    | RunPhase
    | Incident
    | Recording
    | Measured
)
"""Any record; each has a ``code`` that is unique within its kind."""

SHEETS: Mapping[str, type[Record]] = MappingProxyType(
    {
        "Organisation": Organisation,
        "Hospitals": Hospital,
        "Venues": Venue,
        "Places": Place,
        "Gates": Gate,
        "Plan marks": PlanMark,
        "Teams": Team,
        "Athletes": Athlete,
        "Responders": Responder,
        "Qualifications": Qualification,
        "Check-offs": CheckOff,
        "Agencies": Agency,
        "Shifts": Shift,
        "Mutual aid": MutualAid,
        "Gear": Gear,
        "Upkeep": Upkeep,
        "Vehicles": Vehicle,
        "Events": Event,
        "Jersey numbers": JerseyNumber,
        "Told": Told,
        "Known gaps": KnownGap,
        "Time-out answers": TimeOutAnswer,
        "Visitor answers": VisitorAnswer,
        "Agreements": PreAgreement,
        "Medical orders": MedicalOrder,
        "Runs": Run,
        "Run roles": RunRole,
        "Run phases": RunPhase,
        "Incidents": Incident,
        "Recordings": Recording,
        "Measured": Measured,
    }
)
"""Sheet title to record kind, in the order of the workbook, in which references can be resolved."""

RECORD_TYPES: tuple[type[Record], ...] = tuple(SHEETS.values())
"""Every kind of record, in the same order."""
