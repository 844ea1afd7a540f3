"""Causes: everything that can close a technique, each with a verdict, one sentence, and who can fix it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from itertools import product
from typing import NamedTuple

from onthree.loads.chain import ChainResult, LoadPart, cot_chain, device_chain, most_kg
from onthree.programme.records import Gear, Vehicle
from onthree.sources import ParameterValue
from onthree.techniques.state import CARRYING_DEVICES, spoken
from onthree.techniques.technique import FixableBy, Need
from onthree.techniques.verdict import Verdict
from onthree.transfers.catalogue import Step
from onthree.transfers.hands import Crew, crew_for, roles_of
from onthree.transfers.situation import GearThere, Situation, VehicleThere
from onthree.units import read_mass

NEVER_MIN = 10_000


@dataclass(frozen=True)
class Cause:
    """One check of one technique: verdict, the minute from which it holds [min], why, and who can fix it."""

    id: str
    verdict: Verdict
    from_min: int
    sentence: str
    do: str
    fixable_by: FixableBy


@dataclass(frozen=True)
class Items:
    """The carrying devices an option uses, by kind, and the ambulance; None where the event has none."""

    devices: Mapping[str, GearThere | None]
    vehicle: VehicleThere | None

    def device(self, kind: str) -> Gear | None:
        """The device of a kind in hand."""
        there = self.devices.get(kind)
        return there.gear if there else None

    def code(self, kind: str) -> str:
        """The code of the device of a kind in hand, empty where there is none."""
        there = self.devices.get(kind)
        return there.gear.code if there else ""


class Choice(NamedTuple):
    """Items for an option, and the codes of further ones that would serve just as well."""

    items: Items
    alike: tuple[str, ...]


@dataclass(frozen=True)
class Judged:
    """Every cause of one step with certain items, passes included; ``is_current``: enough people keep in practice."""

    causes: tuple[Cause, ...]
    is_current: bool
    people_count: int

    @cached_property
    def from_min(self) -> int:
        """The minute [min] from which the last of its people and items is there."""
        return max(cause.from_min for cause in self.causes)

    @cached_property
    def open_causes(self) -> tuple[Cause, ...]:
        """The causes that are no pass."""
        return tuple(cause for cause in self.causes if cause.verdict)


@dataclass
class Judge:
    """Judges steps for one load in one situation; answers about people are kept, they are asked for every athlete."""

    situation: Situation
    worn: tuple[LoadPart, ...]
    lifters: ParameterValue
    crews: dict[tuple[str, int, bool], Crew] = field(default_factory=dict)
    maybe: tuple[LoadPart, ...] = ()
    _judged: dict[tuple[object, ...], Judged] = field(default_factory=dict)
    _choices: dict[tuple[str, ...], tuple[Choice, ...]] = field(default_factory=dict)
    _loads: dict[str, ChainResult] = field(default_factory=dict)

    def judged(self, step: Step, items: Items) -> Judged:
        """A step with these items, kept for every option that has it."""
        vehicle = items.vehicle.vehicle.code if items.vehicle else ""
        in_hand = tuple(items.code(kind) for kind in step.devices)
        key = (step.kind, step.state.device, in_hand, vehicle)
        if key not in self._judged:
            people = self.crew(step).least_count
            self._judged[key] = Judged(self.causes(step, items), self._is_current(step), people)
        return self._judged[key]

    def choices(self, kinds: tuple[str, ...]) -> tuple[Choice, ...]:
        """Every way to take one item of each kind, and an ambulance; items with equal verdicts are one choice."""
        if kinds not in self._choices:
            each = [self._classes(kind) or ((None, ()),) for kind in kinds]
            self._choices[kinds] = tuple(
                Choice(
                    Items({kind: item for kind, (item, _) in zip(kinds, chosen, strict=True)}, vehicle),
                    tuple(code for _, alike in chosen for code in alike),
                )
                for chosen in product(*each)
                for vehicle in self.situation.vehicles or (None,)
            )
        return self._choices[kinds]

    def _classes(self, kind: str) -> tuple[tuple[GearThere | None, tuple[str, ...]], ...]:
        """One item for all with equal verdicts, the one with the lowest rating, and the codes of the others."""
        classes: dict[tuple[object, ...], list[GearThere]] = {}
        for there in self.situation.of_kind(kind):
            classes.setdefault(self._verdicts(there), []).append(there)
        ordered = (
            sorted(alike, key=lambda there: (there.gear.rated_load.kg if there.gear.rated_load else 0, there.gear.code))
            for alike in classes.values()
        )
        return tuple((first, tuple(there.gear.code for there in others)) for first, *others in ordered)

    def _verdicts(self, there: GearThere) -> tuple[object, ...]:
        """What every check says of an item, and from when it is there."""
        gear = there.gear
        fitted = (item.gear for item in self.situation.gear if item.gear.fits_items)
        return (
            self.device_load(gear).verdict,
            gear.in_service,
            there.from_min,
            tuple(self.cot_load(gear, one.vehicle).verdict for one in self.situation.vehicles),
            tuple(gear.code in one.fits_items for one in fitted),
        )

    def device_load(self, gear: Gear) -> ChainResult:
        """The load on a rated item, such as a carrying device or straps."""
        if gear.code not in self._loads:
            self._loads[gear.code] = device_chain(self.worn, gear, self.maybe)
        return self._loads[gear.code]

    def cot_load(self, device: Gear | None, vehicle: Vehicle) -> ChainResult:
        """The load on the cot of an ambulance, with a carrying device or without."""
        key = f"{vehicle.code}/{device.code if device else ''}"
        if key not in self._loads:
            self._loads[key] = cot_chain(self.worn, device, vehicle, self.maybe)
        return self._loads[key]

    def causes(self, step: Step, items: Items) -> tuple[Cause, ...]:
        """Every cause of a step with these items, passes included."""
        needs = (cause for need in step.technique.needs_in(step.state) for cause in self._need(need, step, items))
        return (
            self._hands(step),
            *needs,
            *self._order(step),
            *self._agreement(step, items),
            *self._limits(step),
        )

    def crew(self, step: Step) -> Crew:
        """How the roles of a step can be filled; unknown where that hangs on a load nobody knows."""
        fewest, most = self.lifters_range(step)
        crew = self._crew(step, most)
        if fewest == most or crew.verdict is Verdict.OK:
            return crew
        with_fewest = self._crew(step, fewest)
        verdict = Verdict.NO if with_fewest.verdict is Verdict.NO else Verdict.UNKNOWN
        return replace(with_fewest, verdict=verdict)

    def lifters_range(self, step: Step) -> tuple[int, int]:
        """Fewest and most lifters for what is known of the load; 0 where their number does not depend on it."""
        return self.lifters_for_load if any(role.count_by_load for role in step.technique.role) else (0, 0)

    @cached_property
    def lifters_for_load(self) -> tuple[int, int]:
        """Fewest and most lifters for what is known of the load."""
        known_kg = most_kg(self.worn)
        largest_kg = most_kg(self.worn, self.maybe) if all(part.mass for part in self.worn) else Decimal("Infinity")
        return self._lifters(known_kg), self._lifters(largest_kg)

    def _lifters(self, load_kg: Decimal) -> int:
        bounds = ((entry["people"], entry["up_to"]) for entry in self.lifters.value)
        people: int = next(people for people, bound in bounds if not bound or load_kg <= read_mass(bound).kg)
        return people

    def _crew(self, step: Step, lifters_count: int, only_current: bool = False) -> Crew:
        key = (step.technique.id, lifters_count, only_current)
        if key not in self.crews:
            hands = self.situation.hands
            if only_current:
                hands = tuple(replace(one, skills=one.skills & one.current_in) for one in hands if one.current_in)
            self.crews[key] = crew_for(roles_of(step.technique, lifters_count or None), hands)
        return self.crews[key]

    def _is_current(self, step: Step) -> bool:
        """Whether people who were checked off lately fill every role; false where nobody's check-offs are recorded."""
        return self._crew(step, self.lifters_range(step)[1], only_current=True).verdict is Verdict.OK

    def _hands(self, step: Step) -> Cause:
        unknown = [part.name for part in self.worn if part.mass is None]
        missing = " and ".join(unknown or [f"whether there is {part.name}" for part in self.maybe])
        return _hands_cause(step, self.lifters_range(step), self.crew(step), missing)

    def _need(self, need: Need, step: Step, items: Items) -> tuple[Cause, ...]:
        if need.kind == "cot":
            lifts_itself = (self._cot_lifts_itself(items),) if "lifts_itself" in need.checks and items.vehicle else ()
            return (self._cot(items, step), *lifts_itself)
        if need.kind in CARRYING_DEVICES:
            return self._device(need, items)
        return self._item(need, step, items)

    def _device(self, need: Need, items: Items) -> tuple[Cause, ...]:
        there = items.devices.get(need.kind)
        return (_absent(need),) if there is None else (_present(there), *self._checks(need, there, there.gear))

    def _cot(self, items: Items, step: Step) -> Cause:
        if items.vehicle is None:
            return Cause(
                "vehicle",
                Verdict.NO,
                NEVER_MIN,
                "no ambulance is at the event or called to it",
                "ask for an ambulance",
                "lead",
            )
        vehicle = items.vehicle.vehicle
        device = items.device(step.state.device)
        chain = self.cot_load(device, vehicle)
        do = _do_about(chain, "ask for a cot with a higher rating")
        id = f"cot-load/{vehicle.code}" + (f"/{device.code}" if device else "")
        return _load_cause(id, chain, items.vehicle.from_min, do, "ambulance service")

    def _cot_lifts_itself(self, items: Items) -> Cause:
        assert items.vehicle
        vehicle, minute = items.vehicle.vehicle, items.vehicle.from_min
        cot = f"the cot of the {vehicle.name}"
        verdict, words = {
            True: (Verdict.OK, f"{cot} lifts itself"),
            False: (Verdict.NO, f"{cot} does not lift itself"),
            None: (Verdict.UNKNOWN, f"not recorded whether {cot} lifts itself"),
        }[vehicle.cot_lifts_itself]
        do = f"ask {items.vehicle.agency.name} for a cot that lifts itself" if verdict is Verdict.NO else "find it out"
        return Cause(f"cot-lifts/{vehicle.code}", verdict, minute, words, do, "ambulance service")

    def _item(self, need: Need, step: Step, items: Items) -> tuple[Cause, ...]:
        lies_on = items.device(step.state.device) or step.state.device.replace("none", "cot")
        judged = [
            (_present(there), *self._checks(need, there, lies_on))
            for kind in need.kinds
            for there in self.situation.of_kind(kind)
        ]
        best = min(judged, key=_how_bad, default=(_absent(need),))
        if need.is_certain:
            return best
        return tuple(replace(cause, verdict=min(cause.verdict, Verdict.UNKNOWN)) for cause in best)

    def _checks(self, need: Need, there: GearThere, lies_on: Gear | str) -> Iterator[Cause]:
        gear = there.gear
        if "in_service" in need.checks:
            yield _in_service(there)
        if "accessory" in need.checks:
            yield _accessory(there, lies_on)
        if "rated_load" in need.checks:
            chain = self.device_load(gear)
            kind = gear.kind if gear.kind == "straps" else f"a {gear.kind}"
            do = _do_about(chain, f"bring {kind} with a higher rating")
            yield _load_cause(f"rated-load/{gear.code}", chain, there.from_min, do, "gear keeper")

    def _agreement(self, step: Step, items: Items) -> Iterator[Cause]:
        if items.vehicle is None:
            return
        agency, technique = items.vehicle.agency, step.technique
        answer = self.situation.answer(agency.code, technique.id)
        if answer == "refused":
            verdict, words = Verdict.NO, "refused"
        elif technique.needs_agreement and answer != "agreed":
            verdict, words = Verdict.UNKNOWN, "has not settled"
        else:
            return
        sentence = f"{agency.name} {words} {spoken(technique.id)}"
        yield Cause(
            f"agreement/{agency.code}/{technique.id}",
            verdict,
            0,
            sentence,
            f"settle it with {agency.name}",
            "ambulance service",
        )

    def _order(self, step: Step) -> Iterator[Cause]:
        technique = step.technique
        if technique.needs_order and technique.id not in self.situation.orders:
            words = f"medical direction has not signed {spoken(technique.id)}"
            do = "ask medical direction before the event"
            yield Cause(f"order/{technique.id}", Verdict.NO, 0, words, do, "medical direction")

    def _limits(self, step: Step) -> Iterator[Cause]:
        for limit in step.technique.limit:
            if limit.verdict != "unsuitable":
                continue
            value, id = place_of(self.situation, limit.field), f"{limit.field}/{step.technique.id}"
            if value is None:
                words = f"the {_FIELDS[limit.field]} is not recorded"
                yield Cause(id, Verdict.UNKNOWN, 0, words, f"record the {_FIELDS[limit.field]} of the venue", "lead")
            elif value in limit.values:
                words = f"{_FIELDS[limit.field]} {value}: {limit.reason}"
                yield Cause(id, Verdict.NO, 0, words, "use another option here", limit.fixable_by)


