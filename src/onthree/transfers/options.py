"""Options of one athlete: which are possible with these hands and this gear, which is planned, why not the others."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Literal

from onthree.loads.chain import LoadPart, maybe_worn, worn_load
from onthree.programme.programme import Programme
from onthree.programme.records import Athlete, Event
from onthree.sources import parameter
from onthree.techniques.library import Library
from onthree.techniques.state import CARRYING_DEVICES, found
from onthree.techniques.verdict import Verdict, of_all
from onthree.transfers.catalogue import DEVICE_IN, DEVICE_OUT, Goal, Option, Step, catalogue
from onthree.transfers.causes import Cause, Items, Judge, cautions
from onthree.transfers.hands import Crew
from onthree.transfers.minimal_sets import inclusion_minimal, minimal_transversals
from onthree.transfers.situation import GearThere, Situation, situation_of

Status = Literal["possible", "unknown", "not possible"]
_STATUS: Mapping[Verdict, Status] = {Verdict.OK: "possible", Verdict.UNKNOWN: "unknown", Verdict.NO: "not possible"}

MASK_FOUND = {
    "screws": "screws",
    "quick release": "quick release",
    "no face mask": "not worn",
    None: "fastening not known",
}


@dataclass(frozen=True)
class Wait:
    """The athlete is held before a step until a minute after the call [min], and for what."""

    step: Step
    until_min: int
    reason: str


@dataclass(frozen=True)
class OptionResult:
    """One option with the items it uses: status, what stands against it, and where it waits.

    ``from_min`` [min] is when the last of its people and items is there; None where it never comes to that.
    """

    option: Option
    items: Items
    status: Status
    from_min: int | None
    waits: tuple[Wait, ...]
    against: tuple[Cause, ...]
    cautions: tuple[str, ...]
    lifters_count: int
    lifters_least_count: int
    """Fewer than ``lifters_count`` where the load is not known."""
    people_count: int
    agreed_count: int

    @property
    def device_names(self) -> tuple[str, ...]:
        """The carrying devices in hand, as people call them."""
        return tuple(there.gear.name for there in self.items.devices.values() if there)


@dataclass(frozen=True)
class AthleteAnswer:
    """The answer for one athlete found in one position, for one goal.

    ``fixes``: the smallest sets of causes whose mending opens an option. ``blocked_by``: the smallest sets of causes
    of which each option has one; both are empty where an option is possible.
    """

    athlete: Athlete
    position: str
    goal: Goal
    worn: tuple[LoadPart, ...]
    results: tuple[OptionResult, ...]
    fixes: tuple[tuple[Cause, ...], ...]
    blocked_by: tuple[tuple[Cause, ...], ...]

    @property
    def planned(self) -> OptionResult | None:
        """The planned option, None where none is possible. The team on scene may depart from it for the patient."""
        return self.results[0] if self.results and self.results[0].status == "possible" else None

    @property
    def status(self) -> Literal["possible", "hold", "unknown", "not possible"]:
        """The best status of any option; hold where the planned one must wait for people, gear or an ambulance."""
        if self.planned:
            return "hold" if self.planned.waits else "possible"
        return self.results[0].status if self.results else "not possible"


@dataclass
class OptionsEngine:
    """Answers for the athletes of one event; what does not depend on the athlete is worked out once."""

    programme: Programme
    event: Event
    library: Library
    situation: Situation
    _crews: dict[tuple[str, int], Crew] = field(default_factory=dict)

    def answer(self, athlete: Athlete, position: str, goal: Goal | None = None) -> AthleteAnswer:
        """The answer for an athlete found in a position; the goal is the event's own unless given."""
        goal = goal or self.goal
        worn = worn_load(athlete, self.programme.teams[athlete.team], self.event)
        judge = self.judge_of(worn)
        start = found(position, MASK_FOUND[athlete.face_mask])
        judged = [
            _judge_option(judge, option, items)
            for option in catalogue(self.library, start, goal)
            for items in _items_for(option, self.situation)
        ]
        results = tuple(sorted(judged, key=_preference))
        fixes, blocked_by = _fixes_and_blocks(results)
        return AthleteAnswer(athlete, position, goal, worn, results, fixes, blocked_by)

    def judge_of(self, worn: tuple[LoadPart, ...]) -> Judge:
        """The judge for an athlete with this body and equipment."""
        lifters = parameter("lifters_for_a_loaded_device", self.event.day)
        return Judge(self.situation, worn, lifters, self._crews, maybe_worn(self.event))

    @property
    def goal(self) -> Goal:
        """Device out on the cot only where every agency that may come agreed to it, else the device stays."""
        agencies = {there.agency.code for there in self.situation.vehicles}
        agreed = bool(agencies) and all(
            self.situation.answer(code, "device_out_on_cot") == "agreed" for code in agencies
        )
        return DEVICE_OUT if agreed else DEVICE_IN


