"""What is done around every handling is said; what local protocol allows is shown when signed, and never ranked."""

from datetime import date

from onthree.programme.programme import Scope, programme_of
from onthree.programme.records import MedicalOrder
from onthree.techniques.library import bundled_library
from onthree.transfers.beside import beside_options, under_local_protocol
from onthree.transfers.options import OptionsEngine, engine_for
from tests.invented import DAY, clean_records

SELF = "assisted_self_extrication"


def engine(*orders: MedicalOrder) -> OptionsEngine:
    programme = programme_of([*clean_records(), *orders], DAY, Scope())
    return engine_for(programme, programme.events["E-1"], bundled_library())


def order(until: date | None = None) -> MedicalOrder:
    return MedicalOrder(
        code="MO-99", about=SELF, signer="physician", signed_on=date(2026, 8, 1), until=until, conditions="no pain"
    )


def test_four_limbs_are_checked_before_and_after_every_handling() -> None:
    assert any(text.startswith("Before and after every handling: neuro check") for text in beside_options(engine()))


def test_nothing_is_shown_that_medical_direction_did_not_sign_for_the_day() -> None:
    assert under_local_protocol(engine()) == ()
    assert under_local_protocol(engine(order(until=date(2026, 11, 26)))) == ()


def test_what_was_signed_is_shown_with_its_conditions_and_no_option_has_it() -> None:
    signed = engine(order())
    (one,) = under_local_protocol(signed)
    answer = signed.answer(signed.programme.athletes["T1-12"], "supine")

    assert one.sentence.startswith("Only under local protocol, never planned here: ")
    assert "no pain" in one.sentence and len(one.conditions) > 1
    assert SELF not in {step.technique.id for ranked in answer.ranking.ranked for step in ranked.option.steps}
