"""Every reference number stands with its conditions and its source."""

import pytest

from onthree.loads.limits import ReferenceNumber, people_needed, reference_number, reference_numbers
from onthree.sources import source


@pytest.mark.parametrize("number", reference_numbers(), ids=lambda number: number.key)
def test_no_number_without_what_the_field_breaks(number: ReferenceNumber) -> None:
    assert any(condition.is_always_broken for condition in number.conditions)
    assert "Reference only" in number.sentence
    assert source(number.source)


def test_a_ratio_just_below_a_whole_number_is_shown() -> None:
    assert str(people_needed(3.9998, 1)) == "4 (force / limit = 3.9998)"


def test_an_unknown_key_names_those_there_are() -> None:
    with pytest.raises(KeyError, match="patient-handling"):
        reference_number("anything")
