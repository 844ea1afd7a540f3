"""Opens the store and works out the answer for one event: what every screen, command and print starts from."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches

from onthree.programme.presence import read_hands, read_presence
from onthree.programme.programme import Programme, Scope
from onthree.programme.records import Athlete, Event, Team, Vehicle
from onthree.readiness.finding import Finding
from onthree.readiness.rules import findings
from onthree.techniques.library import bundled_library
from onthree.techniques.state import ALIGNMENTS, FOUND_PLACES, FOUND_POSITIONS, POSITIONS, SURFACES
from onthree.transfers.goals import ARRIVALS, Goal, read_goal
from onthree.transfers.options import AthleteAnswer, OptionsEngine, engine_for
from onthree.transfers.sentence import sentence
from onthree.transfers.situation import (
    Situation,
    VehicleThere,
    on_surface,
    situation_of,
    with_hands,
    with_unit,
    without,
)

NEXT = "next"


class NotFoundError(LookupError):
    """Something asked for by code or number that the store does not hold; the message says what to do."""


@dataclass(frozen=True)
class WhatIf:
    """Changes to an event as planned: another surface, other hands (``3,+2@8min``), another goal.

    ``position`` is one more found position to answer; ``alignment`` how the head is found: neutral unless given;
    ``place`` where the athlete lies: on the ground, or against an obstacle such as boards or a fence. ``without`` are
    codes of people, items and ambulances that are not there after all; ``unit`` an ambulance that comes besides, by its
    code or by that of its agency, of which nothing more is known then: ``AG-2@15min``.
    """

    surface: str | None = None
    hands: str | None = None
    goal: str | None = None
    position: str | None = None
    alignment: str | None = None
    place: str | None = None
    without: tuple[str, ...] = ()
    unit: str | None = None


@dataclass(frozen=True)
class EventAnswer:
    """The answer for one event: findings, the sentence for each found position, and the engine for more."""

    engine: OptionsEngine
    goal: Goal
    findings: tuple[Finding, ...]
    answers: Mapping[str, tuple[AthleteAnswer, ...]]
    sentences: Mapping[str, str]

    @property
    def programme(self) -> Programme:
        """What is known for this event."""
        return self.engine.programme

    @property
    def event(self) -> Event:
        """The event."""
        return self.engine.event

    @property
    def teams(self) -> Mapping[str, Team]:
        """The event's teams by code."""
        return {code: self.programme.teams[code] for code in self.event.teams}

    @property
    def has_something_to_tell(self) -> bool:
        """Whether anything must be told, fixed or found out before the start, by a rule or by an athlete's answer."""
        return self.without_a_clear_option > 0 or any(finding.is_open for finding in self.findings)

    @property
    def without_a_clear_option(self) -> int:
        """Athletes whose answer, in either found position, is anything but possible from the start."""
        unclear = (one.athlete.code for found in self.answers.values() for one in found if one.status != "possible")
        return len(set(unclear))


def answer_event(event_code: str, on: date, what_if: WhatIf | None = None) -> EventAnswer:
    """The answer for an event by code, or for the next one on or after a date.

    Raises NotFoundError for an unknown event, surface or goal, PresenceError for hands that cannot be read.
    """
    programme, event = event_programme(event_code, on)
    return answer_for(programme, event, what_if or WhatIf())


def answer_for(programme: Programme, event: Event, what_if: WhatIf) -> EventAnswer:
    """The answer for an event of a loaded programme."""
    engine, goal = _changed_engine(programme, event, what_if)
    alignment = _one_of("alignment", (what_if.alignment or "neutral").replace("-", " "), ALIGNMENTS)
    place = _one_of("place", what_if.place or FOUND_PLACES[0], FOUND_PLACES)
    more = _one_of("position", what_if.position, POSITIONS) if what_if.position else FOUND_POSITIONS[0]
    answers = {
        position: tuple(engine.answer(one, position, goal, alignment, place) for one in programme.roster(event))
        for position in dict.fromkeys((*FOUND_POSITIONS, more))
    }
    teams = {code: programme.teams[code] for code in event.teams}
    sentences = {position: sentence(answers[position], teams) for position in FOUND_POSITIONS}
    return EventAnswer(engine, goal, findings(engine), answers, sentences)


