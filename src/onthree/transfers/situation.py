"""What is really there at an event: people, gear, vehicles, place, agreements; from which minute after the call."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from onthree.programme.presence import HandsGroup
from onthree.programme.programme import Programme
from onthree.programme.records import Agency, Event, Gear, MedicalOrder, PreAgreement, Responder, Vehicle
from onthree.sources import parameter
from onthree.techniques.state import SKILLS
from onthree.transfers.hands import Hand

# Trained operators (common practice, no source): a crew can always work its own cot.
_CREW_ALWAYS = "cot"


@dataclass(frozen=True)
class GearThere:
    """One item at the event, from a minute after the call [min]."""

    gear: Gear
    from_min: int


@dataclass(frozen=True)
class VehicleThere:
    """One ambulance with its agency, from a minute after the call [min]; 0 is on stand-by."""

    vehicle: Vehicle
    agency: Agency
    from_min: int


@dataclass(frozen=True)
class Situation:
    """An event as the options engine sees it. Agreements map (agency code, technique id) to the valid answer."""

    hands: tuple[Hand, ...]
    gear: tuple[GearThere, ...]
    vehicles: tuple[VehicleThere, ...]
    surface: str | None
    agreements: Mapping[tuple[str, str], str]
    required: tuple[tuple[str, str], ...] = ()
    """Which agency (code) requires which way of arriving."""
    way: str | None = None
    """The hardest part of the way of the cot; None where nobody recorded it."""
    orders: frozenset[str] = frozenset()
    """What medical direction signed and holds on the day, such as the id of a technique."""

    def of_kind(self, kind: str) -> tuple[GearThere, ...]:
        """The items of one kind, first those that are there first."""
        return tuple(
            sorted((item for item in self.gear if item.gear.kind == kind), key=lambda it: (it.from_min, it.gear.code))
        )

    def answer(self, agency: str, technique_id: str) -> str | None:
        """What the agency answered about a technique, None where nothing valid was settled."""
        return self.agreements.get((agency, technique_id))


def situation_of(programme: Programme, event: Event) -> Situation:
    """The situation at an event of the programme."""
    vehicles = tuple(
        VehicleThere(vehicle, programme.agencies[vehicle.agency], presence.from_min)
        for presence in event.vehicles
        for vehicle in (programme.vehicles[presence.code],)
    )
    current = _current_skills(programme, event.day)
    responders = tuple(
        _hand(
            programme.responders[there.code], there.from_min, current.get(there.code, frozenset()) if current else None
        )
        for there in event.responders
    )
    venue = programme.venues[event.venue]
    rows = agreements_at(programme, event)
    coming = {there.agency.code for there in vehicles}
    return Situation(
        hands=(*responders, *(hand for there in vehicles for hand in _crew_of(there, event.day, programme.on))),
        gear=tuple(GearThere(programme.gear[there.code], there.from_min) for there in event.gear),
        vehicles=vehicles,
        surface=venue.surface,
        agreements=_strictest(rows),
        required=tuple(
            (row.agency, row.technique) for row in rows if row.answer == "required" and row.agency in coming
        ),
        way=venue.cot_way,
        orders=frozenset(order.about for order in programme.medical_orders.values() if holds(order, event.day)),
    )


def with_hands(situation: Situation, groups: tuple[HandsGroup, ...]) -> Situation:
    """The same event with other hands: unnamed people taken as trained, fit and rehearsed; ambulance crews stay."""
    unnamed = tuple(
        Hand(
            f"hand {number}@{group.from_min}min",
            frozenset(SKILLS),
            is_recorded=True,
            is_lay=False,
            is_fit=True,
            from_min=group.from_min,
            current_in=frozenset(SKILLS),
        )
        for group in groups
        for number in range(1, group.people + 1)
    )
    crews = tuple(hand for hand in situation.hands if hand.vehicle)
    return replace(situation, hands=(*unnamed, *crews))


def without(situation: Situation, codes: Collection[str]) -> Situation:
    """The same event without some people, items or ambulances by code; the crew of an ambulance goes with it."""
    return replace(
        situation,
        hands=tuple(hand for hand in situation.hands if hand.code not in codes and hand.vehicle not in codes),
        gear=tuple(there for there in situation.gear if there.gear.code not in codes),
        vehicles=tuple(there for there in situation.vehicles if there.vehicle.code not in codes),
    )


def with_unit(situation: Situation, unit: VehicleThere, day: date, on: date) -> Situation:
    """The same event with one more ambulance and its crew."""
    crew = _crew_of(unit, day, on)
    return replace(situation, vehicles=(*situation.vehicles, unit), hands=(*situation.hands, *crew))


def on_surface(situation: Situation, surface: str | None) -> Situation:
    """The same event on another surface or in another condition of it."""
    return replace(situation, surface=surface)


def agreements_at(programme: Programme, event: Event) -> tuple[PreAgreement, ...]:
    """The rows that hold at an event: valid on its day, and of the shift on duty.

    Where the event names no shift of an agency, a row of one of its shifts counts only if it refuses or requires.
    """
    on_duty = {programme.shifts[code].agency for code in event.shifts}
    return tuple(
        row
        for row in programme.agreements.values()
        if is_valid(row, event.day)
        and (
            row.shift is None
            or row.shift in event.shifts
            or (row.agency not in on_duty and row.answer in ("refused", "required"))
        )
    )


def _strictest(rows: Iterable[PreAgreement]) -> Mapping[tuple[str, str], str]:
    """The answer of each agency about each technique; of several rows the strictest counts."""
    strictest = {"agreed": 0, "undecided": 1, "refused": 2}
    answers: dict[tuple[str, str], str] = {}
    for row in rows:
        key = (row.agency, row.technique)
        if row.answer in strictest and strictest[row.answer] >= strictest[answers.get(key, "agreed")]:
            answers[key] = row.answer
    return answers


def holds(order: MedicalOrder, day: date) -> bool:
    """Whether something medical direction signed holds on a day."""
    return order.signed_on <= day and (order.until is None or day <= order.until)


def is_valid(agreement: PreAgreement, day: date) -> bool:
    """Whether an answer was settled by a day and had not run out; a date left blank sets no bound."""
    settled, until = agreement.settled_on, agreement.valid_until
    return (settled is None or settled <= day) and (until is None or day <= until)


def _current_skills(programme: Programme, day: date) -> Mapping[str, frozenset[str]]:
    """The skills each responder was checked off in and which still count on a day; empty if nobody ever was.

    A check-off still to come on the day of the programme was not done yet.
    """
    interval = timedelta(days=parameter("check_off_interval_days", day).value)
    current: dict[str, set[str]] = {}
    for one in programme.check_offs.values():
        skills = current.setdefault(one.responder, set())
        if one.done_on <= min(programme.on, day) and day <= one.done_on + interval:
            skills.add(one.skill)
    return {code: frozenset(skills) for code, skills in current.items()}


def _hand(responder: Responder, from_min: int, current_in: frozenset[str] | None) -> Hand:
    return Hand(
        responder.code,
        skills=frozenset(responder.skills),
        is_recorded=bool(responder.skills),
        is_lay=responder.kind == "lay helper",
        is_fit=responder.fit_to_lift,
        from_min=from_min,
        current_in=current_in,
    )


def _crew_of(there: VehicleThere, day: date, on: date) -> tuple[Hand, ...]:
    recorded = there.vehicle.crew
    crew = parameter("ambulance_crew_count", day).value if recorded is None else recorded
    skills = frozenset({*there.agency.skills, _CREW_ALWAYS})
    rehearsed = there.agency.rehearsed_on
    interval = timedelta(days=parameter("rehearsal_interval_days", day).value)
    is_current = rehearsed is not None and rehearsed <= min(on, day) and day <= rehearsed + interval
    return tuple(
        Hand(
            f"{there.vehicle.code} crew {number}",
            skills=skills,
            is_recorded=bool(there.agency.skills),
            is_lay=False,
            is_fit=True,
            from_min=there.from_min,
            vehicle=there.vehicle.code,
            is_certain=recorded is not None,
            current_in=skills if is_current else frozenset({_CREW_ALWAYS}),
        )
        for number in range(1, crew + 1)
    )