_FIELDS = {"surface": "surface", "way": "way of the cot"}


def place_of(situation: Situation, field: str) -> str | None:
    """What the place is like in a field that limits may name; a way of the cot that nobody recorded counts as flat."""
    return situation.surface if field == "surface" else situation.way or "flat"


def cautions(step: Step, situation: Situation) -> tuple[str, ...]:
    """What asks for care when a step is done at this place."""
    said = [
        f"{step.technique.title}: {limit.reason}"
        for limit in step.technique.limit
        if limit.verdict == "caution" and place_of(situation, limit.field) in limit.values
    ]
    if situation.way is None and any(limit.field == "way" for limit in step.technique.limit):
        said.append(f"{step.technique.title}: the way of the cot is not recorded, and taken as flat")
    return tuple(said)


def _how_bad(causes: tuple[Cause, ...]) -> tuple[object, ...]:
    """Of several items of a kind the one with the best verdict is taken, then the one that is there first."""
    return (
        max(cause.verdict for cause in causes),
        sum(bool(cause.verdict) for cause in causes),
        max(cause.from_min for cause in causes),
        causes[0].id,
    )


def _load_cause(id: str, chain: ChainResult, from_min: int, do: str, fixable_by: FixableBy) -> Cause:
    return Cause(id, chain.verdict, from_min, chain.sentence, do, fixable_by)


