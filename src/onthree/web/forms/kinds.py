"""How the pages name and arrange the kinds of records: addresses, groups, columns, what stands beside a code."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from onthree.actions.records import SHEET_OF
from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.records import (
    RECORD_TYPES,
    Agency,
    Athlete,
    CheckOff,
    Event,
    Gate,
    Gear,
    Hospital,
    Incident,
    JerseyNumber,
    KnownGap,
    Measured,
    MedicalOrder,
    MutualAid,
    Organisation,
    Place,
    PlanMark,
    PreAgreement,
    Qualification,
    Record,
    Recording,
    Responder,
    Run,
    RunPhase,
    RunRole,
    Shift,
    Team,
    TimeOutAnswer,
    Told,
    Upkeep,
    Vehicle,
    Venue,
    VisitorAnswer,
)

GROUPS: Mapping[str, tuple[type[Record], ...]] = MappingProxyType(
    {
        "Where": (Organisation, Venue, Place, Gate, PlanMark, Hospital),
        "Teams and the medical team": (Team, Athlete, Responder, Qualification, CheckOff),
        "Ambulance": (Agency, Shift, Vehicle, PreAgreement, MedicalOrder, MutualAid),
        "Gear": (Gear, Upkeep),
        "Events": (Event, JerseyNumber, Told, KnownGap, TimeOutAnswer, VisitorAnswer),
        "Rehearsals": (Run, RunRole, RunPhase, Incident, Recording, Measured),
    }
)
"""Every kind, in the order in which the page of all records shows them."""

KIND_AT: Mapping[str, type[Record]] = MappingProxyType(
    {title.lower().replace(" ", "-"): kind for kind, title in SHEET_OF.items()}
)
"""What stands in the address to the kind."""

ADDRESS_OF: Mapping[type[Record], str] = MappingProxyType({kind: slug for slug, kind in KIND_AT.items()})
"""Kind to what stands in the address."""

KIND_NAMED: Mapping[str, type[Record]] = MappingProxyType({kind.__name__: kind for kind in RECORD_TYPES})
"""Name of a kind, as references have it, to the kind."""

SINGULAR: Mapping[type[Record], str] = MappingProxyType(
    {
        Organisation: "organisation", Hospital: "hospital", Venue: "venue", Place: "place", Gate: "gate",
        PlanMark: "mark on a plan",
        Team: "team", Athlete: "athlete", Responder: "responder", Qualification: "qualification",
        CheckOff: "check-off", Agency: "agency", Shift: "shift", MutualAid: "mutual aid", Gear: "item of gear",
        Upkeep: "upkeep entry", Vehicle: "vehicle", Event: "event", JerseyNumber: "jersey number",
        Told: "what was told", KnownGap: "known gap", PreAgreement: "agreement", MedicalOrder: "medical order",
        Run: "run", RunRole: "role in a run", RunPhase: "phase of a run", Incident: "incident",
        Recording: "recording", Measured: "measured value", TimeOutAnswer: "answer at a time-out",
        VisitorAnswer: "answer of visitors",
    }
)  # fmt: skip
"""What one record of a kind is called."""

_LISTED: Mapping[type[Record], tuple[str, ...]] = {
    Athlete: ("team", "number", "plays", "mass", "padded_shoulder_breadth", "face_mask"),
    Event: ("name", "day", "start", "venue", "teams"),
    Gear: ("name", "kind", "place", "rated_load", "condition", "in_service"),
    Upkeep: ("gear", "day", "done", "by", "note"),
    Venue: ("name", "surface", "ambulance_access", "hospital"),
    Vehicle: ("name", "agency", "crew", "cot_rated_load", "is_bariatric"),
    Hospital: ("name", "capabilities", "agreed_on"),
}
_ORDER: Mapping[type[Record], tuple[str, ...]] = {
    Athlete: ("team", "number"),
    Event: ("-day", "start"),
    Gear: ("place", "kind"),
    Upkeep: ("-day",),
    Told: ("-day", "-at"),
    TimeOutAnswer: ("-day", "-at"),
    RunPhase: ("run", "order"),
}
_USUAL_COLUMNS = 5
_BELONGS_TO = (Team, Venue, Agency, Event, Gear, Responder, Run, Athlete)
_BESIDE_CODE: Mapping[type[Record], tuple[str, ...]] = {Athlete: ("team", "number"), Event: ("name", "day")}
_PERSONS = (Athlete, Responder)


def listed_fields(kind: type[Record]) -> tuple[FieldDescription, ...]:
    """The columns of a list, beside the code."""
    fields = fields_of(kind)
    names = _LISTED.get(kind, tuple(field.name for field in fields[1 : _USUAL_COLUMNS + 1]))
    return tuple(field for name in names for field in fields if field.name == name)


def order_of(kind: type[Record]) -> tuple[str, ...]:
    """The fields by which a list is ordered before the code; a hyphen turns the order round."""
    return _ORDER.get(kind, ())


def beside_code(kind: type[Record]) -> tuple[str, ...]:
    """The fields that say in a few words which record a code is."""
    return _BESIDE_CODE.get(kind, tuple(field.name for field in fields_of(kind) if field.name == "name"))


def belonging(kind: type[Record]) -> tuple[FieldDescription, ...]:
    """The references by which a list can be narrowed: what its records belong to."""
    kinds = {each.__name__ for each in _BELONGS_TO}
    return tuple(field for field in fields_of(kind) if field.refers_to in kinds)


def referring_to(kind: type[Record]) -> Iterator[tuple[type[Record], FieldDescription]]:
    """Every kind and field that refers to records of this kind, in the order of the groups."""
    for other in (each for group in GROUPS.values() for each in group):
        for field in fields_of(other):
            if field.refers_to == kind.__name__ and field.kind is not Kind.WORDS:
                yield other, field


def is_size(kind: type[Record], field: FieldDescription) -> bool:
    """Whether a field says what a person weighs or measures: not every role sees it."""
    return kind in _PERSONS and field.kind in (Kind.MASS, Kind.LENGTH)
