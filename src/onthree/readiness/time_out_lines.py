"""What is read aloud at each item of the medical time-out; what nobody recorded is said to be not recorded."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from onthree.programme.programme import Programme
from onthree.programme.records import Athlete, Event, Team, Venue, VisitorAnswer
from onthree.programme.time_out import read_largest
from onthree.readiness.finding import Finding, Level
from onthree.techniques.state import TOOLS
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import in_words, sentence
from onthree.units import read_mass

_NOT_RECORDED = "not recorded: ask now"
_VISITORS = "visitors"
_IN_THE_MASS = read_mass("0 kg")
"""Visitors are asked for masses with equipment."""
_LONGEST_LIST_COUNT = 6
"""More people than this are counted, not called out one by one."""


@dataclass(frozen=True)
class Heard:
    """What the time-out is made of: event, findings, the sentence for each found position, the visitors' word."""

    engine: OptionsEngine
    findings: tuple[Finding, ...]
    sentences: Mapping[str, str]
    visitors: VisitorAnswer | None = None
    shows_sizes: bool = True
    """Whether what athletes weigh may be read by who reads this."""

    @property
    def programme(self) -> Programme:
        """What is known for the event."""
        return self.engine.programme

    @property
    def event(self) -> Event:
        """The event."""
        return self.engine.event

    @property
    def venue(self) -> Venue:
        """Its venue."""
        return self.programme.venues[self.event.venue]

    def there(self, *kinds: str) -> str:
        """The items of some kinds that are there, in words; empty where there are none."""
        found = (item for kind in kinds for item in self.engine.situation.of_kind(kind))
        return ", ".join(f"{item.gear.name}{_later(item.from_min)}{_service(item.gear.in_service)}" for item in found)

    def places(self, *kinds: str) -> str:
        """The places of some kinds at the venue, in words."""
        found = (place for place in self.programme.places.values() if place.venue == self.venue.code)
        return ", ".join(place.name for place in found if place.kind in kinds)


def people(heard: Heard) -> Iterator[str]:
    """Who is on our list."""
    by_name = [(heard.programme.responders[one.code], one.from_min) for one in heard.event.responders]
    if not by_name:
        yield f"Medical team: {_NOT_RECORDED}."
    elif len(by_name) > _LONGEST_LIST_COUNT:
        kinds: dict[str, int] = {}
        for responder, _ in by_name:
            kinds[responder.kind] = kinds.get(responder.kind, 0) + 1
        counted = ", ".join(f"{in_words(count)} {kind}{'s' if count > 1 else ''}" for kind, count in kinds.items())
        yield f"Our list has {in_words(len(by_name))}: {counted}."
    else:
        yield f"Our list: {', '.join(f'{one.name}{_later(from_min)}' for one, from_min in by_name)}."
    yield f"Others: {heard.event.others or _NOT_RECORDED}."


def calling(heard: Heard) -> Iterator[str]:
    """How one calls."""
    venue = heard.venue
    yield f"First: {venue.communication or _NOT_RECORDED}. Then: {venue.backup_communication or _NOT_RECORDED}."
    yield f"To the dispatcher: {venue.address or _NOT_RECORDED}."


def officials(heard: Heard) -> Iterator[str]:
    """Who stops play."""
    yield f"While the ambulance is away, play is stopped by: {heard.event.pauses_play or _NOT_RECORDED}."


def ambulance(heard: Heard) -> Iterator[str]:
    """The ambulances, from when, with how many."""
    if not heard.engine.situation.vehicles:
        yield "No ambulance stands by and none is named to come."
    for there in heard.engine.situation.vehicles:
        crew = f"crew of {in_words(there.vehicle.crew)}" if there.vehicle.crew else "crew not recorded"
        when = f"comes in {there.from_min} min" if there.from_min else "stands by"
        yield f"{there.vehicle.name.capitalize()} of {there.agency.name}, {crew}, {when}."
    routes = heard.places("ambulance route")
    if routes:
        yield f"Its way: {routes}."


def way(heard: Heard) -> Iterator[str]:
    """The way of the ambulance and of the cot."""
    yield f"Ambulance: {heard.venue.ambulance_access or _NOT_RECORDED}."
    gates = [gate for gate in heard.programme.gates.values() if gate.venue == heard.venue.code and gate.is_cot_way]
    for gate in gates:
        yield f"Cot through the {gate.name}; key: {gate.key_holder or _NOT_RECORDED}."
    if not gates:
        yield f"Gate of the cot: {_NOT_RECORDED}."


