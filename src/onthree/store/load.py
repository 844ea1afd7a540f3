"""Loads a programme from the store in a fixed number of queries, whatever its size."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any

from django.db.models import Max

from onthree.programme.programme import Programme, RunDay, Scope, programme_of
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
from onthree.store.connection import one_moment
from onthree.store.rows import COLUMN_NAMES, EVENT_LISTS, TABLE_OF, Codes, EventList, Values, record_from, rows

_OF_RUNS: tuple[type[Record], ...] = (RunRole, RunPhase, Incident, Recording, Measured)
"""What is recorded of a run, in the order in which references can be resolved."""

Row = tuple[int, str, Values]
"""Id, code and columns of a record's row."""

Entries = Mapping[EventList, list[Values]]
"""The rows of each list that events have."""


def load_programme(
    on: date,
    scope: Scope | None = None,
    recorded_at: datetime | None = None,
    organisation_code: str | None = None,
) -> Programme:
    """What the store knows for a date within a scope, closed under references.

    ``all`` is everything; ``venue`` the events there on or after the date and what they refer to; ``event`` one event
    and what it refers to, and the other events of its day with theirs, for people and gear are in one place only; but
    not their rosters, nor what was recorded of their people and gear; ``run`` one run of a rehearsal, what was recorded
    of it and what these refer to. With ``recorded_at`` (aware of its time zone) records are read as they stood then.
    The organisation may be left out when there is only one. Raises LookupError naming what is there when an
    organisation, venue, event or run is not, and ValueError for a time without a zone.
    """
    if recorded_at is not None and recorded_at.tzinfo is None:
        raise ValueError(
            f"recorded_at {recorded_at.isoformat()} given, a time with a zone expected: add one, such as UTC"
        )
    scope = scope or Scope()
    with one_moment():
        organisation_id, organisation = _organisation(organisation_code, recorded_at)
        records, run_days = _Reading(organisation_id, recorded_at, on, scope).read()
        return programme_of([organisation, *records], on, scope, run_days)


def has_organisation() -> bool:
    """Whether anything was ever saved."""
    return TABLE_OF[Organisation]._default_manager.exists()


def organisation_codes() -> tuple[str, ...]:
    """The codes of the organisations the store holds."""
    return tuple(TABLE_OF[Organisation]._default_manager.order_by("pk").values_list("code", flat=True))


