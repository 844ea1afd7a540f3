"""The medical time-out: read in order, answered item by item, what is not agreed becomes a finding."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from onthree.actions.accounts import add_person
from onthree.actions.outbox import receive
from onthree.programme.roles import Role
from onthree.programme.time_out import TIME_OUT_ITEMS
from onthree.readiness.rules import RULES
from onthree.readiness.time_out import ITEMS
from onthree.store.models import Received, TimeOutAnswer, Told

ADDRESS = "/events/E-1/time-out/"


def text_of(client: Client, address: str = ADDRESS, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status
    return " ".join(response.content.decode().replace("&#x27;", "'").split())


def send(client: Client, key: Any = None, **body: Any) -> tuple[int, dict[str, Any]]:
    content = {"event": "E-1", "item": "ambulance", "who": "ambulance crew lead", "answer": "confirmed", **body}
    response = client.put(
        f"/api/outbox/{key or uuid4()}", {"kind": "time-out", "body": content}, content_type="application/json"
    )
    return response.status_code, response.json()


def test_the_items_are_those_of_the_record_and_each_names_rules_that_exist() -> None:
    named = [rule for item in ITEMS for rule in item.rules]

    assert tuple(item.id for item in ITEMS) == TIME_OUT_ITEMS
    assert set(named) <= {rule.id for rule in RULES}
    assert len(named) == len(set(named))


def test_every_item_is_read_in_order(conference: Client) -> None:
    page = text_of(conference)
    places = [page.index(f'id="item-{item.id.replace(" ", "-")}"') for item in ITEMS]

    assert places == sorted(places)
    assert "except 52, 71, 78: wide scoop, six lifters" in page
    assert "The visiting athletes are not known" in page


def test_it_takes_about_three_spoken_minutes(conference: Client) -> None:
    """Reading aloud: 130 to 160 words a minute (common practice, no source); answers need a third of the time."""
    page = conference.get(ADDRESS).content.decode()
    read = re.findall(r'<p class="(?:asks|read|read tell)">(.*?)</p>', page, re.DOTALL)
    words = len(re.sub(r"<[^>]+>", " ", " ".join(read)).split())

    assert 200 < words < 450


def test_an_answer_stands_on_the_page_and_what_was_told_with_the_finding(conference: Client) -> None:
    status, taken = send(conference, told=["ambulance-may-leave AMB-1"], note="second unit is called at once")

    assert status == 201
    row = TimeOutAnswer.objects.get(code=taken["result"]["code"])
    told = Told.objects.get(code=taken["result"]["told"][0])
    assert (row.item, row.who, row.answer) == ("ambulance", "ambulance crew lead", "confirmed")
    assert (told.rule, told.subject, told.answer) == ("ambulance-may-leave", "AMB-1", "confirmed")
    assert "second unit is called at once" in text_of(conference)
    assert "Told: ambulance crew lead" in text_of(conference, "/events/E-1/")


def test_what_is_not_agreed_is_a_finding_until_the_same_person_confirms(conference: Client) -> None:
    send(conference, answer="not agreed", note="south gate tonight", told=["ambulance-may-leave AMB-1"])
    page = text_of(conference, "/events/E-1/")
    assert "Not agreed at the time-out: the ambulance" in page
    assert "south gate tonight" in page
    assert "15 not asked yet" in text_of(conference)

    send(conference, who="referee")
    assert "Not agreed at the time-out" in text_of(conference, "/events/E-1/")
    send(conference, who="Ambulance Crew Lead")

    assert "Not agreed at the time-out" not in text_of(conference, "/events/E-1/")


@pytest.mark.parametrize(
    ("body", "status", "says"),
    [
        ({"item": "weather"}, 422, "expected one of: people, calling"),
        ({"answer": "yes"}, 422, "expected one of: confirmed, not agreed"),
        ({"who": " "}, 422, "who: ' ' given"),
        ({"event": "E-99"}, 404, "E-99"),
        ({"told": ["no-such-rule G-1"]}, 422, "the identifier of a rule"),
        ({"told": "hands"}, 422, "a list of at most"),
    ],
)
def test_what_cannot_be_taken_is_told_and_nothing_is_kept(
    conference: Client, body: dict[str, Any], status: int, says: str
) -> None:
    before = TimeOutAnswer.objects.count(), Told.objects.count()
    found, told = send(conference, **body)

    assert found == status
    assert says in told["detail"]
    assert (TimeOutAnswer.objects.count(), Told.objects.count()) == before
    assert not Received.objects.exists()


def test_a_clock_that_is_wrong_on_the_device_moves_nothing(conference: Client) -> None:
    wrong = datetime.now(UTC) - timedelta(days=400)
    item = {
        "kind": "time-out",
        "body": {"event": "E-1", "item": "aed", "who": "lead", "answer": "confirmed"},
        "at_client": (wrong - timedelta(minutes=30)).isoformat(),
        "at_sending": wrong.isoformat(),
    }
    key = uuid4()
    code = conference.put(f"/api/outbox/{key}", item, content_type="application/json").json()["result"]["code"]
    row, kept = TimeOutAnswer.objects.get(code=code), Received.objects.get(key=key)
    meant = datetime.now(UTC).astimezone() - timedelta(minutes=30)

    assert row.day == meant.date()
    assert abs(datetime.combine(row.day, row.at, meant.tzinfo) - meant) < timedelta(minutes=2)
    assert kept.at_client == wrong - timedelta(minutes=30), "what the device said is kept beside it"


def test_it_can_be_answered_without_a_script(conference: Client) -> None:
    page = conference.get(ADDRESS).content.decode()
    key = re.search(r'name="key" value="([0-9a-f-]{36})"', page)
    assert key
    fields = {"key": key[1], "event": "E-1", "item": "people", "who": "lead", "answer": "confirmed", "next": ADDRESS}
    for _ in range(2):
        response = conference.post("/send/time-out/", fields)
        assert (response.status_code, response["Location"]) == (302, ADDRESS)

    assert TimeOutAnswer.objects.filter(event__code="E-1", item="people").count() == 1
    assert conference.post("/send/time-out/", {**fields, "key": "x"}).status_code == 400
    assert conference.post("/send/time-out/", {**fields, "key": uuid4(), "event": "E-99"}).status_code == 404
    assert conference.post("/send/nothing/", fields).status_code == 404
    away = conference.post("/send/time-out/", {**fields, "key": uuid4(), "next": "https://example.org/"})
    assert away["Location"] == "/"


def test_the_number_of_questions_to_the_store_does_not_grow_with_the_answers(conference: Client) -> None:
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            conference.get(ADDRESS)
        counts.append(len(asked))
        for item in TIME_OUT_ITEMS:
            send(conference, item=item, who=f"somebody {item}")

    assert counts[0] == counts[1]


def test_an_event_that_is_not_there_and_an_address_that_cannot_be_read(conference: Client) -> None:
    assert "Not found" in text_of(conference, "/events/E-99/time-out/", 404)
    assert "a day such as 2026-11-25 expected" in text_of(conference, f"{ADDRESS}?on=tomorrow", 400)


def send_visitors() -> None:
    body = {
        "event": "E-1",
        "name": "visiting athletic trainer",
        "largest": "12: 365 lb, 61: 141 kg",
        "helmets": "four screws",
    }
    receive(uuid4(), "visitor answer", body, "test", None)


def test_the_visitors_word_is_read_and_judged_by_the_masses_they_wrote(conference: Client) -> None:
    send_visitors()
    page = text_of(conference)

    assert "Their own word: largest: 12: 365 lb, 61: 141 kg; helmets: four screws; leads: not said" in page
    assert "By it: Found supine: " in page
    assert "12: wide scoop, six lifters" in page


@pytest.mark.parametrize(("role", "may"), [(Role.AMBULANCE_PARTNER, True), (Role.READER, False)])
def test_who_may_answer(conference: Client, settings: Any, role: Role, may: bool) -> None:
    settings.LOOPBACK_ONLY = False
    add_person("somebody", role, "heron over wet turf")
    client = Client()
    client.post("/sign-in/", {"username": "somebody", "password": "heron over wet turf"})

    send_visitors()
    page = text_of(client)
    assert ('data-outbox="time-out"' in page) == may
    assert "the lead has their numbers" in page
    assert not re.search(r"\d (?:lb|kg)\b", page)
    assert send(client)[0] == (201 if may else 403)
    assert send(Client())[0] == 401
