"""Small families whose minimal sets are plain to see."""

from onthree.transfers.minimal_sets import inclusion_minimal, minimal_transversals


def test_a_set_that_holds_another_is_left_out() -> None:
    assert inclusion_minimal([0b111, 0b011, 0b100, 0b011]) == (0b100, 0b011)


def test_the_empty_set_leaves_out_all_others() -> None:
    assert inclusion_minimal([0b1, 0]) == (0,)


def test_no_sets_are_met_by_the_empty_set() -> None:
    assert minimal_transversals([]) == (0,)


def test_an_empty_set_is_met_by_none() -> None:
    assert minimal_transversals([0b1, 0]) == ()


def test_disjoint_pairs_have_two_to_the_power_of_pairs() -> None:
    assert len(minimal_transversals([0b11, 0b1100, 0b110000])) == 8
