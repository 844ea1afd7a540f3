"""The visitors' link opens the request of one event until its end, and nothing else."""

import re
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client

from onthree.actions.visitors import LinkError, read_visitor_link, visitor_link
from onthree.demo.conference import conference_records
from onthree.programme.records import Event
from onthree.store.models import Received, VisitorAnswer

EVENT = next(one for one in conference_records() if isinstance(one, Event) and one.code == "E-1")
BEFORE = datetime(2026, 11, 26, 12, tzinfo=UTC)


@pytest.fixture
def path(conference: Client, settings: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    page = conference.post("/events/E-1/visitor-link/").content.decode()
    settings.LOOPBACK_ONLY = False  # type: ignore[attr-defined]
    monkeypatch.setattr("onthree.web.views.visitors.timezone.now", lambda: BEFORE)
    found = re.search(r'href="http://testserver(/visit/[^"]+)"', page)
    assert found
    return found[1]


def lines(**given: str) -> dict[str, str]:
    return {"key": str(uuid4()), "name": "visiting athletic trainer", "largest": "72: 300 lb", **given}


def test_it_opens_the_request_without_an_account_and_nothing_else(path: str) -> None:
    visitor = Client()
    page = visitor.get(path).content.decode()

    assert "Herons v visitors" in page
    assert page.count("<textarea") == 5
    assert "Found supine" not in page
    assert visitor.get("/events/E-1/").status_code == 302
    assert visitor.get("/").status_code == 302


def test_an_answer_arrives_once_and_stands_on_the_page_of_the_event(path: str, settings: object) -> None:
    given = lines(brings="<script>alert(1)</script>")
    for _ in range(2):
        assert "has it" in Client().post(path, given).content.decode()
    settings.LOOPBACK_ONLY = True  # type: ignore[attr-defined]
    page = Client().get("/events/E-1/").content.decode()

    assert Received.objects.count() == 1
    assert VisitorAnswer.objects.filter(side="visiting athletic trainer").count() == 1
    assert "72: 300 lb" in page
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_nothing_filled_in_is_told(path: str) -> None:
    response = Client().post(path, lines(largest=""))

    assert response.status_code == 400
    assert "at least one of the five lines" in response.content.decode()


def test_weights_that_cannot_be_read_are_told(path: str) -> None:
    response = Client().post(path, lines(largest="the big one"))

    assert response.status_code == 400
    assert "a jersey number and a mass such as 72: 310 lb expected" in response.content.decode()


def test_a_changed_link_and_one_that_has_ended_open_nothing() -> None:
    text = visitor_link("ORG", EVENT)
    link = read_visitor_link(text, BEFORE)
    assert (link.organisation, link.event) == ("ORG", "E-1")
    assert link.until.date() == EVENT.day + timedelta(days=1)

    with pytest.raises(LinkError, match="has ended"):
        read_visitor_link(text, link.until)
    with pytest.raises(LinkError, match="not whole"):
        read_visitor_link(text[:-2], BEFORE)


def test_an_ended_link_is_said_in_the_browser(path: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("onthree.web.views.visitors.timezone.now", lambda: BEFORE + timedelta(days=30))
    response = Client().get(path)

    assert response.status_code == 404
    assert "has ended" in response.content.decode()


def test_only_the_lead_makes_links(conference: Client, settings: object) -> None:
    from onthree.actions.accounts import add_person
    from onthree.programme.roles import Role

    settings.LOOPBACK_ONLY = False  # type: ignore[attr-defined]
    add_person("editor", Role.EDITOR, "heron over wet turf")
    client = Client()
    client.post("/sign-in/", {"username": "editor", "password": "heron over wet turf"})

    assert client.post("/events/E-1/visitor-link/").status_code == 403
    assert Client().post("/events/E-1/visitor-link/").status_code == 302
