"""Each page with the right content, each refusal with what to do, and what every response tells the browser."""

import re
from datetime import date, time

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from onthree.actions.event_answer import answer_event
from onthree.demo.conference import DEMO_TODAY
from onthree.programme.records import KnownGap, Organisation, Told
from onthree.transfers.standing import STANDING


def text_of(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status
    return " ".join(response.content.decode().replace("&#x27;", "'").split())


def test_home_answers_the_next_event_first(conference: Client) -> None:
    page = text_of(conference, "/")

    assert "except 52, 71, 78: wide scoop, six lifters" in page
    assert page.index("Herons v visitors") < page.index("Otters practice")


def test_the_event_says_the_sentence_before_the_findings_and_these_before_the_athletes(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/")

    assert page.index("Found supine: scoop") < page.index("over the weight limit of the scoop") < page.index("351 lb")


@pytest.mark.parametrize("address", ["/", "/events/E-1/", "/events/E-1/athletes/T1-52/"])
def test_cautions_and_invented_data_stand_on_every_answer(conference: Client, address: str) -> None:
    page = text_of(conference, address)

    assert "Invented data" in page
    for caution in STANDING:
        assert caution in page


def test_an_athlete_has_every_option_with_what_stands_against_it(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/athletes/T1-52/")

    assert "load 351 lb (159.211 kg); scoop rated 350 lb (158.757 kg)" in page
    assert "Scoop stretcher, foot end closed first" in page
    assert "bring a long board with a higher rating" in page


def test_an_athlete_is_found_by_jersey_number_too(conference: Client) -> None:
    assert "351 lb" in text_of(conference, "/events/E-1/athletes/52/")


def test_a_hold_says_until_when_and_for_what(conference: Client) -> None:
    assert "minute 8" in text_of(conference, "/events/E-5/")


def test_other_hands_change_the_answer(conference: Client) -> None:
    assert "no option with what is here" in text_of(conference, "/events/E-1/?hands=0&position=supine")


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("hands=many", "people such as 3 or 3,+2@8min expected"),
        ("surface=lava", "expected one of: turf, wet turf"),
        ("goal=home", "expected one of: device-in, device-out"),
        ("position=upright", "expected one of: supine, prone"),
        ("on=tomorrow", "a day such as 2026-11-25 expected"),
    ],
)
def test_what_cannot_be_read_is_told_in_place_and_nothing_is_answered(
    conference: Client, query: str, message: str
) -> None:
    page = text_of(conference, f"/events/E-1/?{query}", status=400)

    assert message in page
    assert "Found supine: scoop" not in page


@pytest.mark.parametrize("address", ["/events/E-99/", "/events/E-1/athletes/nobody/", "/nowhere/"])
def test_what_is_not_there_is_said_with_what_to_do(conference: Client, address: str) -> None:
    assert "Not found" in text_of(conference, address, status=404)


def test_typed_text_is_shown_as_text(conference: Client) -> None:
    page = conference.get("/events/E-1/", {"surface": "<script>alert(1)</script>"}).content.decode()

    assert "<script>" not in page


def test_an_empty_store_says_how_to_begin(db: None, demo_today: object, client: Client) -> None:
    page = text_of(client, "/")

    assert "onthree import" in page
    assert "--template" in page


def test_when_no_event_is_coming_the_latest_one_is_answered_and_it_says_so(conference: Client) -> None:
    page = text_of(conference, "/?on=2031-01-01")

    assert "No event is coming on or after Wednesday 1 January 2031" in page
    assert page.index("Latest") < page.index("event E-18") < page.index("Found supine: scoop") < page.index("E-17")


def test_a_programme_without_events_says_what_to_fill_in(db: None, demo_today: object, client: Client) -> None:
    from onthree.store.records import save_records

    save_records([Organisation(code="ORG", name="Invented conference", is_invented=True)], by="test")

    assert "Fill in the sheet Events" in text_of(client, "/")


def test_pages_only_read(conference: Client) -> None:
    assert conference.post("/events/E-1/").status_code == 405


def test_only_this_computer_is_answered(conference: Client) -> None:
    assert conference.get("/", headers={"host": "example.org"}).status_code == 400


def test_nothing_may_run_and_nobody_else_is_asked(conference: Client) -> None:
    response = conference.get("/events/E-1/")

    assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    assert "unsafe-inline" not in response.headers["Content-Security-Policy"]
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert b"style=" not in response.content
    for script in re.findall(rb"<script[^>]*>(.*?)</script>", conference.get("/").content, re.DOTALL):
        assert script == b"", "a script is a file of ours"
    assert b"http://" not in response.content.replace(b"http://www.w3.org", b"")
    assert set(response.cookies) <= {"csrftoken"}


def test_a_larger_roster_asks_no_more_questions_of_the_store(conference: Client) -> None:
    with CaptureQueriesContext(connection) as for_44:
        assert conference.get("/events/E-2/").content.count(b'role="rowheader"><a') == 44
    with CaptureQueriesContext(connection) as for_96:
        assert conference.get("/events/E-4/").content.count(b'role="rowheader"><a') == 96

    assert len(for_44) == len(for_96)


def test_home_says_what_the_event_says(conference: Client) -> None:
    answer = answer_event("E-1", DEMO_TODAY)
    home, event = text_of(conference, "/"), text_of(conference, "/events/E-1/")

    for sentence in answer.sentences.values():
        assert sentence in home
        assert sentence in event


def test_what_if_is_never_taken_for_the_plan(conference: Client) -> None:
    planned = text_of(conference, "/events/E-1/")
    what_if = text_of(conference, "/events/E-1/?surface=wet-turf&hands=3,%2B2@8min")

    assert "What if, not the event as planned" not in planned
    assert "What if, not the event as planned:</strong> surface wet turf; hands 3,+2@8min." in what_if
    assert "Other hands are taken as trained, fit to lift and rehearsed." in what_if


def test_links_keep_what_was_asked_and_the_way_back_drops_it(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/?surface=wet-turf&on=2026-11-20").replace("&amp;", "&")

    assert 'href="/events/E-1/athletes/T1-52/?surface=wet+turf&on=2026-11-20"' in page
    assert 'href="/events/E-1/?on=2026-11-20"' in page


def test_one_found_position_leaves_the_other_out(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/?position=prone")

    assert "Found prone: log roll by push" in page
    assert "Found supine" not in page
    assert 'data-label="supine"' not in page


def test_an_unknown_load_is_said_and_never_a_number(conference: Client) -> None:
    page = text_of(conference, "/events/E-6/athletes/92/")

    assert "not known (body mass)" in page
    assert "Unknown:</strong> load at least" in page


def test_statuses_are_words(conference: Client) -> None:
    page = text_of(conference, "/events/E-7/")
    words = set(re.findall(r'class="status[^>]*>([^<]+)<', page))

    assert words == {"possible", "not possible", "unknown", "tell before start", "fix before"}


def test_a_fault_is_said_without_details(conference: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("of the test")

    monkeypatch.setattr("onthree.web.views.events.current_answer", fail)
    conference.raise_request_exception = False
    page = text_of(conference, "/events/E-1/", status=500)

    assert "This is a fault of the program" in page
    assert "of the test" not in page


def test_who_was_told_and_what_was_signed_stand_under_the_finding(conference: Client) -> None:
    from onthree.store.records import save_records

    rows = (
        Told(
            code="TOLD-91",
            event="E-1",
            rule="visitors-unknown",
            subject="",
            who="visiting athletic trainer",
            day=date(2026, 11, 27),
            at=time(18, 35),
            answer="confirmed",
        ),
        KnownGap(
            code="GAP-91",
            rule="weight-limit",
            subject="G-3",
            signed_by="medical direction",
            signer="team physician",
            reason="stronger board ordered",
            signed_on=date(2026, 11, 20),
            until=date(2027, 1, 31),
        ),
    )
    plain = text_of(conference, "/events/E-1/?position=prone")
    save_records(rows, by="test")
    page = text_of(conference, "/events/E-1/?position=prone")

    assert "Told: visiting athletic trainer, 27 November 18:35: confirmed" in page
    signed = "Known gap, signed by medical direction (team physician) until 31 January 2027: stronger board ordered"
    assert page.index("level-known-gap-signed") < page.index("over the weight limit of the long board")
    assert page.index("over the weight limit of the long board") < page.index(signed)
    assert sentences_of(page) == sentences_of(plain), "no option changes"


def sentences_of(page: str) -> list[str]:
    return re.findall(r"Found (?:supine|prone): [^<]+", page)


def test_every_page_that_shows_invented_records_says_so(conference: Client) -> None:
    for address in (
        "/",
        "/measure/",
        "/ready/",
        "/events/E-1/",
        "/records/",
        "/rehearsals/",
        "/rehearsals/RUN-1/debrief/",
    ):
        assert "Invented data." in conference.get(address).content.decode(), address