def event_programme(event_code: str, on: date, organisation_code: str | None = None) -> tuple[Programme, Event]:
    """The programme within the scope of one event, and the event. Raises NotFoundError.

    The organisation may be left out when there is only one.
    """
    from onthree.store.load import load_programme

    if event_code == NEXT:
        coming = load_programme(on, Scope("all"), organisation_code=organisation_code).coming_events()
        if not coming:
            raise NotFoundError(f"no event on or after {on.isoformat()}: name an event, or another day with --on")
        event_code = coming[0].code
    try:
        programme = load_programme(on, Scope("event", event_code), organisation_code=organisation_code)
    except LookupError as error:
        raise NotFoundError(str(error).strip("'\"")) from None
    return programme, programme.events[event_code]


def athlete_at(answer: EventAnswer, called: str) -> Athlete:
    """The athlete of the event with this code or jersey number. Raises NotFoundError, also for a number worn twice."""
    roster = answer.programme.roster(answer.event)
    found = [athlete for athlete in roster if called in (athlete.code, str(athlete.number))]
    if len(found) == 1:
        return found[0]
    if found:
        raise NotFoundError(f"{called} is worn by {', '.join(athlete.code for athlete in found)}: give the code")
    near = get_close_matches(called, [athlete.code for athlete in roster], 3)
    hint = f"did you mean {', '.join(near)}?" if near else "give a code or jersey number of the event's rosters"
    raise NotFoundError(f"athlete {called!r} is not at {answer.event.code}: {hint}")


def answers_of(answer: EventAnswer, athlete: Athlete) -> tuple[AthleteAnswer, ...]:
    """The athlete's answer for each found position."""
    return tuple(
        found for answers in answer.answers.values() for found in answers if found.athlete.code == athlete.code
    )


def _changed_engine(programme: Programme, event: Event, what_if: WhatIf) -> tuple[OptionsEngine, Goal]:
    situation = situation_of(programme, event)
    if what_if.surface:
        situation = on_surface(situation, _one_of("surface", what_if.surface.replace("-", " "), SURFACES))
    if what_if.hands:
        situation = with_hands(situation, read_hands(what_if.hands))
    if what_if.without:
        situation = without(situation, _there(event, what_if.without))
    if what_if.unit:
        situation = with_unit(situation, _unit(programme, situation, what_if.unit), event.day, programme.on)
    engine = engine_for(programme, event, bundled_library(), situation)
    return engine, _goal(what_if.goal) if what_if.goal else engine.goal


def _there(event: Event, codes: tuple[str, ...]) -> tuple[str, ...]:
    there = [one.code for one in (*event.responders, *event.gear, *event.vehicles)]
    for code in codes:
        _one_of("without", code, tuple(there))
    return codes


def _unit(programme: Programme, situation: Situation, text: str) -> VehicleThere:
    """A known ambulance that is not there yet, or one of an agency of which nothing else is known."""
    asked = read_presence(text)
    there = {one.vehicle.code for one in situation.vehicles}
    free = [code for code in programme.vehicles if code not in there]
    _one_of("unit", asked.code, (*free, *programme.agencies))
    if asked.code in programme.vehicles:
        vehicle = programme.vehicles[asked.code]
    else:
        name = f"other unit of {programme.agencies[asked.code].name}"
        vehicle = Vehicle(code=f"unit-{asked.code}", agency=asked.code, name=name)
    return VehicleThere(vehicle, programme.agencies[vehicle.agency], asked.from_min)


def _goal(text: str) -> Goal:
    try:
        return read_goal(text)
    except KeyError:
        known = ", ".join(word.replace(" ", "-") for word in ARRIVALS)
        raise NotFoundError(f"goal {text!r} given, expected one of these, joined by +: {known}") from None


def _one_of(what: str, given: str, known: tuple[str, ...]) -> str:
    if given not in known:
        raise NotFoundError(f"{what} {given!r} given, expected one of: {', '.join(known)}")
    return given


def technique_called(text: str) -> str:
    """The identifier of a technique as typed, with blanks or hyphens for underscores. Raises NotFoundError."""
    technique_id = text.strip().lower().replace(" ", "_").replace("-", "_")
    library = bundled_library()
    known = [technique.id for technique in library.moves]
    if technique_id in known:
        return technique_id
    if technique_id in library.by_id:
        what = "done around every handling" if library[technique_id].accompanies else "shown only under local protocol"
        raise NotFoundError(f"technique {text!r} given: it is {what}, and no option has it")
    near = get_close_matches(technique_id, known, 3)
    raise NotFoundError(
        f"technique {text!r} given: "
        + (f"did you mean {', '.join(near)}?" if near else f"known are {', '.join(known)}")
    )
