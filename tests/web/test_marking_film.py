"""Neutral, nod and turn marked in a browser while the film of a run stands or plays."""

import pytest

from onthree.actions.runs import run_of
from tests.web.conftest import PageAt

pytestmark = pytest.mark.browser


def test_stretches_are_marked_by_pressing_where_they_start_and_end(page_at: PageAt) -> None:
    page = page_at("phone")
    page.goto("/rehearsals/RUN-3/films/")
    page.wait_for_function("document.querySelector('[data-film]').readyState >= 1")
    stretches = (("Neutral, still", 0.25, 1.5), ("Nod", 2.0, 3.5), ("Turn", 4.0, 6.0))
    for says, from_s, to_s in stretches:
        for end, at_s in (("starts", from_s), ("ends", to_s)):
            page.evaluate("(at_s) => { document.querySelector('[data-film]').currentTime = at_s; }", at_s)
            page.get_by_role("button", name=f"{says}: {end} here").click()
    page.get_by_role("button", name="Keep what is marked").click()
    page.wait_for_url("**/films/#measure")

    assert page.locator("[name=turn_to_s]").input_value() == "6.0"
    (film,) = run_of("RUN-3").recordings
    assert film.marked_s == {"neutral": (0.25, 1.5), "nod": (2.0, 3.5), "turn": (4.0, 6.0)}
