"""Two options side by side, fact by fact, and what the evidence says of them."""

from collections.abc import Iterator
from typing import NamedTuple

from onthree.evidence.dominance import comparison_lines
from onthree.evidence.order import EvidenceOrder
from onthree.transfers.catalogue import Option
from onthree.transfers.options import OptionResult

_MILESTONES = {
    "head": ("secured", "head secured"),
    "mask": ("off", "face mask off"),
    "equipment": ("off", "equipment off"),
    "device": ("none", "device out"),
    "collar": ("on", "collar on"),
}
"""Field of a state to the value that is reached, and what to call that."""


class Difference(NamedTuple):
    """A fact in which two options differ, and what it is in each."""

    fact: str
    one: str
    other: str


def differences(one: OptionResult, other: OptionResult) -> tuple[Difference, ...]:
    """The facts in which two options differ; what is the same in both is left out."""
    facts = zip(_facts(one), _facts(other), strict=True)
    return tuple(Difference(name, mine, theirs) for (name, mine), (_, theirs) in facts if mine != theirs)


def evidence_lines(order: EvidenceOrder, one: Option, other: Option) -> tuple[str, ...]:
    """What the evidence says of one option against another."""
    return comparison_lines(order, one.handled, other.handled)


def _facts(result: OptionResult) -> Iterator[tuple[str, str]]:
    option = result.option
    yield "answer", result.status
    yield "handlings", str(option.handlings_count)
    yield "people at once", str(result.people_count)
    yield "who lifts to the cot", str(result.lifters_count)
    yield "from minute", "never" if result.from_min is None else str(result.from_min)
    yield "ways not agreed with the agency", str(result.unagreed_count)
    yield "handlings not in practice", str(result.not_current_count)
    yield "with", ", ".join(result.device_names) or "no device"
    for name in _MILESTONES:
        yield _MILESTONES[name][1], _where(option, name)
    yield "handled by", ", ".join(step.technique.title for step in option.steps if step.technique.handling.counts)


def _where(option: Option, name: str) -> str:
    """Where a fact is brought about, in the order of the option; "never" if it is not."""
    value = _MILESTONES[name][0]
    places = [step.state.place for step in option.steps if step.technique.after.get(name) == value]
    return ", then ".join(f"on the {place}" for place in dict.fromkeys(places)) or "never"