def _do_about(chain: ChainResult, when_over: str) -> str:
    return when_over if chain.verdict is Verdict.NO else f"find out {' and '.join(chain.missing)}"


def _hands_cause(step: Step, lifters: tuple[int, int], crew: Crew, missing: str) -> Cause:
    fewest, most = lifters
    id = f"hands/{step.technique.id}" + (f"/{most}" if most else "")
    people = f"{crew.least_count} people needed"
    do = "bring or call more trained people"
    if crew.verdict is Verdict.OK:
        sentence = f"{people}, there from minute {crew.from_min}"
    elif crew.verdict is Verdict.NO:
        short = ", ".join(f"{role} short by {count}" for role, count in crew.short_of)
        sentence = f"{people}, {crew.there_count} come: {short}"
    elif fewest != most:
        sentence, do = (
            f"{people}, or {most - fewest} more: the load is not known",
            f"find out {missing}",
        )
    else:
        sentence = f"{people}; skills, fitness to lift or number of those there are not recorded"
        do = "record skills, fitness to lift and ambulance crews"
    return Cause(id, crew.verdict, crew.from_min, f"{step.technique.title}: {sentence}", do, "lead")


def _absent(need: Need) -> Cause:
    verdict = Verdict.NO if need.is_certain else Verdict.UNKNOWN
    kinds = " or ".join(need.kinds)
    sentence = f"no {kinds} at the event" + ("" if need.is_certain else ", and it may be needed")
    return Cause(f"gear/{kinds}", verdict, NEVER_MIN, sentence, f"bring: {kinds}", "gear keeper")


