"""Every option with every kind of item it may use, judged and put in order; one ranking serves athletes of one kind."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from onthree.evidence.dominance import undominated
from onthree.evidence.order import EvidenceOrder
from onthree.techniques.verdict import Verdict
from onthree.transfers.catalogue import Option
from onthree.transfers.causes import Cause, Items
from onthree.transfers.judge import Judge, Judged
from onthree.transfers.minimal_sets import Bits, inclusion_minimal, minimal_transversals

Status = Literal["possible", "unknown", "not possible"]
_STATUSES: tuple[Status, ...] = ("possible", "unknown", "not possible")


@dataclass(frozen=True)
class Ranked:
    """One option with the items it uses. ``from_min`` [min]: when the last of its people and items is there."""

    option: Option
    items: Items
    status: Status
    from_min: int
    unagreed_count: int
    """Ways onto or off a device that the agency did not agree to."""
    not_current_count: int
    """Handlings for which not enough people were checked off lately."""
    people_count: int
    """At once, in its most demanding technique."""
    people_sum_count: int
    """Of all its techniques together."""
    against: Bits
    alike: tuple[str, ...]
    """Codes of further items that would serve just as well."""

    @property
    def waits_s(self) -> float:
        """From the call to the end [s]: waiting for people and items, then the usual times; a guess."""
        return 60 * self.from_min + self.option.usual_s


@dataclass(frozen=True)
class Ranking:
    """Options in order, the planned one first; sets of causes by identifier, empty where an option is possible.

    ``fixes``: the smallest sets whose mending opens an option. ``blocks``: the smallest sets of which each option has
    one. ``clashes``: the smallest sets of agreements that close every option nothing else closes. ``ties``: options
    that nothing tells from the planned one but the usual order.
    """

    ranked: tuple[Ranked, ...]
    fixes: tuple[frozenset[str], ...]
    blocks: tuple[frozenset[str], ...]
    clashes: tuple[frozenset[str], ...]
    undominated_count: int
    ties: tuple[Option, ...]
    names: tuple[str, ...]
    """Identifiers of the causes, in the order of their bits."""

    def named(self, bits: Bits) -> frozenset[str]:
        """A set of causes as identifiers."""
        return frozenset(name for place, name in enumerate(self.names) if bits >> place & 1)


def rank(judge: Judge, options: Sequence[Option], order: EvidenceOrder) -> Ranking:
    """Judge options and put them in order.

    Possible before unknown before not; then fewest ways onto or off a device that the agency did not agree to, and
    fewest handlings for which people are not current; of those the options that no other dominates by evidence; among
    these fewest handlings, fewest people, least time, the usual order, and the lowest rating that suffices. No motion
    is ever called safe.
    """
    bits = _Bits()
    judged = [one for option in options for one in _judged(judge, option, bits)]
    possible = [one for one in judged if one.status == "possible"]
    first = [one for one in possible if _settled(one) == min(map(_settled, possible))]
    kept = list(dict.fromkeys(one.option for one in first))
    best = {kept[place] for place in undominated([option.handled for option in kept], order)}
    ranked = tuple(sorted(judged, key=lambda one: (*_before(one), one.option not in best, *_after(one))))
    closed = () if possible else inclusion_minimal(one.against for one in judged)
    ties = tuple(
        dict.fromkeys(one.option for one in ranked[1:] if possible and _told(one, best) == _told(ranked[0], best))
    )
    return Ranking(
        ranked,
        tuple(map(bits.named, closed)),
        tuple(map(bits.named, minimal_transversals(closed))) if closed else (),
        () if possible else _clashes(judged, bits),
        len(best),
        tuple(option for option in ties if option is not ranked[0].option),
        tuple(bits.of),
    )


def against(judge: Judge, option: Option, items: Items) -> Iterator[Cause]:
    """What stands against an option with these items: of several causes with one identifier the worst."""
    worst: dict[str, Cause] = {}
    for step in option.steps:
        for cause in judge.judged(step, items).causes:
            if cause.verdict and (cause.id not in worst or cause.verdict > worst[cause.id].verdict):
                worst[cause.id] = cause
    yield from worst.values()


class _Bits:
    """Identifiers of causes as bits."""

    def __init__(self) -> None:
        self.of: dict[str, Bits] = {}
        self.agreements: Bits = 0
        self._steps: dict[int, tuple[Bits, Bits]] = {}

    def of_step(self, judged: Judged) -> tuple[Bits, Bits]:
        """The causes of a step that say no, and those not known."""
        if id(judged) not in self._steps:
            masks = {Verdict.NO: 0, Verdict.UNKNOWN: 0}
            for cause in judged.open_causes:
                bit = self.of.setdefault(cause.id, 1 << len(self.of))
                masks[cause.verdict] |= bit
                if cause.id.startswith("agreement/"):
                    self.agreements |= bit
            self._steps[id(judged)] = masks[Verdict.NO], masks[Verdict.UNKNOWN]
        return self._steps[id(judged)]

    def named(self, bits: Bits) -> frozenset[str]:
        """Bits as identifiers."""
        return frozenset(name for name, bit in self.of.items() if bits & bit)


def _judged(judge: Judge, option: Option, bits: _Bits) -> Iterator[Ranked]:
    for items, alike in judge.choices(option.devices):
        agency = items.vehicle.agency.code if items.vehicle else ""
        no = unknown = minute = unagreed = not_current = people = together = 0
        for step in option.steps:
            one = judge.judged(step, items)
            step_no, step_unknown = bits.of_step(one)
            no, unknown, minute = no | step_no, unknown | step_unknown, max(minute, one.from_min)
            people, together = max(people, one.people_count), together + one.people_count
            if step.technique.is_negotiated:
                unagreed += judge.situation.answer(agency, step.technique.id) != "agreed"
            if step.technique.handling.counts:
                not_current += not one.is_current
        status = _STATUSES[2 if no else 1 if unknown else 0]
        yield Ranked(option, items, status, minute, unagreed, not_current, people, together, no | unknown, alike)


def _settled(one: Ranked) -> tuple[int, int]:
    return one.unagreed_count, one.not_current_count


def _before(one: Ranked) -> tuple[object, ...]:
    return _STATUSES.index(one.status), *_settled(one)


def _after(one: Ranked) -> tuple[object, ...]:
    devices = [there.gear for there in one.items.devices.values() if there]
    return (
        one.option.handlings_count,
        one.people_count,
        one.people_sum_count,
        one.waits_s,
        tuple(step.technique.order for step in one.option.steps),
        tuple(gear.rated_load.kg if gear.rated_load else 0 for gear in devices),
        tuple(gear.code for gear in devices),
    )


def _told(one: Ranked, best: set[Option]) -> tuple[object, ...]:
    """Everything that the order of preference looks at, but for the usual order and the items."""
    return (*_before(one), one.option not in best, *_after(one)[:4])


def _clashes(judged: Iterable[Ranked], bits: _Bits) -> tuple[frozenset[str], ...]:
    """The smallest sets of agreements of which each option has one that nothing but agreements closes."""
    by_agreements = [one.against for one in judged if one.against & ~bits.agreements == 0]
    return tuple(map(bits.named, minimal_transversals(by_agreements))) if by_agreements else ()
