"""Judges the steps of options for one load in one situation: every cause, the items that are alike, who is current."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from itertools import product
from math import ceil
from typing import NamedTuple

from onthree.loads.chain import ChainResult, LoadPart, cot_chain, device_chain, most_kg
from onthree.programme.records import Gear, Vehicle
from onthree.sources import ParameterValue
from onthree.techniques.state import CARRYING_DEVICES, spoken
from onthree.techniques.technique import Need
from onthree.techniques.verdict import Verdict
from onthree.transfers.catalogue import Step
from onthree.transfers.causes import (
    FIELDS,
    NEVER_MIN,
    Cause,
    Items,
    absent,
    accessory,
    do_about,
    hands_cause,
    how_bad,
    in_service,
    load_cause,
    place_of,
    present,
)
from onthree.transfers.hands import Crew, crew_for, roles_of
from onthree.transfers.situation import GearThere, Situation
from onthree.units import load_kg_shown, read_mass

RATED_KINDS = (*CARRYING_DEVICES, "straps")


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
    needed: Counter[str]
    """The people it takes, by the skill they need; those whom anybody can stand in for under an empty one."""

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
    most_each: ParameterValue
    """What one person is planned to carry without a device [kg]."""
    crews: dict[tuple[str, int, bool], Crew] = field(default_factory=dict)
    maybe: tuple[LoadPart, ...] = ()
    _judged: dict[tuple[object, ...], Judged] = field(default_factory=dict)
    _choices: dict[tuple[str, ...], tuple[Choice, ...]] = field(default_factory=dict)
    _loads: dict[str, ChainResult] = field(default_factory=dict)

    @cached_property
    def kind(self) -> tuple[object, ...]:
        """What tells loads apart in the eyes of every check: verdict on each rating, lifters, what is not known."""
        rated = [item.gear for item in self.situation.gear if item.gear.kind in RATED_KINDS]
        devices = [gear for gear in rated if gear.kind in CARRYING_DEVICES]
        return (
            self.lifters_for_load,
            self.carriers_for_load,
            tuple(part.name for part in self.worn if part.mass is None),
            tuple((chain.verdict, chain.missing) for chain in map(self.device_load, rated)),
            tuple(
                (chain.verdict, chain.missing)
                for there in self.situation.vehicles
                for chain in (self.cot_load(device, there.vehicle) for device in (None, *devices))
            ),
        )

    def judged(self, step: Step, items: Items) -> Judged:
        """A step with these items, kept for every option that has it."""
        vehicle = items.vehicle.vehicle.code if items.vehicle else ""
        in_hand = tuple(items.code(kind) for kind in step.devices)
        key = (step.judged_as, in_hand, vehicle)
        if key not in self._judged:
            people = self.crew(step).least_count
            self._judged[key] = Judged(self.causes(step, items), self._is_current(step), people, self._needed(step))
        return self._judged[key]

    def choices(self, kinds: tuple[str, ...]) -> tuple[Choice, ...]:
        """Every way to take one item of each kind, and an ambulance; items with equal verdicts are one choice.

        Of several kinds together only items that no other of their kind is at least as good as in every check.
        """
        if kinds not in self._choices:
            each = [self._classes(kind, only_best=len(kinds) > 1) or ((None, ()),) for kind in kinds]
            self._choices[kinds] = tuple(
                Choice(
                    Items({kind: item for kind, (item, _) in zip(kinds, chosen, strict=True)}, vehicle),
                    tuple(code for _, alike in chosen for code in alike),
                )
                for chosen in product(*each)
                for vehicle in self.situation.vehicles or (None,)
            )
        return self._choices[kinds]

    def _classes(self, kind: str, only_best: bool) -> tuple[tuple[GearThere | None, tuple[str, ...]], ...]:
        """One item for all with equal verdicts, the one with the lowest rating, and the codes of the others."""
        classes: dict[tuple[int, ...], list[GearThere]] = {}
        for there in self.situation.of_kind(kind):
            classes.setdefault(self._verdicts(there), []).append(there)
        kept = [one for one in classes if not (only_best and any(_is_better(other, one) for other in classes))]
        ordered = (
            sorted(
                classes[one],
                key=lambda there: (there.gear.rated_load.kg if there.gear.rated_load else 0, there.gear.code),
            )
            for one in kept
        )
        return tuple((first, tuple(there.gear.code for there in others)) for first, *others in ordered)

    def _verdicts(self, there: GearThere) -> tuple[int, ...]:
        """What every check says of an item, and from when it is there; the smaller the better."""
        gear = there.gear
        fitted = (item.gear for item in self.situation.gear if item.gear.fits_items)
        return (
            self.device_load(gear).verdict,
            {True: 0, None: 1, False: 2}[gear.in_service],
            there.from_min,
            *(self.cot_load(gear, one.vehicle).verdict for one in self.situation.vehicles),
            *(int(gear.code not in one.fits_items) for one in fitted),
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
            *self._carried_each(step),
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

    def _needed(self, step: Step) -> Counter[str]:
        needed: Counter[str] = Counter()
        for role in roles_of(step.technique, self.lifters_range(step)[1] or None):
            needed["" if role.lay_allowed else role.skill] += role.least
        return needed

    def _is_current(self, step: Step) -> bool:
        """Whether people who were checked off lately fill every role; false where nobody's check-offs are recorded."""
        return self._crew(step, self.lifters_range(step)[1], only_current=True).verdict is Verdict.OK

    def _hands(self, step: Step) -> Cause:
        unknown = [part.name for part in self.worn if part.mass is None]
        missing = " and ".join(unknown or [f"whether there is {part.name}" for part in self.maybe])
        return hands_cause(step, self.lifters_range(step), self.crew(step), missing)

    def _need(self, need: Need, step: Step, items: Items) -> tuple[Cause, ...]:
        if need.kind == "cot":
            lifts_itself = (self._cot_lifts_itself(items),) if "lifts_itself" in need.checks and items.vehicle else ()
            return (self._cot(items, step), *lifts_itself)
        if need.kind in CARRYING_DEVICES:
            return self._device(need, items)
        return self._item(need, step, items)

    def _device(self, need: Need, items: Items) -> tuple[Cause, ...]:
        there = items.devices.get(need.kind)
        return (absent(need),) if there is None else (present(there), *self._checks(need, there, there.gear))

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
        do = do_about(chain, "ask for a cot with a higher rating")
        id = f"cot-load/{vehicle.code}" + (f"/{device.code}" if device else "")
        return load_cause(id, chain, items.vehicle.from_min, do, "ambulance service")

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
            (present(there), *self._checks(need, there, lies_on))
            for kind in need.kinds
            for there in self.situation.of_kind(kind)
        ]
        best = min(judged, key=how_bad, default=(absent(need),))
        if need.is_certain:
            return best
        return tuple(replace(cause, verdict=min(cause.verdict, Verdict.UNKNOWN)) for cause in best)

    def _checks(self, need: Need, there: GearThere, lies_on: Gear | str) -> Iterator[Cause]:
        gear = there.gear
        if "in_service" in need.checks:
            yield in_service(there)
        if "accessory" in need.checks:
            yield accessory(there, lies_on)
        if "rated_load" in need.checks:
            chain = self.device_load(gear)
            kind = gear.kind if gear.kind == "straps" else f"a {gear.kind}"
            do = do_about(chain, f"bring {kind} with a higher rating")
            yield load_cause(f"rated-load/{gear.code}", chain, there.from_min, do, "gear keeper")

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

    @cached_property
    def carriers_for_load(self) -> int | None:
        """People who would have to carry without a device, for none to carry more than is planned; None: not known."""
        if any(part.mass is None for part in self.worn):
            return None
        carriers: int = ceil(most_kg(self.worn, self.maybe) / self.most_each.value)
        return carriers

    def _carried_each(self, step: Step) -> Iterator[Cause]:
        """For hands that lift without a device: whether each carries more than is planned for, on average."""
        lifters = sum(role.count for role in step.technique.role if role.load_model == "direct_lift")
        if lifters == 0 or (self.carriers_for_load is not None and self.carriers_for_load <= lifters):
            return
        each_kg = most_kg(self.worn, self.maybe) / lifters
        unknown = [part.name for part in self.worn if part.mass is None]
        words = f"{step.technique.title}: each of {lifters} who lift would carry "
        words += "nobody knows how much" if unknown else f"{load_kg_shown(each_kg)} on average"
        do = f"find out {' and '.join(unknown)}" if unknown else "try it with your own people, or use another option"
        guess = f"{words}; planned are at most {self.most_each.value} kg each, a guess"
        yield Cause(f"carried-each/{step.technique.id}", Verdict.UNKNOWN, 0, guess, do, "lead")

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
                words = f"the {FIELDS[limit.field]} is not recorded"
                yield Cause(id, Verdict.UNKNOWN, 0, words, f"record the {FIELDS[limit.field]} of the venue", "lead")
            elif value in limit.values:
                words = f"{FIELDS[limit.field]} {value}: {limit.reason}"
                yield Cause(id, Verdict.NO, 0, words, "use another option here", limit.fixable_by)


def _is_better(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether an item is at least as good as another in every check, and better in one."""
    return one != other and all(mine <= theirs for mine, theirs in zip(one, other, strict=True))
