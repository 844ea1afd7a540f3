"""The catalogue: for a library, a found state and a goal, every option without a needless technique, in a usual order.

An option is the multiset of what it does; two orders of the same handlings are one option. Label-setting by number
of techniques is exact: if the handlings of one way into a state are among those of another way into it, whatever
completes the second also completes the first, so the second can never lead to an inclusion-minimal option.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

from onthree.evidence.order import Equipment, Handled
from onthree.techniques.library import Library
from onthree.techniques.state import CARRYING_DEVICES, State
from onthree.techniques.technique import Technique
from onthree.transfers.goals import Goal

_FIELD_BITS = 8
_FIELD_TOP = 1 << (_FIELD_BITS - 1)


_WORN: Mapping[str, Equipment] = {
    "on": "on",
    "off": "off",
    "not worn": "off",
    "not worn, torso not padded": "off",
}


@dataclass(frozen=True, eq=False)
class Step:
    """One technique of an option and the state in which it is done."""

    technique: Technique
    state: State

    @cached_property
    def kind(self) -> tuple[str, ...]:
        """What the step is, for evidence and verdicts: the technique and the state fields these depend on."""
        return (self.technique.id, *(getattr(self.state, name) for name in self.technique.handling.depends_on))

    @cached_property
    def judged_as(self) -> tuple[tuple[str, ...], str]:
        """What every check looks at but the items: steps alike in this get the same verdicts."""
        return self.kind, self.state.device

    @property
    def handled(self) -> Handled:
        """The step as the evidence sees it."""
        return Handled(self.technique.handling.evidence, _WORN.get(self.state.equipment, "not_known"))

    @cached_property
    def devices(self) -> tuple[str, ...]:
        """The kinds of carrying device that this step asks for or finds under the athlete."""
        asked = {need.kind for need in self.technique.needs_in(self.state)} | {self.state.device}
        return tuple(kind for kind in CARRYING_DEVICES if kind in asked)


@dataclass(frozen=True, eq=False)
class Option:
    """A chain of techniques from the found state to the goal; no smaller multiset of them reaches it."""

    steps: tuple[Step, ...]

    @property
    def id(self) -> str:
        """The identifiers of the techniques in their usual order."""
        return " > ".join(step.technique.id for step in self.steps)

    @cached_property
    def handlings_count(self) -> int:
        """How many of its techniques count as handlings of the athlete."""
        return sum(step.technique.handling.counts for step in self.steps)

    @cached_property
    def devices(self) -> tuple[str, ...]:
        """The kinds of carrying device it uses."""
        used = {kind for step in self.steps for kind in step.devices}
        return tuple(kind for kind in CARRYING_DEVICES if kind in used)

    @cached_property
    def usual_order(self) -> tuple[int, ...]:
        """The places of its techniques in the library."""
        return tuple(step.technique.order for step in self.steps)

    @cached_property
    def usual_s(self) -> float:
        """The usual times of its techniques one after the other [s], each along its longest chain of tasks."""
        return sum(step.technique.usual_s for step in self.steps)

    @cached_property
    def handled(self) -> tuple[Handled, ...]:
        """Its handlings as the evidence sees them: the kind, and whether equipment is on when it begins."""
        return tuple(step.handled for step in self.steps if step.technique.handling.counts)


@lru_cache(maxsize=512)
def catalogue(library: Library, start: State, goal: Goal) -> tuple[Option, ...]:
    """Every inclusion-minimal option from ``start`` to ``goal``, fewest techniques first; built once per library."""
    search = _Search(library, goal)
    frontier: list[_Label] = [_Label(start, 0, (), ())]
    while frontier:
        frontier = search.extend(sorted(frontier, key=lambda label: label.ranks))
    return tuple(search.options)


@dataclass(frozen=True)
class _Label:
    """One way into a state: its handlings as packed counts, the ranks of its techniques, its steps."""

    state: State
    counts: int
    ranks: tuple[int, ...]
    steps: tuple[Step, ...]


class _Search:
    def __init__(self, library: Library, goal: Goal) -> None:
        self.ranked = tuple(enumerate(library.moves))
        self.goal = goal
        self.places: dict[tuple[str, ...], int] = {}
        self.tops = 0
        self.kept: dict[State, list[int]] = {}
        self.steps: dict[tuple[int, State], Step] = {}
        self.reached: list[int] = []
        self.options: list[Option] = []

    def extend(self, labels: Iterable[_Label]) -> list[_Label]:
        """Keep the labels that may lead to a minimal option; return what follows from them, one technique longer."""
        following: list[_Label] = []
        for label in labels:
            if self._is_needless(label.state, label.counts):
                continue
            self.kept.setdefault(label.state, []).append(label.counts)
            if self.goal.is_reached_in(label.state):
                self.reached.append(label.counts)
                self.options.append(Option(label.steps))
            else:
                following.extend(self._next(label))
        return following

    def _next(self, label: _Label) -> Iterable[_Label]:
        for rank, technique in self.ranked:
            if not technique.is_open_in(label.state):
                continue
            step = self.steps.setdefault((rank, label.state), Step(technique, label.state))
            state, counts = technique.leads_to(label.state), label.counts + self._one(step.kind)
            if not self._is_needless(state, counts):
                yield _Label(state, counts, (*label.ranks, rank), (*label.steps, step))

    def _one(self, kind: tuple[str, ...]) -> int:
        place = self.places.setdefault(kind, len(self.places)) * _FIELD_BITS
        self.tops |= _FIELD_TOP << place
        return 1 << place

    def _is_needless(self, state: State, counts: int) -> bool:
        smaller_ways = (*self.kept.get(state, ()), *self.reached)
        return any(self._includes(counts, other) for other in smaller_ways)

    def _includes(self, counts: int, other: int) -> bool:
        """Whether every count of ``other`` is at most that of ``counts``: no field borrows from its top bit."""
        return ((counts | self.tops) - other) & self.tops == self.tops
