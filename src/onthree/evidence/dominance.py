"""One collection of handlings against another: whether the evidence puts it before, and in which words."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import chain

from onthree.evidence.measured import what_it_is_not
from onthree.evidence.order import EvidenceOrder, Handled

Pairs = tuple[tuple[Handled, Handled], ...]


def dominates(a: Iterable[Handled], b: Iterable[Handled], order: EvidenceOrder) -> bool:
    """Whether each handling of ``a`` has its own in ``b``, the same or one that moved more, and ``b`` is not the same.

    What both have is cancelled first. Handlings that are left over in ``b`` count against ``b``. A kind without
    evidence is comparable only with itself. Within one measured quantity and metric this is a strict order; across
    them it goes in no circle, but is not chained: nothing is lent from one quantity to another.
    """
    rest_a, rest_b = _without_common(Counter(a), Counter(b))
    return bool(rest_a or rest_b) and _paired(rest_a, rest_b, order) is not None


def undominated(options: Sequence[Collection[Handled]], order: EvidenceOrder) -> tuple[int, ...]:
    """The indices of the options that no other one dominates, in their order."""
    counts = [Counter(option) for option in options]
    packed = _packed(counts)
    with_edge = {edge.lower for edge in order.edges}
    only_itself = sum(bit for (handled, _), bit in packed.items() if handled not in with_edge)
    bits = [sum(packed[handled, n] for handled, count in each.items() for n in range(count)) for each in counts]
    distinct = dict(zip(bits, counts, strict=True))

    def is_dominated(mine: int) -> bool:
        return any(
            other != mine
            and other & ~mine & only_itself == 0
            and other.bit_count() <= mine.bit_count()
            and dominates(distinct[other].elements(), distinct[mine].elements(), order)
            for other in distinct
        )

    dominated = {mine for mine in distinct if is_dominated(mine)}
    return tuple(index for index, mine in enumerate(bits) if mine not in dominated)


def comparison_lines(order: EvidenceOrder, a: Iterable[Handled], b: Iterable[Handled]) -> tuple[str, ...]:
    """The sentences to show for why ``a`` stands before ``b`` by evidence, or why it does not."""
    common = Counter(a) & Counter(b)
    rest_a, rest_b = _without_common(Counter(a), Counter(b))
    pairs = _paired(rest_a, rest_b, order)
    if not rest_a and not rest_b:
        return ("The same handlings: nothing to compare.",)
    lines = [f"The same in both: {_listed(common.elements())}."] if common else []
    if pairs is None:
        return (*lines, *_not_ordered(order, rest_a, rest_b))
    lines += [f"{one} instead of {other}: {order.why(one, other)}." for one, other in pairs]
    if left := list((Counter(rest_b) - Counter(other for _, other in pairs)).elements()):
        lines.append(f"Without: {_listed(left)}.")
    rests_on = [contrast for pair in pairs for edge in order.by_pair[pair] for contrast in edge.contrasts]
    return (*lines, *dict.fromkeys(chain.from_iterable(map(what_it_is_not, rests_on))))


def _not_ordered(order: EvidenceOrder, rest_a: Sequence[Handled], rest_b: Sequence[Handled]) -> Iterable[str]:
    yield f"The evidence does not put {_listed(rest_a)} before {_listed(rest_b) or 'nothing more'}."
    found = [(one, other) for one in dict.fromkeys(rest_a) for other in dict.fromkeys(rest_b)]
    compared = [
        pair for pair in found if order.compared(*pair) or order.is_better(*pair) or order.is_better(*pair[::-1])
    ]
    yield from (f"{one} against {other}: {order.why(one, other)}." for one, other in compared)
    if not compared:
        yield "No source compares them."


def _listed(handlings: Iterable[Handled]) -> str:
    counted = Counter(handlings)
    return ", ".join(f"{handled}" if count == 1 else f"{count} times {handled}" for handled, count in counted.items())


def _without_common(a: Counter[Handled], b: Counter[Handled]) -> tuple[list[Handled], list[Handled]]:
    return sorted((a - b).elements()), sorted((b - a).elements())


def _paired(a: Sequence[Handled], b: Sequence[Handled], order: EvidenceOrder) -> Pairs | None:
    """Each of ``a`` with one of its own in ``b`` that moved more, or None (augmenting paths)."""
    if len(a) > len(b):
        return None
    taken: dict[int, int] = {}

    def find(mine: int, tried: set[int]) -> bool:
        for theirs, other in enumerate(b):
            if theirs in tried or not order.is_better(a[mine], other):
                continue
            tried.add(theirs)
            if theirs not in taken or find(taken[theirs], tried):
                taken[theirs] = mine
                return True
        return False

    if not all(find(mine, set()) for mine in range(len(a))):
        return None
    return tuple((a[mine], b[theirs]) for theirs, mine in sorted(taken.items(), key=lambda pair: pair[1]))


def _packed(counts: Iterable[Counter[Handled]]) -> Mapping[tuple[Handled, int], int]:
    """One bit for the first, the second, ... of each handling: what one option has and another lacks is one and-not."""
    most: Counter[Handled] = Counter()
    for each in counts:
        most |= each
    places = [(handled, n) for handled, count in sorted(most.items()) for n in range(count)]
    return {place: 1 << number for number, place in enumerate(places)}
