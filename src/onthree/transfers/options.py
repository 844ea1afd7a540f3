"""Options of one athlete: which are possible with these hands and this gear, which is planned, why not the others."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, NamedTuple

from onthree.evidence.order import EvidenceOrder, bundled_order
from onthree.loads.chain import LoadPart, maybe_worn, worn_load
from onthree.programme.programme import Programme
from onthree.programme.records import Athlete, Event, Team
from onthree.sources import parameter
from onthree.techniques.library import Library
from onthree.techniques.state import State, found
from onthree.transfers.catalogue import Option, Step, catalogue
from onthree.transfers.causes import Cause, Items, cautions
from onthree.transfers.goals import Goal, goal_of
from onthree.transfers.hands import Crew
from onthree.transfers.judge import Judge
from onthree.transfers.ranking import Ranked, Ranking, Status, against, preferred, rank
from onthree.transfers.situation import Situation, situation_of

YOUNG = ("under 8", "8 to 14")
WAY_NOT_RECORDED = "flat"
"""The way whose techniques are listed where nobody recorded one; they are unknown there."""

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
    unagreed_count: int
    """Ways onto or off a device that the agency did not agree to."""
    not_current_count: int
    """Handlings for which not enough people were checked off lately."""
    alike: tuple[str, ...]
    """Codes of further items that would serve just as well."""

    @property
    def title(self) -> str:
        """How the athlete gets onto what is carried: the titles of the techniques that put a device underneath."""
        onto = (step.technique for step in self.option.steps if step.technique.after.get("device", "none") != "none")
        return ", then ".join(technique.title for technique in onto)

    @property
    def device_names(self) -> tuple[str, ...]:
        """The carrying devices in hand, as people call them."""
        return tuple(there.gear.name for there in self.items.devices.values() if there)


_AFTER: Mapping[str, Callable[[Ranked, Ranked], str]] = {
    "evidence": lambda planned, other: "by evidence another option comes before it in some plane, and in none after it",
    "handlings": lambda planned, other: (
        f"{other.option.handlings_count} handlings, the planned one {planned.option.handlings_count}"
    ),
    "people": lambda planned, other: (
        f"more people: {other.people_count} at once, {other.people_sum_count} over all its techniques; the planned one "
        f"{planned.people_count} and {planned.people_sum_count}"
    ),
    "time": lambda planned, other: "longer by the usual times, which are guesses",
}


class Way(NamedTuple):
    """The best option of one way onto a device, and how many others differ from it in something else.

    ``after``: why it comes after the planned option, by what the order looks at first; empty for the planned one and
    for an option against which something stands.
    """

    result: OptionResult
    others_count: int
    after: str


@dataclass(frozen=True)
class AthleteAnswer:
    """The answer for one athlete found in one state, for one goal.

    ``fixes``: the smallest sets of causes whose mending opens an option. ``blocked_by``: the smallest sets of causes
    of which each option has one; both are empty where an option is possible. ``ties``: options that the order of
    preference does not tell from the planned one.
    """

    athlete: Athlete
    start: State
    goal: Goal
    worn: tuple[LoadPart, ...]
    ranking: Ranking
    judge: Judge

    @property
    def position(self) -> str:
        """How the athlete is found."""
        return self.start.position

    @property
    def kind(self) -> int:
        """The same for athletes who share a ranking: their answers differ in nothing but names and loads."""
        return id(self.ranking)

    @cached_property
    def results(self) -> tuple[OptionResult, ...]:
        """Every option with the items it uses, the planned one first."""
        return tuple(_result(self.judge, ranked) for ranked in self.ranking.ranked)

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """The best option of each way onto a device, by its items and status, in order; and how many more there are."""
        counted: dict[tuple[object, ...], list[Ranked]] = {}
        for ranked in self.ranking.ranked:
            onto = tuple(step.technique.id for step in ranked.option.steps if step.technique.is_negotiated)
            vehicle = ranked.items.vehicle.vehicle.code if ranked.items.vehicle else ""
            in_hand = tuple(ranked.items.code(kind) for kind in ranked.option.devices)
            counted.setdefault((onto, in_hand, vehicle, ranked.status), []).append(ranked)
        return tuple(
            Way(_result(self.judge, first), len(others), self._after_planned(first))
            for first, *others in counted.values()
        )

    def _after_planned(self, other: Ranked) -> str:
        """Why a possible option is not the planned one: the first thing in which the order finds it worse."""
        planned = self.ranking.ranked[0]
        if other.status != "possible" or other is planned:
            return ""
        if other.unagreed_count > planned.unagreed_count:
            return f"{other.unagreed_count - planned.unagreed_count} more of its ways are not agreed with the agency"
        if other.not_current_count > planned.not_current_count:
            return f"people are not current in {other.not_current_count - planned.not_current_count} more handlings"
        best = self.ranking.undominated
        for name in self.ranking.preference:
            mine, theirs = (preferred(name, one, best) for one in (planned, other))
            if theirs > mine:
                return _AFTER[name](planned, other)
        return "a tie: only the usual order of the techniques, or the rating, puts it after the planned one"

    def best_with(self, technique_id: str) -> OptionResult | None:
        """The best option that has a technique, None where none has it."""
        for ranked in self.ranking.ranked:
            if any(step.technique.id == technique_id for step in ranked.option.steps):
                return _result(self.judge, ranked)
        return None

    @cached_property
    def planned(self) -> OptionResult | None:
        """The planned option, None where none is possible. The team on scene may depart from it for the patient."""
        first = self.ranking.ranked[:1]
        return _result(self.judge, first[0]) if first and first[0].status == "possible" else None

    @property
    def status(self) -> Literal["possible", "hold", "unknown", "not possible"]:
        """The best status of any option; hold where the planned one must wait for people, gear or an ambulance."""
        if not self.ranking.ranked:
            return "not possible"
        best = self.ranking.ranked[0]
        return "hold" if best.status == "possible" and best.from_min > 0 else best.status

    @cached_property
    def fixes(self) -> tuple[tuple[Cause, ...], ...]:
        """The smallest sets of causes whose mending opens an option."""
        return self._named(self.ranking.fixes)

    @cached_property
    def blocked_by(self) -> tuple[tuple[Cause, ...], ...]:
        """The smallest sets of causes of which each option has one."""
        return self._named(self.ranking.blocks)

    @property
    def ties(self) -> tuple[Option, ...]:
        """Options that nothing tells from the planned one but the usual order."""
        return self.ranking.ties

    def _named(self, sets: Collection[frozenset[str]]) -> tuple[tuple[Cause, ...], ...]:
        """Sets of causes by identifier as causes, in the order in which the options meet them."""
        wanted = self.ranking.bits_of({id for one in sets for id in one})
        met: dict[str, Cause] = {}
        for ranked in self.ranking.ranked:
            if ranked.against & wanted:
                wanted &= ~ranked.against
                for cause in against(self.judge, ranked.option, ranked.items):
                    met.setdefault(cause.id, cause)
        return tuple(tuple(met[id] for id in met if id in one) for one in sets)


def by_kind(answers: Iterable[AthleteAnswer]) -> Mapping[int, Sequence[AthleteAnswer]]:
    """The answers by kind: what is said without names and loads is worked out for the first of each only."""
    kinds: dict[int, list[AthleteAnswer]] = {}
    for answer in answers:
        kinds.setdefault(answer.kind, []).append(answer)
    return kinds


def _result(judge: Judge, ranked: Ranked) -> OptionResult:
    option, items = ranked.option, ranked.items
    lifters = [judge.lifters_range(step) for step in option.steps]
    is_possible = ranked.status == "possible"
    return OptionResult(
        option=option,
        items=items,
        status=ranked.status,
        from_min=ranked.from_min if is_possible else None,
        waits=_waits(judge, option, items) if is_possible else (),
        against=tuple(against(judge, option, items)),
        cautions=tuple(text for step in option.steps for text in cautions(step, judge.situation)),
        lifters_count=max(most for _, most in lifters),
        lifters_least_count=max(least for least, _ in lifters),
        people_count=ranked.people_count,
        unagreed_count=ranked.unagreed_count,
        not_current_count=ranked.not_current_count,
        alike=ranked.alike,
    )


def _waits(judge: Judge, option: Option, items: Items) -> tuple[Wait, ...]:
    waits, minute = [], 0
    for step in option.steps:
        latest = max(judge.judged(step, items).causes, key=lambda cause: cause.from_min)
        if latest.from_min > minute:
            minute = latest.from_min
            waits.append(Wait(step, minute, latest.sentence))
    return tuple(waits)


@dataclass
class OptionsEngine:
    """Answers for the athletes of one event; what athletes of one kind have in common is worked out once."""

    programme: Programme
    event: Event
    library: Library
    situation: Situation
    order: EvidenceOrder = field(default_factory=bundled_order)
    _crews: dict[tuple[str, int, bool], Crew] = field(default_factory=dict, init=False)
    _judges: dict[tuple[LoadPart, ...], Judge] = field(default_factory=dict, init=False)
    _rankings: dict[tuple[object, ...], Ranking] = field(default_factory=dict, init=False)

    def answer(
        self,
        athlete: Athlete,
        position: str,
        goal: Goal | None = None,
        alignment: str = "neutral",
        place: str = "ground",
    ) -> AthleteAnswer:
        """The answer for an athlete found in a position; the goal is the event's own unless given."""
        return self.answer_for(athlete, self.programme.teams[athlete.team], position, goal, alignment, place)

    def answer_for(
        self,
        athlete: Athlete,
        team: Team,
        position: str,
        goal: Goal | None = None,
        alignment: str = "neutral",
        place: str = "ground",
    ) -> AthleteAnswer:
        """The same for an athlete of any team, such as one whom nobody knows."""
        goal = goal or self.goal
        worn = worn_load(athlete, team, self.event)
        judge = self.judge_of(worn)
        start = found(position, MASK_FOUND[athlete.face_mask], equipment_found(athlete, team), alignment, place)
        key = (start, goal, judge.kind)
        if key not in self._rankings:
            library = self.library.on_way(self.situation.way or WAY_NOT_RECORDED)
            self._rankings[key] = rank(
                judge, catalogue(library, start, goal), self.order, self.programme.organisation.preference
            )
        return AthleteAnswer(athlete, start, goal, worn, self._rankings[key], judge)

    def judge_of(self, worn: tuple[LoadPart, ...]) -> Judge:
        """The judge for an athlete with this body and equipment; one serves every position and goal."""
        if worn not in self._judges:
            lifters = parameter("lifters_for_a_loaded_device", self.event.day)
            most_each = parameter("direct_lift_most_kg", self.event.day)
            self._judges[worn] = Judge(self.situation, worn, lifters, most_each, self._crews, maybe_worn(self.event))
        return self._judges[worn]

    @property
    def goal(self) -> Goal:
        """Arriving as every agency that may come requires; where none says so, the device out if all agreed to it.

        Otherwise the device stays under the athlete.
        """
        required = {word for _, word in self.situation.required}
        if not required & {"device in", "device out"}:
            agencies = {there.agency.code for there in self.situation.vehicles}
            agreed = bool(agencies) and all(
                self.situation.answer(code, "device_out_on_cot") == "agreed" for code in agencies
            )
            required.add("device out" if agreed else "device in")
        return goal_of(required)


def engine_for(
    programme: Programme, event: Event, library: Library, situation: Situation | None = None
) -> OptionsEngine:
    """The engine for an event as planned, or for a changed situation of it."""
    return OptionsEngine(programme, event, library, situation or situation_of(programme, event))


def equipment_found(athlete: Athlete, team: Team) -> str:
    """What an athlete is found in: equipment, unless what is worn was recorded to weigh nothing."""
    mass = athlete.equipment_mass or team.equipment_mass
    if mass is None or mass.kg > 0:
        return "on"
    return "not worn, torso not padded" if athlete.age_group in YOUNG else "not worn"
