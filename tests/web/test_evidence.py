"""The evidence pages: every value and contrast with its source, what drives a ranking, own rehearsals beside it."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from onthree.actions.evidence_pages import Asked, evidence_used, find_lines, sources_counted
from onthree.evidence.contrast import bundled_contrasts
from onthree.evidence.values import published_values
from onthree.programme.records import Measured, Record, Run, RunPhase
from onthree.store.records import save_records
from onthree.techniques.library import bundled_library

ROLL = "/choose/evidence/technique/log_roll_supine_long_board/"


@pytest.fixture
def empty(db: None, demo_today: date, client: Client) -> Client:
    """A client of the pages with nothing in the store: what was published is there all the same."""
    return client


def text_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, address
    return " ".join(unescape(answer.content.decode()).split())


def every_page(client: Client) -> Iterator[str]:
    address = "/choose/evidence/values/"
    for number in range(1, 20):
        page = text_of(client, f"{address}?page={number}")
        yield page
        if 'rel="next"' not in page:
            return


def test_every_value_and_contrast_stands_on_the_pages_as_printed(empty: Client) -> None:
    pages = " ".join(every_page(empty))

    assert pages.count("<dt>Source</dt>") == len(published_values()) + len(bundled_contrasts())
    for each in (*published_values(), *bundled_contrasts()):
        assert f"/choose/evidence/source/{each.source}/" in pages
        assert " ".join(each.printed.split()) in pages
    for value in published_values():
        assert f"{value.mean} {value.unit}".strip() in pages


def test_each_source_lists_all_of_its_lines(empty: Client) -> None:
    for counted in sources_counted():
        page = text_of(empty, f"/choose/evidence/source/{counted.source.key}/")

        assert page.count("<dt>Source</dt>") == counted.contrasts_count + counted.values_count
        assert counted.source.citation in page
        assert ("What it drives" in page) == counted.drives


def test_a_source_from_memory_says_so(empty: Client) -> None:
    listed = [each.source for each in sources_counted() if not each.source.is_read]
    for source in listed[:1]:
        assert "From memory, not checked" in text_of(empty, f"/choose/evidence/source/{source.key}/")


def test_every_technique_has_a_page(empty: Client) -> None:
    for technique in bundled_library().techniques:
        page = text_of(empty, f"/choose/evidence/technique/{technique.id}/")

        assert technique.title in page
        assert "No motion is called safe" in page


def test_the_overview_says_what_drives_a_ranking_and_what_disagrees(empty: Client) -> None:
    page = text_of(empty, "/choose/evidence/")

    for pair in evidence_used().driving:
        assert f"before {pair.higher}" in page
    assert "Equipment removal, elevated torso" in page
    assert "horodyski-2009" in page and "lenhardt-2015" in page


def test_only_a_contrast_of_an_edge_is_marked_as_driving(empty: Client) -> None:
    page = text_of(empty, "/choose/evidence/technique/scoop_foot_end_first/")

    assert page.count("drives a ranking</span>") == 1  # Krell 2006; Del Rossi 2010 found no difference
    assert "Beside it" in page


def test_lines_are_narrowed_by_words_technique_and_quantity(empty: Client) -> None:
    by_words = find_lines(Asked(words="straddle volunteers"))
    assert by_words.values and all("straddle" in repr(each) for each in by_words.values)
    by_quantity = find_lines(Asked(quantity="time"))
    assert {each.how.measured.partition(",")[0] for each in by_quantity.values} == {"time"}
    by_technique = find_lines(Asked(technique="scoop_foot_end_first"))
    assert {"scoop"} == {each.handling for each in by_technique.values}
    page = text_of(empty, "/choose/evidence/values/?q=nothing+holds+this")
    assert "That is no finding" in page


@pytest.mark.parametrize(
    "address",
    [
        "/choose/evidence/technique/log_rol/",
        "/choose/evidence/source/nobody-1900/",
        "/choose/evidence/values/?technique=nothing",
        "/choose/evidence/values/?quantity=luck",
    ],
)
def test_what_is_not_there_is_not_found(empty: Client, address: str) -> None:
    assert empty.get(address).status_code == 404


def test_what_is_typed_stays_text(empty: Client) -> None:
    page = empty.get("/choose/evidence/values/?q=<script>alert(1)</script>&page=last").content.decode()

    assert "<script>alert" not in page


def test_own_runs_stand_beside_with_their_bands_and_what_was_measured(conference: Client) -> None:
    page = text_of(conference, ROLL)

    assert "3 runs count, the last on 2026-11-24" in page  # RUN-7 was set aside
    assert "RUN-7" not in page
    assert 'href="/rehearsals/RUN-3/"' in page
    assert "Start lag of the head behind the body: from 90 ms (95 % band 50 to 130) to 255 ms" in page
    assert "boom on the face mask and stalk on the sternum" in page
    assert "Awake volunteer; a limp neck may move more." in page
    assert "never pooled" in page
    assert "do not change the order" in page


def test_a_run_to_come_or_of_a_technique_nobody_did_is_not_told(conference: Client) -> None:
    later = Run(code="RUN-91", day=date(2027, 1, 1))
    phase = RunPhase(code="PH-91", run="RUN-91", technique="log_roll_supine_long_board", order=1, start_s=1.0)
    save_records([later, phase], by="test")

    assert "RUN-91" not in text_of(conference, ROLL)
    assert "RUN-91" in text_of(conference, f"{ROLL}?on=2027-01-02")
    assert "No run of yours that counts" in text_of(conference, "/choose/evidence/technique/straddle_lift_long_board/")


def test_a_do_nothing_hold_is_no_run_of_a_technique(conference: Client) -> None:
    hold = Run(code="RUN-92", day=date(2026, 11, 20), is_hold=True)
    phase = RunPhase(code="PH-92", run="RUN-92", technique="straddle_lift_long_board", order=1, start_s=1.0)
    save_records([hold, phase], by="test")

    assert "No run of yours that counts" in text_of(conference, "/choose/evidence/technique/straddle_lift_long_board/")


def runs(count: int) -> list[Record]:
    made: list[Record] = []
    for number in range(count):
        phase = RunPhase(
            code=f"PH-M{number}",
            run=f"RUN-M{number}",
            technique="log_roll_supine_long_board",
            order=1,
            start_s=1.0,
        )
        lag = Measured(
            code=f"ME-M{number}",
            run=phase.run,
            phase=phase.code,
            quantity="start_lag_first_turn_s",
            value=0.1,
            low=0.0,
            high=0.2,
        )
        made += [Run(code=phase.run, day=date(2026, 11, 1)), phase, lag]
    return made


def test_questions_do_not_grow_with_the_runs(conference: Client) -> None:
    def asked(address: str) -> int:
        with CaptureQueriesContext(
            connection,
        ) as questions:
            assert conference.get(address).status_code == 200
        return len(questions)

    addresses = (ROLL, "/events/E-1/athletes/T1-52/", "/choose/evidence/")
    for address in addresses:
        conference.get(address)
    before = [asked(address) for address in addresses]
    save_records(runs(60), by="test")
    conference.get(addresses[1])  # worked out anew after the writing

    assert [asked(address) for address in addresses] == before
    assert before[2] <= 2


def test_an_option_says_what_it_rests_on(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/athletes/T1-52/")

    planned, _, others = page.partition("</article>")
    assert "/choose/evidence/technique/manual_in_line_stabilization/" in planned
    assert "The planned option against this one, by evidence" in others
    assert "Evidence of what differs" in others


def test_beside_the_planned_option_only_what_differs_is_told(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/athletes/T1-52/?position=supine")
    planned, *others = page.split("</article>")

    assert "manual_in_line_stabilization" in planned
    assert not any("manual_in_line_stabilization" in each for each in others)


def test_own_runs_stand_at_the_planned_option(conference: Client) -> None:
    planned = evidence_of_planned(text_of(conference, "/events/E-1/athletes/T1-52/"))
    technique = planned.partition("/choose/evidence/technique/")[2].partition("/")[0]
    some = [replace(each, technique=technique) if isinstance(each, RunPhase) else each for each in runs(2)]
    save_records(some, by="test")
    page = evidence_of_planned(text_of(conference, "/events/E-1/athletes/T1-52/"))

    assert "Your own rehearsals" in page
    assert "from 100 ms (95 % band 0 to 200) to 100 ms (95 % band 0 to 200), measured 2 times" in page
    assert "without effect on the order" in page


def evidence_of_planned(page: str) -> str:
    return page.partition("option-planned")[2].partition("</article>")[0]


def test_another_organisations_runs_are_not_told(conference: Client) -> None:
    from onthree.actions.own_measured import own_measured

    with pytest.raises(LookupError):
        own_measured(["log_roll_supine_long_board"], date(2026, 11, 25), "ELSEWHERE")


def test_without_a_store_the_published_evidence_is_there(empty: Client) -> None:
    assert "No run of yours that counts" in text_of(empty, ROLL)


def test_a_day_that_cannot_be_read_is_said(empty: Client) -> None:
    answer = empty.get(f"{ROLL}?on=soon")

    assert answer.status_code == 400
    assert "a day such as 2026-11-25 expected" in unescape(answer.content.decode())


def test_invented_runs_are_marked(conference: Client) -> None:
    assert "Invented data." in text_of(conference, ROLL)
