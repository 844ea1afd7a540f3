"""What a technique file holds: one handling of the athlete, what it asks for, and its tasks."""

from collections.abc import Callable
from dataclasses import field
from functools import cached_property
from graphlib import TopologicalSorter
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, ConfigDict, Field, WithJsonSchema
from pydantic.dataclasses import dataclass

from onthree.techniques.state import GEAR_KINDS, SKILLS, STATE_VALUES, SURFACES, WAYS, State, meets

Check = Literal["present", "in_service", "rated_load", "accessory", "lifts_itself"]
FixableBy = Literal["lead", "ambulance service", "venue", "gear keeper", "medical direction", "nobody today"]
LoadModel = Literal["none", "log_roll", "handholds", "direct_lift"]
Verdict = Literal["unsuitable", "caution"]


def _one_of(values: tuple[str, ...]) -> Callable[[str], str]:
    def check(given: str) -> str:
        if given not in values:
            raise ValueError(f"expected one of: {', '.join(values)}")
        return given

    return check


def _words(values: tuple[str, ...]) -> tuple[AfterValidator, WithJsonSchema]:
    return AfterValidator(_one_of(values)), WithJsonSchema({"type": "string", "enum": list(values)})


NEED_KINDS = (*GEAR_KINDS, "cot")
LIMIT_VALUES = {"surface": SURFACES, "way": WAYS}

Skill = Annotated[str, *_words(SKILLS)]
NeedKind = Annotated[str, *_words(NEED_KINDS)]
StateField = Annotated[str, *_words(tuple(STATE_VALUES))]
LimitField = Annotated[str, *_words(tuple(LIMIT_VALUES))]
Allowed = dict[StateField, tuple[str, ...]]
Seconds = Annotated[float, Field(gt=0, le=3600)]

_STRICT = ConfigDict(extra="forbid")


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Fact:
    """A statement with its address: source key, place in it, and whether it was read there or comes from memory."""

    source: str
    where: str = ""
    read: bool = True


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Role(Fact):
    """People who do the same thing: the usual number, the fewest a source allows, and the skill they need."""

    id: str
    does: str
    count: Annotated[int, Field(ge=0, le=12)]
    least: Annotated[int, Field(ge=0, le=12)]
    skill: Skill
    lay_allowed: bool = False
    load_model: LoadModel = "none"
    staffed_by: Literal["event", "hospital"] = "event"
    """People of the hospital are not counted here: every option says so."""
    count_by_load: str = ""
    """Name of a parameter that gives the number of people by load; ``count`` and ``least`` are its smallest."""


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Need(Fact):
    """A kind of gear, what is checked on the item in hand, and the states in which it is needed (empty: always)."""

    kind: NeedKind
    or_kinds: tuple[NeedKind, ...] = ()
    """Other kinds of gear that will do as well."""
    checks: tuple[Check, ...]
    when: Allowed = field(default_factory=dict)
    is_certain: bool = True
    """False for gear that may turn out to be needed: without it the answer is unknown, not no."""

    @property
    def kinds(self) -> tuple[str, ...]:
        """Every kind of gear that will do."""
        return (self.kind, *self.or_kinds)


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Limit(Fact):
    """A condition of the place in which the technique is unsuitable or asks for caution."""

    field: LimitField
    values: tuple[str, ...]
    verdict: Verdict
    reason: str
    fixable_by: FixableBy


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Statement(Fact):
    """One sentence about the technique that no field of the place decides, such as an injury that speaks against it."""

    says: str


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Fallback:
    """What is done instead when a task fails: gear and times [s] (usual: half are quicker; slow: 9 of 10 are)."""

    needs: tuple[NeedKind, ...] = ()
    usual_s: Seconds
    slow_s: Seconds
    guess: bool = False
    source: str = ""
    where: str = ""


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Task:
    """One step in a technique: who, after which tasks, times [s] (usual: half are quicker; slow: 9 of 10 are)."""

    id: str
    does: str
    who: tuple[str, ...]
    after: tuple[str, ...] = ()
    usual_s: Seconds
    slow_s: Seconds
    guess: bool = False
    needs: tuple[NeedKind, ...] = ()
    fails_prob: Annotated[float, Field(ge=0, le=1)] = 0.0
    otherwise: Fallback | None = None
    milestone: str = ""
    source: str = ""
    where: str = ""
    read: bool = True


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Handling:
    """How a technique counts: as a handling of the athlete, under which kind of evidence, and what that depends on."""

    counts: bool
    evidence: str
    depends_on: tuple[StateField, ...] = ()


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Technique(Fact):
    """One technique: what holds before (a field left out may be anything), what it changes, and what it asks for."""

    id: str
    title: str
    order: int
    handling: Handling
    before: Allowed
    after: dict[StateField, str]
    stance: str = ""
    """How those who move the athlete stand or kneel, as the source describes it."""
    needs_agreement: bool = False
    needs_order: bool = False
    """Done only where medical direction signed it, under the conditions of its order."""
    is_ranked: bool = True
    """False for what is shown only under local protocol and stated clinical conditions, and never enters an option."""
    accompanies: bool = False
    """True for what is done before and after every handling and changes nothing, such as a check of four limbs."""
    role: tuple[Role, ...]
    need: tuple[Need, ...] = ()
    limit: tuple[Limit, ...] = ()
    caution: tuple[Statement, ...] = ()
    """What is said wherever the technique is named; it closes nothing."""
    condition: tuple[Statement, ...] = ()
    """What must hold for the athlete before it is done at all; medical direction signs it, no answer decides it."""
    task: tuple[Task, ...]

    @property
    def is_negotiated(self) -> bool:
        """Whether it is what one settles with an ambulance agency: a way onto or off a carrying device."""
        return self.needs_agreement or "device" in self.after

    @cached_property
    def usual_s(self) -> float:
        """The usual time [s] of its longest chain of tasks."""
        times_s: dict[str, float] = {}
        by_id = {task.id: task for task in self.task}
        for id in TopologicalSorter({task.id: task.after for task in self.task}).static_order():
            times_s[id] = by_id[id].usual_s + max((times_s[before] for before in by_id[id].after), default=0.0)
        return max(times_s.values())

    def is_open_in(self, state: State) -> bool:
        """Whether the technique may start in this state, by its ``before`` alone."""
        return meets(state, self.before)

    def leads_to(self, state: State) -> State:
        """The state after the technique was done in ``state``."""
        changes: Any = self.after
        return state._replace(**changes)

    def needs_in(self, state: State) -> tuple[Need, ...]:
        """The needs that apply when the technique is done in this state."""
        return tuple(need for need in self.need if meets(state, need.when))