def _present(there: GearThere) -> Cause:
    return Cause(
        f"gear/{there.gear.code}", Verdict.OK, there.from_min, f"{there.gear.name} is there", "", "gear keeper"
    )


def _in_service(there: GearThere) -> Cause:
    gear = there.gear
    verdict = {True: Verdict.OK, False: Verdict.NO, None: Verdict.UNKNOWN}[gear.in_service]
    words = {True: "is in service", False: "is out of service", None: "may be out of service: not recorded"}[
        gear.in_service
    ]
    return Cause(
        f"in-service/{gear.code}",
        verdict,
        there.from_min,
        f"{gear.name} {words}",
        f"check the {gear.name} or bring another",
        "gear keeper",
    )


def _accessory(there: GearThere, lies_on: Gear | str) -> Cause:
    """Whether an accessory fits what the athlete lies on: a carrying device in hand, or else a kind of thing."""
    gear = there.gear
    kind, code, name = (lies_on.kind, lies_on.code, lies_on.name) if isinstance(lies_on, Gear) else (lies_on,) * 3
    fits = kind in gear.fits and (not gear.fits_items or not isinstance(lies_on, Gear) or code in gear.fits_items)
    if not gear.fits:
        verdict, words = Verdict.UNKNOWN, f"not recorded whether {gear.name} fit the {name}"
    else:
        verdict, words = (
            (Verdict.OK if fits else Verdict.NO),
            f"{gear.name} {'fit' if fits else 'do not fit'} the {name}",
        )
    return Cause(
        f"accessory/{gear.code}/{code}",
        verdict,
        there.from_min,
        words,
        f"bring {gear.kind} that fit the {name}" if gear.fits else f"find out whether the {gear.name} fit",
        "gear keeper",
    )
