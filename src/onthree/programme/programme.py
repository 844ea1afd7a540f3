"""A programme: what is known on a date, within a scope, closed under references."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import Literal, NamedTuple, TypeVar

from onthree.programme.fields import Kind, fields_of
from onthree.programme.records import (
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

R = TypeVar("R", bound=Record)
Table = Mapping[str, R]


@dataclass(frozen=True)
class Scope:
    """How much of a programme is loaded: one event, everything at one venue, one run, or all."""

    kind: Literal["event", "venue", "run", "all"] = "all"
    code: str = ""


class RunDay(NamedTuple):
    """The last day on which an agency, or one of its shifts, was in a run in which it rehearsed; by code."""

    agency: str | None
    shift: str | None
    day: date


@dataclass(frozen=True)
class Programme:
    """What is known on a date. Tables map a record's code to the record and hold everything their records refer to."""

    on: date
    scope: Scope
    organisation: Organisation
    hospitals: Table[Hospital] = field(default_factory=dict)
    venues: Table[Venue] = field(default_factory=dict)
    places: Table[Place] = field(default_factory=dict)
    gates: Table[Gate] = field(default_factory=dict)
    plan_marks: Table[PlanMark] = field(default_factory=dict)
    teams: Table[Team] = field(default_factory=dict)
    athletes: Table[Athlete] = field(default_factory=dict)
    responders: Table[Responder] = field(default_factory=dict)
    qualifications: Table[Qualification] = field(default_factory=dict)
    check_offs: Table[CheckOff] = field(default_factory=dict)
    agencies: Table[Agency] = field(default_factory=dict)
    shifts: Table[Shift] = field(default_factory=dict)
    mutual_aid: Table[MutualAid] = field(default_factory=dict)
    gear: Table[Gear] = field(default_factory=dict)
    upkeep: Table[Upkeep] = field(default_factory=dict)
    vehicles: Table[Vehicle] = field(default_factory=dict)
    events: Table[Event] = field(default_factory=dict)
    jersey_numbers: Table[JerseyNumber] = field(default_factory=dict)
    told: Table[Told] = field(default_factory=dict)
    known_gaps: Table[KnownGap] = field(default_factory=dict)
    time_out_answers: Table[TimeOutAnswer] = field(default_factory=dict)
    visitor_answers: Table[VisitorAnswer] = field(default_factory=dict)
    agreements: Table[PreAgreement] = field(default_factory=dict)
    medical_orders: Table[MedicalOrder] = field(default_factory=dict)
    runs: Table[Run] = field(default_factory=dict)
    run_roles: Table[RunRole] = field(default_factory=dict)
    run_phases: Table[RunPhase] = field(default_factory=dict)
    incidents: Table[Incident] = field(default_factory=dict)
    recordings: Table[Recording] = field(default_factory=dict)
    measured: Table[Measured] = field(default_factory=dict)
    run_days: tuple[RunDay, ...] = ()
    """In place of the runs, where an event or a venue is loaded, which refers to none."""

    def table(self, record_type: type[Record]) -> Table[Record]:
        """The records of one kind by code."""
        if record_type is Organisation:
            return {self.organisation.code: self.organisation}
        found: Table[Record] = getattr(self, TABLES[record_type])
        return found

    def codes(self, record_type: type[Record]) -> Collection[str]:
        """The codes of one kind."""
        return self.table(record_type).keys()

    def records(self) -> Iterator[Record]:
        """Every record, kinds in the order in which references can be resolved."""
        yield self.organisation
        for name in TABLES.values():
            yield from getattr(self, name).values()

    def coming_events(self) -> tuple[Event, ...]:
        """Events on or after the programme's date, soonest first."""
        coming = [event for event in self.events.values() if event.day >= self.on]
        return tuple(sorted(coming, key=lambda event: (event.day, str(event.start or ""), event.code)))

    def roster(self, event: Event) -> tuple[Athlete, ...]:
        """The athletes of an event's teams, by team and the jersey number they wear there."""
        worn = {one.athlete: one.number for one in self.jersey_numbers.values() if one.event == event.code}
        playing = [
            replace(athlete, number=worn[athlete.code]) if athlete.code in worn else athlete
            for athlete in self.athletes.values()
            if athlete.team in event.teams
        ]
        order = {team: place for place, team in enumerate(event.teams)}
        return tuple(sorted(playing, key=lambda who: (order[who.team], who.number is None, who.number or 0, who.code)))


TABLES: Mapping[type[Record], str] = MappingProxyType(
    {
        Hospital: "hospitals",
        Venue: "venues",
        Place: "places",
        Gate: "gates",
        PlanMark: "plan_marks",
        Team: "teams",
        Athlete: "athletes",
        Responder: "responders",
        Qualification: "qualifications",
        CheckOff: "check_offs",
        Agency: "agencies",
        Shift: "shifts",
        MutualAid: "mutual_aid",
        Gear: "gear",
        Upkeep: "upkeep",
        Vehicle: "vehicles",
        Event: "events",
        JerseyNumber: "jersey_numbers",
        Told: "told",
        KnownGap: "known_gaps",
        TimeOutAnswer: "time_out_answers",
        VisitorAnswer: "visitor_answers",
        PreAgreement: "agreements",
        MedicalOrder: "medical_orders",
        Run: "runs",
        RunRole: "run_roles",
        RunPhase: "run_phases",
        Incident: "incidents",
        Recording: "recordings",
        Measured: "measured",
    }
)
"""Kind of record to the attribute of Programme that holds it."""


@dataclass(frozen=True)
class MissingReference:
    """A record that refers to a code nobody has."""

    record: Record
    field: str
    refers_to: str
    code: str


def programme_of(
    records: Iterable[Record], on: date, scope: Scope | None = None, run_days: tuple[RunDay, ...] = ()
) -> Programme:
    """A programme from loose records, exactly one Organisation among them. Raises ValueError without one."""
    organisations: list[Organisation] = []
    tables: dict[str, dict[str, Record]] = {name: {} for name in TABLES.values()}
    for record in records:
        if isinstance(record, Organisation):
            organisations.append(record)
        else:
            tables[TABLES[type(record)]][record.code] = record
    if len(organisations) != 1:
        raise ValueError(f"{len(organisations)} organisations given, one expected")
    programme = Programme(on, scope or Scope(), organisations[0], run_days=run_days)
    return replace(programme, **tables)  # type: ignore[arg-type]


def references_of(record: Record) -> Iterator[tuple[str, str, str]]:
    """Every reference a record makes, as (field name, name of the kind referred to, code)."""
    for described in fields_of(type(record)):
        value = getattr(record, described.name)
        if described.kind is Kind.REFERENCE and value is not None:
            yield described.name, described.refers_to, value
        elif described.kind is Kind.REFERENCES:
            yield from ((described.name, described.refers_to, code) for code in value)
        elif described.kind is Kind.PRESENCES:
            yield from ((described.name, described.refers_to, presence.code) for presence in value)


def missing_references(programme: Programme) -> tuple[MissingReference, ...]:
    """References to codes the programme does not hold; empty when it is closed."""
    known = {kind.__name__: set(programme.table(kind)) for kind in TABLES}
    return tuple(
        MissingReference(record, name, refers_to, code)
        for record in programme.records()
        for name, refers_to, code in references_of(record)
        if code not in known[refers_to]
    )
