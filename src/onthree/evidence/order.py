"""Contrasts to an order of kinds of handling; it says what is ordered, by which sources, and what they disagree on."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from graphlib import CycleError, TopologicalSorter
from typing import Literal, NamedTuple, get_args

from onthree.evidence.contrast import Contrast, bundled_contrasts
from onthree.evidence.problems import EvidenceError, EvidenceProblem

Equipment = Literal["on", "off", "not_known"]
EQUIPMENT: tuple[Equipment, ...] = get_args(Equipment)


class Handled(NamedTuple):
    """One handling as the evidence sees it: its kind in words, and what the athlete wears when it begins."""

    kind: str
    equipment: Equipment = "not_known"

    def __str__(self) -> str:
        worn = "" if self.equipment == "not_known" else f" (equipment {self.equipment})"
        return f"{self.kind}{worn}"


Pair = tuple[Handled, Handled]


@dataclass(frozen=True)
class Link:
    """What the contrasts of one layer say directly: ``lower`` moved less in some plane, nothing found against it."""

    lower: Handled
    higher: Handled
    contrasts: tuple[Contrast, ...]


@dataclass(frozen=True)
class Edge:
    """``lower`` is no worse than ``higher``, by links from one to the other within one measured quantity and metric."""

    links: tuple[Link, ...]

    @property
    def lower(self) -> Handled:
        """The handling that moved less."""
        return self.links[0].lower

    @property
    def higher(self) -> Handled:
        """The handling that moved more."""
        return self.links[-1].higher

    @property
    def contrasts(self) -> tuple[Contrast, ...]:
        """Every contrast the edge rests on."""
        return tuple(contrast for link in self.links for contrast in link.contrasts)

    @property
    def is_derived(self) -> bool:
        """Whether no source compared the two directly."""
        return len(self.links) > 1


@dataclass(frozen=True)
class Cancelled:
    """Two kinds of handling of which some plane says less and some plane more: they stay without order."""

    one: Handled
    other: Handled
    for_one: tuple[Contrast, ...]
    for_other: tuple[Contrast, ...]


@dataclass(frozen=True)
class EvidenceOrder:
    """Which handling moved less than which, by evidence alone; what is not in it is not ordered."""

    edges: tuple[Edge, ...]
    cancelled: tuple[Cancelled, ...]
    contrasts: tuple[Contrast, ...]
    by_pair: Mapping[Pair, tuple[Edge, ...]] = field(repr=False, compare=False)

    def is_better(self, a: Handled, b: Handled) -> bool:
        """Whether some evidence says that ``a`` moved less than ``b`` and none says more."""
        return (a, b) in self.by_pair

    def no_worse(self, a: Handled, b: Handled) -> bool:
        """Whether ``a`` is the same handling as ``b``, or better. "No difference found" is neither."""
        return a == b or self.is_better(a, b)

    def compared(self, a: Handled, b: Handled) -> tuple[Contrast, ...]:
        """Every contrast that compares the two directly and holds for what is worn, whatever it found."""
        return tuple(
            contrast
            for contrast in self.contrasts
            if {contrast.lower, contrast.higher} == {a.kind, b.kind}
            and a.equipment == b.equipment
            and _holds(contrast, a.equipment)
        )

    def why(self, a: Handled, b: Handled) -> str:
        """What the evidence says of ``a`` against ``b``, with subjects and sources; what found no difference too."""
        direct = self.compared(a, b)
        if edges := self.by_pair.get((a, b)):
            used = {contrast for edge in edges for contrast in edge.contrasts}
            beside = [f"beside it, {contrast.said_of(a.kind)}" for contrast in direct if contrast not in used]
            return " | ".join([*map(_edge_in_words, edges), *beside])
        if self.is_better(b, a):
            return f"the other way round: {self.why(b, a)}"
        if direct:
            return "not ordered: " + " | ".join(contrast.said_of(a.kind) for contrast in direct)
        return "no source compares them"


def evidence_order(contrasts: Iterable[Contrast]) -> EvidenceOrder:
    """The order the contrasts give, for equipment on, off and not known.

    An edge needs a plane that says less and none, in whatever quantity, that says more. Edges are chained only within
    one measured quantity and metric. Raises EvidenceError where contrasts go round in a circle, or a chain says less
    where a contrast says more.
    """
    given = tuple(contrasts)
    links: list[Link] = []
    cancelled: list[Cancelled] = []
    against: dict[Pair, tuple[Contrast, ...]] = {}
    for pair, found in _by_pair(given).items():
        one, other = pair
        for_one = tuple(contrast for contrast in found if _says_less(contrast, one))
        for_other = tuple(contrast for contrast in found if _says_less(contrast, other))
        against |= {(one, other): for_other, (other, one): for_one}
        if for_one and for_other:
            cancelled.append(Cancelled(one, other, for_one, for_other))
        elif for_one or for_other:
            links += _links((one, other) if for_one else (other, one), for_one or for_other)
    _refuse_circles(links)
    edges = tuple(_closed(links))
    _refuse_contradicted(edges, against)
    by_pair: dict[Pair, tuple[Edge, ...]] = {}
    for edge in edges:
        by_pair[edge.lower, edge.higher] = (*by_pair.get((edge.lower, edge.higher), ()), edge)
    return EvidenceOrder(edges, tuple(cancelled), given, by_pair)


@cache
def bundled_order() -> EvidenceOrder:
    """The order that the bundled contrasts give."""
    return evidence_order(bundled_contrasts())


def _holds(contrast: Contrast, equipment: Equipment) -> bool:
    """A contrast measured with equipment on (or off) says nothing of the other; one that does not say holds for all."""
    return contrast.equipment in (equipment, "any", "not_reported")


def _by_pair(contrasts: Iterable[Contrast]) -> Mapping[Pair, tuple[Contrast, ...]]:
    found: dict[Pair, tuple[Contrast, ...]] = {}
    for contrast in contrasts:
        for equipment in EQUIPMENT:
            if _holds(contrast, equipment):
                one, other = sorted((Handled(contrast.lower, equipment), Handled(contrast.higher, equipment)))
                found[one, other] = (*found.get((one, other), ()), contrast)
    return found


def _says_less(contrast: Contrast, handled: Handled) -> bool:
    """Whether the contrast found this one of its two handlings to move less in some plane."""
    return bool(contrast.planes.which("less" if contrast.lower == handled.kind else "more"))


def _links(pair: Pair, contrasts: Collection[Contrast]) -> Iterator[Link]:
    layers: dict[tuple[str, str], list[Contrast]] = defaultdict(list)
    for contrast in contrasts:
        layers[contrast.layer].append(contrast)
    for layer in layers.values():
        yield Link(*pair, tuple(layer))


def _closed(links: Iterable[Link]) -> Iterator[Edge]:
    """Every edge within one layer: by the fewest links, found breadth first."""
    above: dict[tuple[str, str], dict[Handled, list[Link]]] = defaultdict(lambda: defaultdict(list))
    for link in links:
        above[link.contrasts[0].layer][link.lower].append(link)
    for layer in above.values():
        for start in list(layer):
            reached: dict[Handled, tuple[Link, ...]] = {start: ()}
            for handled in (waiting := [start]):
                for link in layer.get(handled, ()):
                    if link.higher not in reached:
                        reached[link.higher] = (*reached[handled], link)
                        waiting.append(link.higher)
            yield from (Edge(chain) for chain in reached.values() if chain)


def _refuse_circles(links: Iterable[Link]) -> None:
    above: dict[Handled, list[Handled]] = defaultdict(list)
    for link in links:
        above[link.lower].append(link.higher)
    try:
        TopologicalSorter(above).prepare()
    except CycleError as error:
        circle = " -> ".join(map(str, error.args[1]))
        told = f"each moved less than the next, in a circle: {circle}; leave out the weakest"
        raise EvidenceError([EvidenceProblem("contrasts", "planes", told)]) from None


def _refuse_contradicted(edges: Iterable[Edge], against: Mapping[Pair, tuple[Contrast, ...]]) -> None:
    problems = [
        EvidenceProblem(
            ", ".join(contrast.id for contrast in edge.contrasts),
            "planes",
            f"together put {edge.lower} below {edge.higher}, but {contrast.id} found more in some plane: "
            "leave one of them out",
        )
        for edge in edges
        for contrast in against.get((edge.lower, edge.higher), ())
    ]
    if problems:
        raise EvidenceError(problems)


def _edge_in_words(edge: Edge) -> str:
    if not edge.is_derived:
        return "; ".join(contrast.said_of(edge.lower.kind) for contrast in edge.links[0].contrasts)
    steps = ", then ".join(
        f"{link.lower.kind} against {link.higher.kind}: "
        + "; ".join(contrast.said_of(link.lower.kind) for contrast in link.contrasts)
        for link in edge.links
    )
    return f"not compared directly; in steps: {steps}"
