"""Minimal transversals against trying every subset, on random families."""

from hypothesis import given
from hypothesis import strategies as st

from onthree.transfers.minimal_sets import inclusion_minimal, minimal_transversals

MEMBERS = 7
families = st.lists(st.integers(0, 2**MEMBERS - 1), max_size=7)


@given(families)
def test_equal_to_trying_every_subset(family: list[int]) -> None:
    meeting = [bits for bits in range(2**MEMBERS) if all(bits & members for members in family)]

    assert set(minimal_transversals(family)) == set(inclusion_minimal(meeting))


@given(families.filter(lambda family: 0 not in family))
def test_the_transversals_of_the_transversals_are_the_minimal_sets(family: list[int]) -> None:
    assert set(minimal_transversals(minimal_transversals(family))) == set(inclusion_minimal(family))
