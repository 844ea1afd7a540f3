"""Minimal hitting sets of the family worked through in R. Reiter's paper on diagnosis."""

import pytest

from onthree.transfers.minimal_sets import minimal_transversals

FAMILY = ({2, 4, 5}, {1, 2, 3}, {1, 3, 5}, {2, 4, 6}, {2, 4}, {2, 3, 5}, {1, 6})
PRINTED = ({1, 2}, {2, 3, 6}, {2, 5, 6}, {1, 3, 4}, {1, 4, 5}, {3, 4, 6})


@pytest.mark.published("reiter-1987", where="example of the hitting-set tree, from memory")
def test_the_minimal_hitting_sets_are_those_of_the_paper() -> None:
    found = minimal_transversals(_bits(members) for members in FAMILY)

    assert sorted(found) == sorted(_bits(members) for members in PRINTED)


def _bits(members: set[int]) -> int:
    return sum(1 << member for member in members)
