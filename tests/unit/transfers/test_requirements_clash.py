"""Ways of arriving that no chain of techniques meets together are told as a clash, not passed over."""

from dataclasses import replace

import pytest

from onthree.programme.records import PreAgreement
from onthree.techniques.library import bundled_library
from onthree.transfers.agreements import clashes
from onthree.transfers.options import OptionsEngine, engine_for
from tests.invented import clean_programme


def engine_requiring(*arrivals: str) -> OptionsEngine:
    programme = clean_programme()
    required = {
        f"AGR-{arrival}": PreAgreement(code=f"AGR-{arrival}", agency="AG-1", technique=arrival, answer="required")
        for arrival in arrivals
    }
    programme = replace(programme, agreements={**programme.agreements, **required})
    return engine_for(programme, programme.events["E-1"], bundled_library())


@pytest.mark.parametrize(
    "arrivals",
    [("device in", "device out"), ("equipment on", "equipment off"), ("device out", "head secured")],
    ids=" and ".join,
)
def test_requirements_that_nothing_meets_together_clash(arrivals: tuple[str, str]) -> None:
    found = clashes(engine_requiring(*arrivals))

    assert {clash.position for clash in found} == {"supine", "prone"}
    assert {clash.together for clash in found} == {frozenset(("AG-1", arrival) for arrival in arrivals)}


@pytest.mark.parametrize("arrival", ["device in", "device out", "equipment on", "equipment off", "head secured"])
def test_one_requirement_alone_is_no_clash(arrival: str) -> None:
    assert clashes(engine_requiring(arrival)) == ()
