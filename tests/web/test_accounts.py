"""Who gets in, who sees what, and what happens to whoever guesses, forges or comes back too late."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.conf import settings as django_settings
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from onthree.actions.accounts import add_person, list_people, remove_person, set_password
from onthree.actions.failed_logins import MOST_PER_NAME, WINDOW
from onthree.programme.records import Organisation, Team
from onthree.programme.roles import ACCOUNT_ROLES, RIGHTS, Right, Role, may
from onthree.store.models import FailedLogin

PASSWORD = "heron over wet turf"
MASS = re.compile(r"\d(?:[\d.,]*)\s*(?:lb|kg)\b")

SignedIn = Callable[[Role], Client]


@pytest.fixture
def lan(settings: pytest.FixtureRequest) -> None:
    """As if other computers could reach the server."""
    settings.LOOPBACK_ONLY = False  # type: ignore[attr-defined]


@pytest.fixture
def signed_in(conference: Client, lan: None) -> SignedIn:
    def client_of(role: Role) -> Client:
        name = role.replace(" ", "-")
        add_person(name, role, PASSWORD)
        client = Client()
        response = client.post("/sign-in/", {"username": name, "password": PASSWORD})
        assert response.status_code == 302
        return client

    return client_of


def every_view(resolver: URLResolver) -> list[URLPattern]:
    return [
        view
        for each in resolver.url_patterns
        for view in (every_view(each) if isinstance(each, URLResolver) else [each])
        if getattr(each, "namespace", "") != "api"
    ]


def test_every_page_says_whom_it_is_for() -> None:
    unmarked = [view.name for view in every_view(get_resolver()) if not hasattr(view.callback, "needs")]

    assert unmarked == []


def test_at_this_computer_no_password_is_asked(conference: Client) -> None:
    assert "You, at this computer" in conference.get("/").content.decode()


def test_what_a_proxy_passes_on_is_not_at_this_computer(conference: Client) -> None:
    assert conference.get("/", headers={"x-forwarded-for": "192.0.2.7"}).status_code == 302


def test_another_address_is_asked_to_sign_in(conference: Client, lan: None) -> None:
    response = conference.get("/events/E-1/")

    assert response.status_code == 302
    assert response["Location"] == "/sign-in/?next=/events/E-1/"


def test_life_first_needs_no_account(conference: Client, lan: None) -> None:
    assert conference.get("/life-first/").status_code == 200
    assert conference.get("/life-first/arrest/").status_code == 200


@pytest.mark.parametrize("role", ACCOUNT_ROLES)
def test_weights_are_shown_to_those_who_may_see_them_only(signed_in: SignedIn, role: Role) -> None:
    client = signed_in(role)
    pages = [
        client.get(address).content.decode()
        for address in ("/", "/events/E-1/", "/events/E-6/", "/events/E-1/athletes/52/", "/events/E-6/athletes/92/")
    ]

    assert "scoop, four to six lifters; except 52, 71, 78" in " ".join(pages[1].split())
    shows_masses = any(MASS.search(page) for page in pages)
    assert shows_masses == may(role, Right.SIZES), [match for page in pages for match in MASS.findall(page)]


def test_only_medical_direction_signs_and_a_visitor_may_nothing() -> None:
    assert [role for role in Role if may(role, Right.SIGN)] == [Role.MEDICAL_DIRECTION]
    assert RIGHTS[Role.VISITOR] == frozenset()
    assert all(may(role, Right.READ) for role in ACCOUNT_ROLES)


def test_a_wrong_password_is_said_and_does_not_get_in(conference: Client, lan: None) -> None:
    add_person("reader", Role.READER, PASSWORD)
    response = conference.post("/sign-in/", {"username": "reader", "password": "no"})

    assert response.status_code == 400
    assert "do not belong together" in response.content.decode()
    assert conference.get("/").status_code == 302


def test_who_guesses_must_wait_and_others_need_not(conference: Client, lan: None) -> None:
    add_person("reader", Role.READER, PASSWORD)
    add_person("other", Role.READER, PASSWORD)
    for _ in range(MOST_PER_NAME):
        conference.post("/sign-in/", {"username": "reader", "password": "guess"})

    right = {"username": "reader", "password": PASSWORD}
    assert conference.post("/sign-in/", right).status_code == 429
    assert conference.post("/sign-in/", {**right, "username": "READER"}).status_code == 429
    assert Client(REMOTE_ADDR="192.0.2.7").post("/sign-in/", right).status_code == 302
    assert Client().post("/sign-in/", {"username": "other", "password": PASSWORD}).status_code == 302
    FailedLogin.objects.update(at=timezone.now() - WINDOW - timedelta(seconds=1))
    assert conference.post("/sign-in/", right).status_code == 302


def test_signing_in_leads_back_and_never_to_another_site(conference: Client, lan: None) -> None:
    add_person("reader", Role.READER, PASSWORD)
    login = {"username": "reader", "password": PASSWORD}

    assert Client().post("/sign-in/", {**login, "next": "/events/E-1/"})["Location"] == "/events/E-1/"
    assert Client().post("/sign-in/", {**login, "next": "https://example.org/"})["Location"] == "/"
    assert Client().post("/sign-in/", {**login, "next": "//example.org/"})["Location"] == "/"


def test_a_form_without_its_token_is_refused(conference: Client) -> None:
    strict = Client(enforce_csrf_checks=True)
    response = strict.post("/sign-in/", {"username": "x", "password": "y"})

    assert response.status_code == 403
    assert "Nothing was saved" in response.content.decode()


def test_cookies_are_for_this_site_and_out_of_reach_of_scripts(conference: Client, lan: None) -> None:
    add_person("reader", Role.READER, PASSWORD)
    client = Client()
    client.get("/sign-in/")
    client.post("/sign-in/", {"username": "reader", "password": PASSWORD})

    for name, same_site in (("sessionid", "Lax"), ("csrftoken", "Strict")):
        assert client.cookies[name]["httponly"]
        assert client.cookies[name]["samesite"] == same_site
    assert 0 < int(client.cookies["sessionid"]["max-age"]) <= django_settings.SESSION_COOKIE_AGE


def test_another_password_ends_the_sessions_of_other_devices(signed_in: SignedIn) -> None:
    first = signed_in(Role.READER)
    second = Client()
    second.post("/sign-in/", {"username": "reader", "password": PASSWORD})
    better = "otters in the second quarter"
    fields = {"old_password": PASSWORD, "new_password1": better, "new_password2": better}

    assert "The password is changed" in first.post("/account/", fields).content.decode()
    assert first.get("/").status_code == 200
    assert second.get("/").status_code == 302


def test_signing_out_and_removing_end_a_session(signed_in: SignedIn) -> None:
    reader, editor = signed_in(Role.READER), signed_in(Role.EDITOR)
    reader.post("/sign-out/")
    remove_person("editor")

    assert reader.get("/").status_code == 302
    assert editor.get("/").status_code == 302
    assert [person.name for person in list_people()] == ["reader"]


@pytest.mark.parametrize("password", ["short", "1234567890123", "password1234", "reader-reader"])
def test_a_weak_password_is_refused_with_the_reason(db: None, password: str) -> None:
    with pytest.raises(ValueError, match="this password will not do"):
        add_person("reader-reader", Role.READER, password)


def test_a_name_is_given_once_and_unknown_names_are_told(db: None) -> None:
    add_person("reader", Role.READER, PASSWORD)

    with pytest.raises(ValueError, match="has an account already"):
        add_person("Reader", Role.LEAD, PASSWORD)
    with pytest.raises(LookupError, match="one of these expected: reader"):
        set_password("nobody", PASSWORD)


def test_the_records_of_another_organisation_are_not_there(signed_in: SignedIn) -> None:
    from onthree.demo.conference import conference_records
    from onthree.programme.records import Event, Venue
    from onthree.store.records import save_records

    mine = next(one.code for one in conference_records() if isinstance(one, Organisation))
    theirs = [
        Organisation(code="OTHER", name="Another, invented", is_invented=True),
        Venue(code="V-77", name="Elsewhere"),
        Team(code="T-77", name="Secret team"),
        Event(code="E-77", name="Secret game", kind="game", day=timezone.now().date(), venue="V-77", teams=("T-77",)),
    ]
    save_records(theirs, by="test", organisation_code="OTHER")
    for name, code in (("ours", mine), ("theirs", "OTHER")):
        add_person(name, Role.LEAD, PASSWORD, code)
    ours, other = Client(), Client()
    ours.post("/sign-in/", {"username": "ours", "password": PASSWORD})
    other.post("/sign-in/", {"username": "theirs", "password": PASSWORD})

    assert ours.get("/events/E-77/").status_code == 404
    assert "Secret" not in ours.get("/").content.decode()
    assert other.get("/events/E-77/").status_code == 200
    assert other.get("/events/E-1/").status_code == 404
