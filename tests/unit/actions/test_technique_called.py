"""Naming a technique on the command line."""

import pytest

from onthree.actions.event_answer import NotFoundError, technique_called
from onthree.techniques.library import bundled_library


@pytest.mark.parametrize(
    "typed", ["log_roll_push_long_board", "Log roll push long-board", " log-roll-push-long-board "]
)
def test_blanks_and_hyphens_do(typed: str) -> None:
    assert technique_called(typed) == "log_roll_push_long_board"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("direct_lift_to_cot", "it is shown only under local protocol, and no option has it"),
        ("assisted self-extrication", "it is shown only under local protocol, and no option has it"),
        ("neuro_check", "it is done around every handling, and no option has it"),
        ("log_roll_push", "did you mean"),
    ],
)
def test_what_no_option_has_is_said_with_its_reason(typed: str, said: str) -> None:
    with pytest.raises(NotFoundError, match=said):
        technique_called(typed)


def test_only_what_may_stand_in_an_option_can_be_asked_for() -> None:
    library = bundled_library()

    for technique in library.techniques:
        if technique in library.moves:
            assert technique_called(technique.id) == technique.id
        else:
            with pytest.raises(NotFoundError, match="no option has it"):
                technique_called(technique.id)
