"""The clean invented game as the tests of transfers ask about it."""

from dataclasses import replace
from datetime import date
from typing import Any

from onthree.programme.presence import read_hands
from onthree.programme.records import PreAgreement
from onthree.techniques.library import Library, bundled_library
from onthree.transfers.options import AthleteAnswer, OptionsEngine, engine_for
from onthree.transfers.situation import situation_of, with_hands
from tests.invented import clean_programme

ONTO_BY_LIFT = (
    "straddle_lift_long_board",
    "eight_person_lift_long_board",
    "six_plus_lift_long_board",
    "lift_and_slide_long_board",
)
SCOOPS = ("scoop_foot_end_first", "scoop_head_end_first")


def settled(answer: str, *about: str, agency: str = "AG-1") -> tuple[PreAgreement, ...]:
    """What an agency answered about techniques or ways of arriving, settled in July."""
    return tuple(
        PreAgreement(
            code=f"{agency} {answer} {one}", agency=agency, technique=one, answer=answer, settled_on=date(2026, 7, 15)
        )
        for one in about
    )


def engine_of(
    *agreements: PreAgreement,
    hands: str = "",
    library: Library | None = None,
    orders: tuple[str, ...] = (),
    **changes: Any,
) -> OptionsEngine:
    """The engine of the clean game with more agreements, other hands, more orders, and changed records."""
    programme = clean_programme(**changes)
    programme = replace(programme, agreements={**programme.agreements, **{one.code: one for one in agreements}})
    event = programme.events["E-1"]
    situation = situation_of(programme, event)
    situation = replace(situation, orders=situation.orders | set(orders))
    if hands:
        situation = with_hands(situation, read_hands(hands))
    return engine_for(programme, event, library or bundled_library(), situation)


def asked(engine: OptionsEngine, position: str = "supine", who: str = "T1-12", **more: Any) -> AthleteAnswer:
    """The answer for an athlete of the clean game."""
    return engine.answer(engine.programme.athletes[who], position, **more)


def planned(answer: AthleteAnswer) -> list[str]:
    """The techniques of the planned option."""
    assert answer.planned
    return [step.technique.id for step in answer.planned.option.steps]


def onto(answer: AthleteAnswer) -> str:
    """The planned way onto a carrying device."""
    assert answer.planned
    return next(step.technique.id for step in answer.planned.option.steps if "device" in step.technique.after)


def fix_ids(answer: AthleteAnswer) -> set[frozenset[str]]:
    """The smallest fixes, as identifiers of causes."""
    return {frozenset(cause.id for cause in fix) for fix in answer.fixes}
