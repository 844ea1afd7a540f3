"""Any order that keeps the precedence derived from facts is a way to the same end, through the same conditions."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onthree.techniques.library import bundled_library
from onthree.techniques.state import POSITIONS, found
from onthree.transfers.catalogue import Option, catalogue
from onthree.transfers.goals import DEVICE_IN, DEVICE_OUT
from onthree.transfers.precedence import head_hold, precedence

LIBRARY = bundled_library().on_way("flat")
OPTIONS = [
    option
    for position in POSITIONS
    for goal in (DEVICE_IN, DEVICE_OUT)
    for option in catalogue(LIBRARY, found(position, "screws"), goal)
]


def any_order(option: Option, chance: random.Random) -> list[int]:
    """The places of the steps in some order that keeps the precedence."""
    waits, done = precedence(option), []
    left = set(range(len(option.steps)))
    while left:
        ready = [late for late in left if not any(early in left for early, other in waits if other == late)]
        done.append(chance.choice(sorted(ready)))
        left.remove(done[-1])
    return done


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(OPTIONS), st.randoms(use_true_random=False))
def test_another_order_that_keeps_it_can_be_done_and_ends_the_same(option: Option, chance: random.Random) -> None:
    state = option.steps[0].state
    for place in any_order(option, chance):
        technique = option.steps[place].technique
        assert technique.is_open_in(state)
        state = technique.leads_to(state)

    last = option.steps[-1]
    assert state == last.technique.leads_to(last.state)


def test_some_steps_may_overlap_and_most_must_not() -> None:
    most = max(OPTIONS, key=lambda option: len(option.steps))
    pairs = len(most.steps) * (len(most.steps) - 1) // 2

    assert 0 < len(precedence(most)) < pairs


@pytest.mark.parametrize("option", [OPTIONS[0], OPTIONS[-1]])
def test_one_person_holds_the_head_from_the_first_step_until_it_is_secured(option: Option) -> None:
    held = head_hold(option)

    assert held is not None
    first, last = held
    assert option.steps[first].technique.id == "manual_in_line_stabilization"
    assert option.steps[last].technique.after["head"] in ("secured", "held by crew")
    assert all(step.state.head == "held" for step in option.steps[first + 1 : last + 1])