def hospital(heard: Heard) -> Iterator[str]:
    """Where to, and with whom."""
    receiving = heard.programme.hospitals.get(heard.venue.hospital or "")
    yield f"To: {receiving.name if receiving else _NOT_RECORDED}."
    yield f"Rides along, with the tools: {heard.event.rides_along or _NOT_RECORDED}."


def aed(heard: Heard) -> Iterator[str]:
    """Where the AED is."""
    yield f"AED: {_both(heard.there('AED'), heard.places('AED'))}."


def airway(heard: Heard) -> Iterator[str]:
    """Airway kit and suction."""
    for kind in ("airway kit", "suction"):
        yield f"{kind.capitalize()}: {heard.there(kind) or _NOT_RECORDED}."


def cooling(heard: Heard) -> Iterator[str]:
    """Where to cool, and what comes before every option."""
    if heard.engine.situation.surface != "ice":
        yield f"Cooling: {_both(heard.there('cooling tub'), heard.places('cooling'))}."
    yield "Life comes first: breathing, airway, bleeding, heat, before any option."


def found(position: str) -> Callable[[Heard], Iterator[str]]:
    """The planned option for one found position."""

    def read(heard: Heard) -> Iterator[str]:
        yield heard.sentences[position]

    return read


def equipment(heard: Heard) -> Iterator[str]:
    """The tools."""
    yield f"Tools: {heard.there(*TOOLS) or _NOT_RECORDED}."


def hands(heard: Heard) -> Iterator[str]:
    """How many there are, minute by minute."""
    there = heard.engine.situation.hands
    counts = {minute: sum(hand.from_min <= minute for hand in there) for minute in {0, *(h.from_min for h in there)}}
    said = [
        f"{in_words(count)} {f'from minute {minute}' if minute else 'at once'}"
        for minute, count in sorted(counts.items())
    ]
    yield f"With the ambulance crew: {', '.join(said)}."


def visitors(heard: Heard) -> Iterator[str]:
    """What the visiting side wrote before, in its own words."""
    answer = heard.visitors
    if heard.event.visitors == "none":
        yield "No visitors."
    elif answer is None:
        yield "They have not answered before: ask all five lines now."
    else:
        said = {
            "largest": answer.largest if heard.shows_sizes or not answer.largest else "the lead has their numbers",
            "helmets": answer.helmets,
            "leads": answer.leads,
            "reached by": answer.reach,
            "bring": answer.brings,
        }
        yield "Their own word: " + "; ".join(f"{what}: {text or 'not said'}" for what, text in said.items()) + "."
        yield from _by_their_word(heard, answer)


def _by_their_word(heard: Heard, answer: VisitorAnswer) -> Iterator[str]:
    """The planned option for the visitors named, by the masses they wrote; face masks and sizes are not known."""
    try:
        largest = read_largest(answer.largest)
    except ValueError:
        yield "Their numbers cannot be read: ask for each number and mass again."
        return
    team = Team(code=_VISITORS, name="visiting team", sport="", equipment_mass=_IN_THE_MASS)
    athletes = [Athlete(code=f"visitor {number}", team=team.code, number=number, mass=mass) for number, mass in largest]
    for position in heard.sentences if athletes else ():
        answers = [heard.engine.answer_for(athlete, team, position) for athlete in athletes]
        yield f"By it: {sentence(answers, {team.code: team})}"


def gaps(heard: Heard) -> Iterator[str]:
    """The gaps that were signed; what else must be told stands with the item itself."""
    signed = [each for each in heard.findings if each.level is Level.SIGNED and each.gap]
    for each in signed:
        yield f"Known gap, signed by {each.gap.signed_by if each.gap else ''}: {each.message}."
    if not signed:
        yield "No gap was signed."


def read_back(heard: Heard) -> Iterator[str]:
    """How the time-out ends."""
    yield "The team on scene may depart from every plan for the patient."


def _later(from_min: int) -> str:
    return f", from minute {from_min}" if from_min else ""


def _service(in_service: bool | None) -> str:
    if in_service is None:
        return " (not known whether in service)"
    return "" if in_service else " (out of service)"


def _both(brought: str, kept: str) -> str:
    parts = [f"brought: {brought}"] if brought else []
    parts += [f"kept there: {kept}"] if kept else []
    return "; ".join(parts) or _NOT_RECORDED
