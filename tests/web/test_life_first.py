"""The life-first pages: one tap from everywhere, before every answer, without degrees, and whatever the store says."""

import re
from datetime import date

import pytest
from django.db import DatabaseError
from django.test import Client

from onthree.demo.conference import DEMO_TODAY
from onthree.programme.records import MedicalOrder
from onthree.techniques.life_first import LifeFirstPage, life_first_pages
from onthree.transfers.standing import LIFE_FIRST

PAGES = life_first_pages()
ADDRESSES = ["/life-first/", *(f"/life-first/{page.id}/" for page in PAGES)]
NOT_APPROVED = "Not approved by medical direction: a sourced default"
APPROVED = "Approved by medical direction: team physician on call, 2026-08-14"
BEFORE_ANY_ORDER = "?on=2026-07-31"


def text_of(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status
    return " ".join(response.content.decode().replace("&#x27;", "'").split())


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/", 200),
        ("/events/E-1/", 200),
        ("/events/E-1/athletes/T1-52/", 200),
        ("/events/E-1/?hands=many", 400),
        ("/?on=tomorrow", 400),
        ("/events/E-99/", 404),
        ("/nowhere/", 404),
        *((address, 200) for address in ADDRESSES),
    ],
)
def test_every_page_leads_there_in_one_tap(conference: Client, address: str, status: int) -> None:
    assert 'href="/life-first/' in text_of(conference, address, status).partition("<main")[0]


def test_a_fault_and_an_empty_store_lead_there_too(
    conference: Client, monkeypatch: pytest.MonkeyPatch, settings: object
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("of the test")

    monkeypatch.setattr("onthree.web.views.events.current_answer", fail)
    conference.raise_request_exception = False

    assert 'href="/life-first/"' in text_of(conference, "/events/E-1/", status=500)


@pytest.mark.parametrize("address", ["/", "/events/E-1/", "/events/E-1/athletes/T1-52/"])
def test_on_every_answer_the_titles_stand_before_everything_else(conference: Client, address: str) -> None:
    content = text_of(conference, address).partition("<main")[2]
    links = [content.index(f'href="/life-first/{page.id}/"') for page in PAGES]

    assert content.index(LIFE_FIRST) < links[0]
    assert links == sorted(links)
    assert links[-1] < content.index("<h1")


@pytest.mark.parametrize("address", ADDRESSES)
def test_nothing_is_scored_in_degrees(conference: Client, address: str) -> None:
    page = text_of(conference, address).casefold()

    assert "degree" not in page
    assert "°" not in page


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.id)
def test_a_page_gives_its_actions_first_then_signs_what_is_known_and_sources(
    conference: Client, page: LifeFirstPage
) -> None:
    shown = text_of(conference, f"/life-first/{page.id}/")
    places = [shown.index(action.does) for action in page.action]

    assert shown.index(page.title) < shown.index(APPROVED) < places[0]
    assert NOT_APPROVED not in shown
    assert NOT_APPROVED in text_of(conference, f"/life-first/{page.id}/{BEFORE_ANY_ORDER}")
    assert places == sorted(places)
    assert places[-1] < shown.index("<h2>Signs") < shown.index("<h2>What is known") < shown.index("<h2>Sources")
    assert shown.count("Decided locally, with medical direction.") == len(page.conflict)


def test_what_medical_direction_signed_is_said_on_its_days(conference: Client) -> None:
    from onthree.store.records import save_records

    order = MedicalOrder(
        code="MO-91",
        about="life_first/bleeding",
        signer="team physician",
        signed_on=date(2026, 8, 20),
        until=DEMO_TODAY,
        conditions="",
    )
    save_records([order], by="test")
    approved = "Approved by medical direction: team physician, 2026-08-20"

    assert approved in text_of(conference, "/life-first/bleeding/")
    assert approved in text_of(conference, "/life-first/")
    assert APPROVED in text_of(conference, "/life-first/bleeding/?on=2026-11-26"), "the one before holds again"
    assert NOT_APPROVED in text_of(conference, f"/life-first/bleeding/{BEFORE_ANY_ORDER}")


@pytest.mark.parametrize("query", ["?on=tomorrow", "?position=upright", "?hands=many"])
def test_an_address_that_cannot_be_read_takes_no_page_away(conference: Client, query: str) -> None:
    assert "Start compressions" in text_of(conference, f"/life-first/arrest/{query}")


def test_an_empty_store_takes_no_page_away(db: None, demo_today: object, client: Client) -> None:
    assert 'href="/life-first/"' in text_of(client, "/")
    assert "No programme is in the store" in text_of(client, "/life-first/arrest/")


def test_a_store_that_fails_takes_no_page_away(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise DatabaseError("disk of the test is gone")

    monkeypatch.setattr("onthree.store.orders.load_orders", fail)
    page = text_of(client, "/life-first/arrest/")

    assert page.index("Start compressions") < page.index("could not be looked up: disk of the test is gone")


def test_an_unknown_page_is_said_with_the_known_ones(conference: Client) -> None:
    assert "expected one of: arrest, airway" in text_of(conference, "/life-first/hiccups/", status=404)


def test_links_keep_the_day_that_was_asked(conference: Client) -> None:
    page = text_of(conference, "/events/E-1/?surface=wet-turf&on=2026-11-20")

    assert set(re.findall(r'href="/life-first/[a-z_/]*([^"]*)"', page)) == {"?on=2026-11-20"}