@dataclass
class _Reading:
    """One reading of an organisation's tables."""

    organisation_id: int
    recorded_at: datetime | None
    on: date
    scope: Scope

    def read(self) -> tuple[list[Record], tuple[RunDay, ...]]:
        """Every record within the scope, references resolved to codes; and when its crews were last in a run."""
        found, entries = self._rows()
        codes = {kind.__name__: {row_id: code for row_id, code, _ in of_kind} for kind, of_kind in found.items()}
        lists = _lists_by_event(entries, codes, _ids(found[Event]))
        records = [
            record_from(kind, values, codes, **lists[row_id] if kind is Event else {})
            for kind, of_kind in found.items()
            for row_id, _, values in of_kind
        ]
        return records, tuple(self._run_days(codes))

    def _rows(self) -> tuple[Mapping[type[Record], list[Row]], Entries]:
        """The rows within the scope by kind, from the events to what they refer to; and the lists of the events."""
        events, asked_ids, venue_ids = self._events()
        entries = {a_list: self._entries(a_list, _ids(events)) for a_list in EVENT_LISTS}
        there = {a_list.name: [who_id for _, who_id, *_ in of_list] for a_list, of_list in entries.items()}
        are_asked = set(asked_ids)
        asked = {
            a_list.name: [who_id for event_id, who_id, *_ in of_list if event_id in are_asked]
            for a_list, of_list in entries.items()
        }
        runs = self._runs()
        of_runs = {kind: self._read(kind, run_id=_ids(runs)) for kind in _OF_RUNS}
        of_crews = _column(Run, "led_by_id", runs)
        of_crews += [who_id for kind in (RunRole, Incident) for who_id in _column(kind, "responder_id", of_runs[kind])]
        devices = _column(Run, "device_id", runs)
        gear = self._read(Gear, id=there["gear"] + devices)
        vehicle_ids = there["vehicles"] + there["may_leave"] + _column(Run, "vehicle_id", runs)
        vehicles = self._read(Vehicle, id=vehicle_ids)
        venue_ids += _column(Run, "venue_id", runs)
        if self.scope.kind == "run":
            run_places = self._select(Place, id__in=_column(Run, "place_id", runs))
            venue_ids += _column(Place, "venue_id", run_places)
        venue_ids += _column(Event, "venue_id", events) + _column(Gear, "place_id", gear)
        venues = self._read(Venue, id=venue_ids)
        agency_ids = _column(Vehicle, "agency_id", vehicles)
        agency_ids += _column(Run, "agency_id", runs)
        shift_ids = there["shifts"] + _column(Run, "shift_id", runs)
        agency_ids += _column(Shift, "agency_id", self._read(Shift, id=shift_ids))
        mutual_aid = self._read(MutualAid, agency_id=agency_ids)
        agency_ids += _column(MutualAid, "replacement_id", mutual_aid)
        athletes = self._read(Athlete, team_id=asked["teams"])
        found: Mapping[type[Record], list[Row]] = {
            Hospital: self._read(Hospital, id=_column(Venue, "hospital_id", venues)),
            Venue: venues,
            Place: self._read(Place, venue_id=venue_ids),
            Gate: self._read(Gate, venue_id=venue_ids),
            PlanMark: self._read(PlanMark, venue_id=venue_ids),
            Team: self._read(Team, id=there["teams"]),
            Athlete: athletes,
            Responder: self._read(Responder, id=there["responders"] + of_crews),
            Qualification: self._read(Qualification, responder_id=asked["responders"] + of_crews),
            CheckOff: self._read(CheckOff, responder_id=asked["responders"] + of_crews),
            Agency: self._read(Agency, id=agency_ids),
            Shift: self._read(Shift, agency_id=agency_ids),
            MutualAid: mutual_aid,
            Gear: gear,
            Upkeep: self._read(Upkeep, gear_id=asked["gear"] + devices),
            Vehicle: vehicles,
            Event: events,
            JerseyNumber: self._numbers_worn(asked_ids, athletes),
            Told: self._read(Told, event_id=asked_ids),
            KnownGap: [*self._gaps_of_every_event(), *self._read(KnownGap, event_id=asked_ids)],
            TimeOutAnswer: self._read(TimeOutAnswer, event_id=asked_ids),
            VisitorAnswer: self._read(VisitorAnswer, event_id=asked_ids),
            PreAgreement: self._read(PreAgreement, agency_id=agency_ids),
            MedicalOrder: self._select(MedicalOrder),
            Run: runs,
            **of_runs,
        }
        return found, entries

    def _events(self) -> tuple[list[Row], list[int], list[int]]:
        """The events within the scope, the ids of those among them that are asked for, and of the venue asked for."""
        if self.scope.kind == "all":
            events = self._read(Event)
            return events, _ids(events), []
        if self.scope.kind == "event":
            asked = self._select(Event, code=self.scope.code) or self._refuse(Event)
            return self._select(Event, day=_column(Event, "day", asked)[0]), _ids(asked), []
        if self.scope.kind == "run":
            return [], [], []
        venues = self._select(Venue, code=self.scope.code) or self._refuse(Venue)
        events = self._select(Event, venue_id=venues[0][0], day__gte=self.on)
        return events, _ids(events), _ids(venues)

    def _runs(self) -> list[Row]:
        """The runs within the scope: all of them, the one asked for, or none, for events refer to none."""
        if self.scope.kind == "run":
            return self._select(Run, code=self.scope.code) or self._refuse(Run)
        return self._select(Run) if self.scope.kind == "all" else []

    def _run_days(self, codes: Codes) -> Iterator[RunDay]:
        """When crews within the scope were last in a run, in one question; none where the runs are read themselves."""
        if self.scope.kind in ("all", "run"):
            return
        counting = rows(TABLE_OF[Run], self.recorded_at).filter(set_aside="", day__lte=self.on).exclude(is_hold=True)
        owned = counting.filter(organisation_id=self.organisation_id).exclude(agency_id=None, shift_id=None)
        for agency_id, shift_id, day in owned.order_by().values_list("agency_id", "shift_id").annotate(Max("day")):
            agency, shift = codes["Agency"].get(agency_id), codes["Shift"].get(shift_id)
            if agency or shift:
                yield RunDay(agency, shift, day)

    def _numbers_worn(self, event_ids: list[int], athletes: list[Row]) -> list[Row]:
        """The numbers worn at the events by the athletes within the scope."""
        known, place = {*_ids(athletes)}, COLUMN_NAMES[JerseyNumber].index("athlete_id")
        return [row for row in self._read(JerseyNumber, event_id=event_ids) if row[2][place] in known]

    def _gaps_of_every_event(self) -> list[Row]:
        """Signed gaps that name no event; all of them are read with the others when everything is."""
        return [] if self.scope.kind == "all" else self._select(KnownGap, event_id=None)

    def _read(self, kind: type[Record], **ids: Iterable[int]) -> list[Row]:
        """The rows of a kind that have one of the ids in the column named; every row when all are asked for."""
        if self.scope.kind == "all":
            return self._select(kind)
        return self._select(kind, **{f"{name}__in": sorted(set(of_column)) for name, of_column in ids.items()})

    def _select(self, kind: type[Record], **conditions: Any) -> list[Row]:
        """Id, code and columns of the rows that meet the conditions, in the order in which they were first saved."""
        table = rows(TABLE_OF[kind], self.recorded_at)
        found = table.filter(organisation_id=self.organisation_id, **conditions).order_by("id")
        return [(row[0], row[1], row[2:]) for row in found.values_list("id", "code", *COLUMN_NAMES[kind])]

    def _entries(self, a_list: EventList, event_ids: list[int]) -> list[Values]:
        """The rows of one of the lists of events, each list in its order."""
        within = {} if self.scope.kind == "all" else {"event_id__in": event_ids}
        table = rows(a_list.table, self.recorded_at).filter(organisation_id=self.organisation_id, **within)
        return list(table.order_by("event_id", "place").values_list(*a_list.column_names))

    def _refuse(self, kind: type[Record]) -> list[Row]:
        """Raises LookupError that names the nearest codes of the kind."""
        known = [code for _, code, _ in self._select(kind)]
        raise LookupError(
            f"no {kind.__name__.lower()} has the code {self.scope.code!r}: {_nearest(self.scope.code, known)}"
        )