def engine_for(
    programme: Programme, event: Event, library: Library, situation: Situation | None = None
) -> OptionsEngine:
    """The engine for an event as planned, or for a changed situation of it."""
    return OptionsEngine(programme, event, library, situation or situation_of(programme, event))


def _items_for(option: Option, situation: Situation) -> Iterator[Items]:
    kinds = [
        kind
        for kind in CARRYING_DEVICES
        if any(need.kind == kind for step in option.steps for need in step.technique.needs_in(step.state))
    ]
    choices: list[tuple[GearThere | None, ...]] = [situation.of_kind(kind) or (None,) for kind in kinds]
    for devices in product(*choices):
        for vehicle in situation.vehicles or (None,):
            yield Items(dict(zip(kinds, devices, strict=True)), vehicle)


def _judge_option(judge: Judge, option: Option, items: Items) -> OptionResult:
    judged = [(step, judge.causes(step, items)) for step in option.steps]
    against = _worst_by_id(cause for _, causes in judged for cause in causes if cause.verdict)
    status = _STATUS[of_all(cause.verdict for cause in against)]
    waits = _waits(judged) if status == "possible" else ()
    agency = items.vehicle.agency.code if items.vehicle else ""
    surface = judge.situation.surface
    return OptionResult(
        option=option,
        items=items,
        status=status,
        from_min=max((wait.until_min for wait in waits), default=0) if status == "possible" else None,
        waits=waits,
        against=against,
        cautions=tuple(text for step in option.steps for text in cautions(step, surface)),
        lifters_count=max(judge.lifters_range(step)[1] for step in option.steps),
        lifters_least_count=max(judge.lifters_range(step)[0] for step in option.steps),
        people_count=max(judge.crew(step).least_count for step in option.steps),
        agreed_count=sum(judge.situation.answer(agency, step.technique.id) == "agreed" for step in option.steps),
    )


def _worst_by_id(causes: Iterable[Cause]) -> tuple[Cause, ...]:
    worst: dict[str, Cause] = {}
    for cause in causes:
        if cause.id not in worst or cause.verdict > worst[cause.id].verdict:
            worst[cause.id] = cause
    return tuple(worst.values())


def _waits(judged: Iterable[tuple[Step, tuple[Cause, ...]]]) -> tuple[Wait, ...]:
    waits, minute = [], 0
    for step, causes in judged:
        latest = max(causes, key=lambda cause: cause.from_min)
        if latest.from_min > minute:
            minute = latest.from_min
            waits.append(Wait(step, minute, latest.sentence))
    return tuple(waits)


def _preference(result: OptionResult) -> tuple[object, ...]:
    """Possible before unknown before not; agreed with the agency; fewest handlings; soonest; fewest people.

    Last the lowest rating that suffices, so that the strongest device stays free for whom it is needed. Evidence on
    motion does not enter this order yet, and no motion is ever called safe.
    """
    devices = [there.gear for there in result.items.devices.values() if there]
    return (
        ("possible", "unknown", "not possible").index(result.status),
        -result.agreed_count,
        result.option.handlings_count,
        result.from_min or 0,
        result.people_count,
        tuple(step.technique.order for step in result.option.steps),
        tuple(gear.rated_load.kg if gear.rated_load else 0 for gear in devices),
        tuple(gear.code for gear in devices),
    )


def _fixes_and_blocks(
    results: tuple[OptionResult, ...],
) -> tuple[tuple[tuple[Cause, ...], ...], tuple[tuple[Cause, ...], ...]]:
    if any(result.status == "possible" for result in results):
        return (), ()
    causes = list({cause.id: cause for result in results for cause in result.against}.values())
    bit = {cause.id: 1 << place for place, cause in enumerate(causes)}
    closed = inclusion_minimal(sum(bit[cause.id] for cause in result.against) for result in results)

    def named(bits: int) -> tuple[Cause, ...]:
        return tuple(cause for cause in causes if bits & bit[cause.id])

    return tuple(map(named, closed)), tuple(map(named, minimal_transversals(closed)))
