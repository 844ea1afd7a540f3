"""What is said aloud: the rule, its exceptions by number, and nobody left out."""

from dataclasses import replace
from typing import Any

from onthree.programme.presence import Presence
from onthree.techniques.library import bundled_library
from onthree.transfers.options import engine_for
from onthree.transfers.sentence import sentence
from tests.invented import athlete, clean_programme


def said(position: str = "supine", more: tuple[Any, ...] = (), **changes: Any) -> str:
    programme = clean_programme(**changes)
    programme = replace(programme, athletes={**programme.athletes, **{one.code: one for one in more}})
    event = programme.events["E-1"]
    engine = engine_for(programme, event, bundled_library())
    return sentence([engine.answer(one, position) for one in programme.roster(event)], programme.teams)


def test_one_rule_for_everyone() -> None:
    assert said() == "Found supine: scoop, four to six lifters."


def test_the_exception_is_called_by_number() -> None:
    heavy = (athlete("T1-71", 71, "340 lb"), athlete("T1-78", 78, "336 lb"), athlete("T1-10", 10, "180 lb"))

    assert said(more=heavy) == (
        "Found supine: scoop, four to six lifters; except 71, 78: eight-person lift, long board, six lifters."
    )


def test_the_technique_is_said_where_the_device_does_not_tell_it() -> None:
    assert said("prone").startswith("Found prone: log roll by push, long board,")


def test_who_nobody_can_speak_for_is_named_with_what_to_find_out() -> None:
    assert said(T1_52={"mass": None}).endswith(
        "; except 52: not known whether any option is possible (find out body mass)."
    )


def test_an_athlete_without_a_number_is_called_by_code() -> None:
    assert "except T1-99: not known" in said(more=(replace(athlete("T1-99", 0, None), number=None),))


def test_when_nobody_can_be_moved_that_is_the_rule() -> None:
    assert said(BLOCKS={"in_service": False}) == (
        "Found supine: no option with what is here (check the head blocks or bring another)."
    )


def test_what_is_to_be_done_for_the_others_too_is_said_once() -> None:
    nobody = said(BLOCKS={"in_service": False}, T1_52={"mass": None})

    assert nobody == (
        "Found supine: no option with what is here (check the head blocks or bring another); "
        "except 52: no option with what is here (the same; find out body mass)."
    )


def test_holding_is_said_with_its_minute() -> None:
    assert "hold until minute 8" in said(E_1={"vehicles": (Presence("AMB-1", 8),)})


def test_a_list_too_long_to_say_becomes_a_count() -> None:
    many = tuple(athlete(f"T1-{n}", n, "340 lb") for n in range(60, 70))
    light = tuple(athlete(f"T1-{n}", n, "180 lb") for n in range(20, 35))

    assert "; except 10 athletes: eight-person lift" in said(more=(*many, *light))


def test_nobody_listed_is_said() -> None:
    programme = clean_programme(T1_12=None, T1_52=None)

    assert sentence([], programme.teams) == "No athletes are listed for this event."


def test_the_team_is_said_where_two_play() -> None:
    programme = clean_programme()
    otters = replace(programme.teams["T-1"], code="T-2", name="Otters")
    visitor = replace(athlete("T2-70", 70, None), team="T-2")
    event = replace(programme.events["E-1"], teams=("T-1", "T-2"))
    programme = replace(
        programme,
        teams={**programme.teams, "T-2": otters},
        athletes={**programme.athletes, "T2-70": visitor},
        events={"E-1": event},
    )
    engine = engine_for(programme, event, bundled_library())
    text = sentence([engine.answer(one, "supine") for one in programme.roster(event)], programme.teams)

    assert "except Otters 70: not known" in text