def _lists_by_event(
    entries: Entries, codes: Codes, event_ids: list[int]
) -> Mapping[int, Mapping[str, tuple[Any, ...]]]:
    """The lists of each event, empty ones too, by event id and name of the list."""
    by_event: dict[int, dict[str, tuple[Any, ...]]] = {
        event_id: {a_list.name: () for a_list in EVENT_LISTS} for event_id in event_ids
    }
    for a_list, of_list in entries.items():
        for event_id, who_id, _, *from_min in of_list:
            by_event[event_id][a_list.name] += (a_list.entry(codes[a_list.refers_to][who_id], *from_min),)
    return by_event


def _organisation(code: str | None, recorded_at: datetime | None) -> tuple[int, Record]:
    found = rows(TABLE_OF[Organisation], recorded_at).order_by("id")
    listed = list(found.values_list("id", *COLUMN_NAMES[Organisation]))
    asked = [row for row in listed if code in (None, row[1])]
    if len(asked) == 1:
        return asked[0][0], record_from(Organisation, asked[0][1:], {})
    if not listed:
        then = f" at {recorded_at.isoformat()}" if recorded_at else ""
        raise LookupError(f"the store is empty{then}: import a workbook first")
    known = [row[1] for row in listed]
    if code is None:
        raise LookupError(f"the store holds several organisations: say which one of {', '.join(known)}")
    raise LookupError(f"no organisation has the code {code!r}: {_nearest(code, known)}")


def _nearest(code: str, known: list[str]) -> str:
    by_lower = {each.lower(): each for each in known}
    near = [by_lower[each] for each in get_close_matches(code.lower(), by_lower, n=3, cutoff=0.5)]
    if near:
        return f"did you mean {', '.join(near)}?"
    more = " and others" if len(known) > 10 else ""
    return f"known are {', '.join(known[:10])}{more}" if known else "there are none yet"


def _ids(found: list[Row]) -> list[int]:
    return [row_id for row_id, _, _ in found]


def _column(kind: type[Record], name: str, found: list[Row]) -> list[int]:
    place = COLUMN_NAMES[kind].index(name)
    return [values[place] for _, _, values in found if values[place] is not None]
