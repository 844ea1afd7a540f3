"""Every option with every kind of item it may use, judged and put in order; one ranking serves athletes of one kind."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_
from typing import Literal, NamedTuple

from onthree.evidence.dominance import undominated
from onthree.evidence.order import EvidenceOrder
from onthree.programme.places import PREFERENCES
from onthree.techniques.verdict import Verdict
from onthree.transfers.catalogue import Option, Step
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
    refused: Bits
    """Those of ``against`` that say no."""
    alike: tuple[str, ...]
    """Codes of further items that would serve just as well."""

    @property
    def waits_s(self) -> float:
        """From the call to the end [s]: waiting for people and items, then the usual times; a guess."""
        return 60 * self.from_min + self.option.usual_s


@dataclass(frozen=True)
class Ranking:
    """Options in order, the planned one first; ``ties``: options that only the usual order tells from the planned one.

    Sets of causes are by identifier, and empty where an option is possible.
    """

    ranked: tuple[Ranked, ...]
    undominated: frozenset[Option]
    """Of the options that are agreed and current most, those that no other dominates by evidence."""
    preference: tuple[str, ...]
    ties: tuple[Option, ...]
    names: tuple[str, ...]
    """Identifiers of the causes, in the order of their bits."""
    implied: tuple[Bits, ...]
    """For each cause those that are mended with it, itself among them: eight hands are five."""

    @cached_property
    def fixes(self) -> tuple[frozenset[str], ...]:
        """The smallest sets whose mending opens an option."""
        return tuple(self.named(self._strongest(one)) for one in self._closed)

    @cached_property
    def blocks(self) -> tuple[frozenset[str], ...]:
        """The smallest sets of which each option has one."""
        return tuple(map(self.named, minimal_transversals(self._closed))) if self._closed else ()

    @cached_property
    def clashes(self) -> tuple[frozenset[str], ...]:
        """The smallest sets of agreements that close every option which nothing else closes.

        Where something else stands against every option, those count of which it is not known that they are closed.
        """
        agreements = sum(1 << place for place, name in enumerate(self.names) if name.startswith("agreement/"))
        by_them = [one.against for one in self.ranked if one.against & ~agreements == 0]
        if not by_them:
            by_them = [one.against & agreements for one in self.ranked if one.refused & ~agreements == 0]
        is_open = not by_them or not all(by_them)
        return () if is_open else tuple(map(self.named, minimal_transversals(by_them)))

    def named(self, bits: Bits) -> frozenset[str]:
        """A set of causes as identifiers."""
        return frozenset(name for place, name in enumerate(self.names) if bits >> place & 1)

    def bits_of(self, names: Collection[str]) -> Bits:
        """Causes by identifier as a set."""
        return sum(1 << place for place, name in enumerate(self.names) if name in names)

    @cached_property
    def _closed(self) -> tuple[Bits, ...]:
        """What stands against the options, with everything mended along; none where an option is possible."""
        if any(one.status == "possible" for one in self.ranked):
            return ()
        return inclusion_minimal(self._with_implied(bits) for bits in {one.against for one in self.ranked})

    def _with_implied(self, bits: Bits) -> Bits:
        return reduce(or_, (implied for place, implied in enumerate(self.implied) if bits >> place & 1), 0)

    def _strongest(self, bits: Bits) -> Bits:
        """A set without the causes that another one in it implies."""
        for place, implied in enumerate(self.implied):
            if bits >> place & 1:
                bits &= ~(implied & ~(1 << place))
        return bits


def rank(
    judge: Judge, options: Sequence[Option], order: EvidenceOrder, preference: Sequence[str] = PREFERENCES
) -> Ranking:
    """Judge options and put them in order.

    Possible before unknown before not; then fewest ways onto or off a device that the agency did not agree to, and
    fewest handlings for which people are not current. Among these by ``preference``: usually first those that no other
    dominates by evidence, then fewest handlings, fewest people, least time. Last the usual order, and the lowest
    rating that suffices. No motion is ever called safe.
    """
    bits = _Bits()
    judged = tuple(_judged(judge, options, bits))
    possible = [one for one in judged if one.status == "possible"]
    most_settled = min(map(_settled, possible), default=None)
    first = [one for one in possible if _settled(one) == most_settled]
    kept = list(dict.fromkeys(one.option for one in first))
    best = frozenset(kept[place] for place in undominated([option.handled for option in kept], order))
    by = (*preference, *(name for name in PREFERENCES if name not in preference))

    def told(one: Ranked) -> tuple[object, ...]:
        return (*_before(one), *(preferred(name, one, best) for name in by))

    ranked = tuple(sorted(judged, key=lambda one: (*told(one), *_usual(one))))
    ties = dict.fromkeys(one.option for one in ranked[1:] if possible and told(one) == told(ranked[0]))
    return Ranking(
        ranked,
        best,
        by,
        tuple(option for option in ties if option is not ranked[0].option),
        tuple(bits.of),
        bits.implied(),
    )


def preferred(name: str, one: Ranked, best: Collection[Option]) -> tuple[bool | int | float, ...]:
    """By what an option is compared under a word of ``PREFERENCES``; the smaller comes first."""
    match name:
        case "evidence":
            return (one.option not in best,)
        case "handlings":
            return (one.option.handlings_count,)
        case "people":
            return one.people_count, one.people_sum_count
        case "time":
            return (one.waits_s,)
    raise ValueError(f"{name!r} given, expected one of: {', '.join(PREFERENCES)}")


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
        self._needed: dict[str, Counter[str]] = {}

    def of_step(self, judged: Judged) -> tuple[Bits, Bits]:
        """The causes of a step that say no, and those not known."""
        masks = {Verdict.NO: 0, Verdict.UNKNOWN: 0}
        for cause in judged.open_causes:
            masks[cause.verdict] |= self.of.setdefault(cause.id, 1 << len(self.of))
            if cause.id.startswith("hands/"):
                self._needed[cause.id] = judged.needed
        return masks[Verdict.NO], masks[Verdict.UNKNOWN]

    def implied(self) -> tuple[Bits, ...]:
        """For each cause those that are mended with it: whoever brings hands for eight has brought them for five."""
        return tuple(bit | self._fewer_hands(name) for name, bit in self.of.items())

    def _fewer_hands(self, name: str) -> Bits:
        needed = self._needed.get(name)
        if needed is None:
            return 0
        fewer = (other for other, theirs in self._needed.items() if theirs < needed)
        return reduce(or_, (self.of[other] for other in fewer), 0)


class _Counted(NamedTuple):
    """What one step adds to an option."""

    no: Bits
    unknown: Bits
    from_min: int
    people_count: int
    unagreed_count: int
    not_current_count: int


def _counted(judge: Judge, step: Step, items: Items, bits: _Bits) -> _Counted:
    judged, technique = judge.judged(step, items), step.technique
    agency = items.vehicle.agency.code if items.vehicle else ""
    return _Counted(
        *bits.of_step(judged),
        judged.from_min,
        judged.people_count,
        technique.is_negotiated and judge.situation.answer(agency, technique.id) != "agreed",
        technique.handling.counts and not judged.is_current,
    )


def _judged(judge: Judge, options: Iterable[Option], bits: _Bits) -> Iterator[Ranked]:
    """Every option with every kind of item it may use."""
    known: dict[int, dict[tuple[object, ...], _Counted]] = {}
    for option in options:
        for items, alike in judge.choices(option.devices):
            of_steps = known.setdefault(id(items), {})  # the judge keeps its choices
            counted = []
            for step in option.steps:
                if step.judged_as not in of_steps:
                    of_steps[step.judged_as] = _counted(judge, step, items, bits)
                counted.append(of_steps[step.judged_as])
            yield _ranked(option, items, counted, alike)


def _ranked(option: Option, items: Items, counted: Sequence[_Counted], alike: tuple[str, ...]) -> Ranked:
    nos, unknowns, minutes, people, unagreed, not_current = zip(*counted, strict=True)
    no, unknown = reduce(or_, nos), reduce(or_, unknowns)
    return Ranked(
        option,
        items,
        status=_STATUSES[2 if no else 1 if unknown else 0],
        from_min=max(minutes),
        unagreed_count=sum(unagreed),
        not_current_count=sum(not_current),
        people_count=max(people),
        people_sum_count=sum(people),
        against=no | unknown,
        refused=no,
        alike=alike,
    )


def _settled(one: Ranked) -> tuple[int, int]:
    return one.unagreed_count, one.not_current_count


def _before(one: Ranked) -> tuple[object, ...]:
    return _STATUSES.index(one.status), *_settled(one)


def _usual(one: Ranked) -> tuple[object, ...]:
    devices = [there.gear for there in one.items.devices.values() if there]
    return (
        one.option.usual_order,
        tuple(gear.rated_load.kg if gear.rated_load else 0 for gear in devices),
        tuple(gear.code for gear in devices),
    )
