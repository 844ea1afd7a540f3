"""Which evidence the techniques use: kinds that are ordered, and the contrasts that put one option before another."""

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

from onthree.evidence.contrast import Contrast
from onthree.evidence.order import EQUIPMENT, Cancelled, Edge, Equipment, EvidenceOrder
from onthree.techniques.library import Library
from onthree.techniques.technique import Technique

ORDERED, COMPARED, NO_EVIDENCE = "ordered", "compared, not ordered", "none: comparable only with itself"


@dataclass(frozen=True)
class KindUsed:
    """One kind of handling: whether some contrast orders it or only compares it, and the techniques of this kind."""

    kind: str
    evidence: str
    techniques: tuple[Technique, ...]


@dataclass(frozen=True)
class Driving:
    """Two kinds that techniques here have and the evidence orders: what puts one option before another.

    ``worn``: with equipment on, off or not known, as its contrasts allow; the edges are the same for each of them.
    """

    lower: str
    higher: str
    worn: tuple[Equipment, ...]
    edges: tuple[Edge, ...]

    @property
    def contrasts(self) -> tuple[Contrast, ...]:
        """The contrasts it rests on, each once."""
        return tuple(dict.fromkeys(contrast for edge in self.edges for contrast in edge.contrasts))


@dataclass(frozen=True)
class EvidenceUsed:
    """The evidence beside the techniques that use it."""

    library: Library
    order: EvidenceOrder

    @cached_property
    def techniques_of(self) -> dict[str, tuple[Technique, ...]]:
        """The techniques of each kind, in their order."""
        found: dict[str, tuple[Technique, ...]] = {}
        for technique in self.library.techniques:
            kind = technique.handling.evidence
            found[kind] = (*found.get(kind, ()), technique)
        return found

    @cached_property
    def kinds(self) -> tuple[KindUsed, ...]:
        """Every kind that a contrast or a technique names, by the alphabet."""
        ordered = {handled.kind for edge in self.order.edges for handled in (edge.lower, edge.higher)}
        compared = {kind for contrast in self.order.contrasts for kind in (contrast.lower, contrast.higher)}
        return tuple(
            KindUsed(
                kind,
                ORDERED if kind in ordered else COMPARED if kind in compared else NO_EVIDENCE,
                self.techniques_of.get(kind, ()),
            )
            for kind in sorted({*compared, *self.techniques_of})
        )

    @cached_property
    def driving(self) -> tuple[Driving, ...]:
        """Each pair of kinds that can put one option before another: options here use techniques of both."""
        worn: dict[tuple[str, str, tuple[Contrast, ...]], list[Equipment]] = {}
        first: dict[tuple[str, str, tuple[Contrast, ...]], tuple[Edge, ...]] = {}
        for (lower, higher), edges in self.order.by_pair.items():
            if self._ranks(lower.kind) and self._ranks(higher.kind):
                rests_on = tuple(contrast for edge in edges for contrast in edge.contrasts)
                worn.setdefault((lower.kind, higher.kind, rests_on), []).append(lower.equipment)
                first.setdefault((lower.kind, higher.kind, rests_on), edges)
        found = (Driving(*key[:2], tuple(of_key), first[key]) for key, of_key in worn.items())
        return tuple(sorted(found, key=lambda pair: (pair.lower, pair.higher)))

    @cached_property
    def driving_ids(self) -> frozenset[str]:
        """The identifiers of the contrasts that drive a ranking."""
        return frozenset(contrast.id for pair in self.driving for contrast in pair.contrasts)

    def driving_of(self, kind: str) -> tuple[Driving, ...]:
        """What the order says of a kind against the others that techniques here have."""
        return tuple(pair for pair in self.driving if kind in (pair.lower, pair.higher))

    @cached_property
    def disagreements(self) -> tuple[Cancelled, ...]:
        """What stays without order because sources say less and more, each pair of kinds once."""
        return tuple({frozenset((each.one.kind, each.other.kind)): each for each in self.order.cancelled}.values())

    def disagreements_of(self, kind: str) -> tuple[Cancelled, ...]:
        """Those about one kind."""
        return tuple(each for each in self.disagreements if kind in (each.one.kind, each.other.kind))

    def _ranks(self, kind: str) -> bool:
        return any(one.is_ranked and one.handling.counts for one in self.techniques_of.get(kind, ()))


def worn_in_words(worn: Collection[Equipment]) -> str:
    """For which equipment an order holds."""
    if set(worn) == set(EQUIPMENT):
        return "whatever is worn"
    return " or ".join(f"equipment {each.replace('_', ' ')}" for each in worn)


def why(used: EvidenceUsed, pair: Driving) -> tuple[str, ...]:
    """Why the first kind stands before the second, a line for each layer and for what was found beside it."""
    return tuple(used.order.why(pair.edges[0].lower, pair.edges[0].higher).split(" | "))
