"""Every address, asked by strangers, by another organisation and by every role: nobody gets in, nothing is written."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from onthree.actions.accounts import add_person
from onthree.actions.kept_films import measured_folder
from onthree.actions.outbox_kinds import KINDS
from onthree.demo.conference import conference_records
from onthree.programme.records import Agency, Event, Organisation, Responder, Team, Venue
from onthree.programme.roles import ACCOUNT_ROLES, Role, may
from onthree.store.records import save_records
from onthree.web.api.addresses import api
from tests.web.addresses import ADDRESSES
from tests.web.films import FILM, PASSWORD, declare, send, signed_in, started
from tests.web.measured import measured_run
from tests.web.test_script_in_forms import OUTBOX, invite

CODES = {"events/": "E-1", "rehearsals/": "RUN-3", "records/plan/": "V-1", "records/": "G-1", "": "E-1"}
"""Beginning of a route to the code of ours that stands in it, the longest first."""
OF_THE_PROGRAM = ("life-first-page", "evidence-technique", "evidence-source", "run-file")
GIVEN = {
    "called": {"athlete": "T1-52", "life-first-page": "arrest", "evidence-technique": "log_roll_supine_long_board"},
    "key": {"evidence-source": "delrossi-2008"},
    "kind": {"send": "told"},
    "name": {"run-file": "angles.csv"},
    "recording": {"film": "REC-3"},
}
ASKED = {"known-gap": "?rule=weight-limit&subject=G-1"}
POSTED = {
    "upkeep-add": {"day": "2026-11-26", "done": "inspected", "key": "0123456789ab"},
    "record-edit": {"kind": "scoop", "name": "spare scoop", "version": "1"},
}
"""What is sent where nothing at all would be refused for that."""
WRITES_FOR_ALL = ("account", "sign-in", "sign-out", "visit")
REFUSED_OR_NOTHING = (403, 404, 405, 409)


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


class Ours:
    """Everything of our organisation that an address can name, and each address of the pages and of the API."""

    def __init__(self, client: Client) -> None:
        self.run = started(client)
        self.upload = declare(client, self.run, FILM).rpartition("/")[2]
        self.receipt = uuid4()
        send(client, "told", OUTBOX["told"], self.receipt)
        self.job = measured_run("RUN-3").pk
        (measured_folder(self.job) / "angles.csv").write_text("time_s\n", encoding="utf-8")
        self.visit = invite(client).split("/")[2]
        self.pages = [(view, self._address(route, view)) for route, view in _views(get_resolver())]

    def _address(self, route: str, view: URLPattern) -> str:
        code = next(code for start, code in CODES.items() if route.replace("^", "").startswith(start))
        usual = {"code": code, "slug": "gear", "number": self.job, "key": self.upload, "text": self.visit}
        given = {name: GIVEN.get(name, {}).get(view.name, usual.get(name)) for name in _names(view)}
        return reverse(view.name, kwargs=given) + ASKED.get(view.name, "")

    @property
    def operations(self) -> Iterator[tuple[str, str]]:
        """Method and address of everything the API does."""
        values = {"code": "E-1", "called": "52", "kind": "gear", "key": str(self.receipt)}
        for path, methods in api.get_openapi_schema()["paths"].items():
            told = values | ({"code": "RUN-3"} if "/runs/" in path else {})
            told |= {"code": "G-1"} if "/records/" in path else {}
            told |= {"called": "arrest"} if "life-first" in path else {}
            told |= {"key": self.upload} if "uploads" in path else {}
            yield from ((method.upper(), path.replace("{", "%(").replace("}", ")s") % told) for method in methods)


def _views(resolver: URLResolver, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    for each in resolver.url_patterns:
        route = before + str(each.pattern)
        if isinstance(each, URLPattern):
            yield route, each
        elif each.namespace != "api":
            yield from _views(each, route)


def _names(view: URLPattern) -> list[str]:
    groups = getattr(view.pattern, "regex", re.compile("")).groupindex
    return list(groups or getattr(view.pattern, "converters", {}))


@pytest.fixture
def ours(conference: Client, settings: Any) -> Ours:
    made = Ours(conference)
    settings.LOOPBACK_ONLY = False
    return made


def rows_count() -> int:
    """Rows of every table that people fill; who is signed in, and who guessed, is not among them."""
    kept = [
        model for model in apps.get_app_config("store").get_models() if model.__name__ not in ("FailedLogin", "Account")
    ]
    return sum(model._default_manager.count() for model in kept)


def call(client: Client, method: str, address: str, body: Any = None) -> Any:
    return client.generic(method, address, json.dumps(body or {}), "application/json")


def status_of(client: Client, address: str) -> int:
    response = client.get(address)
    list(response)  # to its end, where a file of it is closed
    return int(response.status_code)


def test_every_address_that_is_asked_here_is_one_of_ours(ours: Ours, conference: Client, settings: Any) -> None:
    settings.LOOPBACK_ONLY = True
    missing = [view.name for view, address in ours.pages if status_of(conference, address) in (403, 404)]
    assert missing == ["set-up-certificate"], "made when the local network is served"
    reading = [address for method, address in ours.operations if method == "GET"]
    assert [address for address in reading if status_of(conference, address) != 200] == []


def test_a_stranger_is_sent_to_sign_in_by_every_address(ours: Ours) -> None:
    stranger, before = Client(), rows_count()
    for view, address in ours.pages:
        if view.callback.needs is None:
            continue
        for response in (stranger.get(address), stranger.post(address)):
            assert (response.status_code, response.headers["Location"][:15]) == (302, "/sign-in/?next="), address
        assert stranger.get(address, headers={"accept": "application/json"}).status_code == 401, address
    for method, address in ours.operations:
        assert call(stranger, method, address).status_code == (200 if "life-first" in address else 401), address
    assert {view.name for view, _ in ours.pages if view.callback.needs is None} == {
        "life-first",
        "life-first-page",
        "service-worker",
        "set-up",
        "set-up-certificate",
        "sign-in",
        "sign-out",
        "visit",
    }
    assert rows_count() == before


def test_nothing_of_ours_is_there_for_another_organisation(ours: Ours) -> None:
    other = of_another_organisation()
    names = [one.name for one in conference_records() if isinstance(one, Team | Venue | Event | Agency | Responder)]
    before = rows_count()
    for view, address in ours.pages:
        if view.callback.needs is None:
            continue
        responses = other.get(address), other.post(address, POSTED.get(view.name, {}))
        if view.name not in OF_THE_PROGRAM and set(_names(view)) & {"code", "number", "key", "recording"}:
            assert {each.status_code for each in responses} <= set(REFUSED_OR_NOTHING), address
        for response in responses:
            said = "" if response.streaming else response.content.decode(errors="replace")
            assert [name for name in names if name and name in said] == [], address
    for address in ADDRESSES:
        said = other.get(address).content.decode()
        assert [name for name in names if name and name in said] == [], address
    for method, address in ours.operations:
        answer = call(other, method, address)
        is_ours = re.search(r"E-1|G-1|RUN-3|/uploads/|/outbox/", address)
        assert answer.status_code in (403, 404, 409, 412, 422) if is_ours else answer.status_code == 200, address
        assert [name for name in names if name and name in answer.content.decode()] == [], address
    assert rows_count() == before


def of_another_organisation() -> Client:
    """The lead of an organisation with an event of its own."""
    today = timezone.now().date()
    theirs = [
        Organisation(code="OTHER", name="Another, invented", is_invented=True),
        Venue(code="V-77", name="Elsewhere"),
        Team(code="T-77", name="Larks of Elsewhere"),
        Event(code="E-77", name="Game elsewhere", kind="game", day=today, venue="V-77", teams=("T-77",)),
    ]
    save_records(theirs, by="test", organisation_code="OTHER")
    add_person("theirs", Role.LEAD, PASSWORD, "OTHER")
    client = Client()
    assert client.post("/sign-in/", {"username": "theirs", "password": PASSWORD}).status_code == 302
    return client


def test_what_another_organisation_sends_about_ours_is_refused(ours: Ours) -> None:
    other, before = of_another_organisation(), None
    before = rows_count()
    for kind, body in {**OUTBOX, "run-tap": {"run": ours.run, "what": "end-run", "at_s": 3}}.items():
        if kind != "run-start":  # it names nobody of ours but the one below
            assert call(other, "PUT", f"/api/outbox/{uuid4()}", {"kind": kind, "body": body}).status_code in (
                404,
                422,
            ), kind
    start = {**OUTBOX["run-start"], "roles": [{"role": "head", "responder": "R-1"}]}
    assert call(other, "PUT", f"/api/outbox/{uuid4()}", {"kind": "run-start", "body": start}).status_code in (404, 422)
    declared = {"run": ours.run, "name": "a.mp4", "size_bytes": 9, "kind": "film"}
    assert call(other, "PUT", f"/api/films/uploads/{uuid4()}", declared).status_code == 404
    event = {"code": "E-78", "name": "x", "kind": "game", "day": "2026-11-27", "venue": "V-1", "teams": "T-1"}
    assert other.post("/records/add/events/", event).status_code == 400
    assert call(other, "PUT", "/api/records/events/E-78", event).status_code == 422
    assert rows_count() == before


@pytest.mark.parametrize("role", ACCOUNT_ROLES)
def test_no_role_does_what_it_may_not(ours: Ours, role: Role) -> None:
    client, before = signed_in(role), rows_count()
    for view, address in ours.pages:
        needed = view.callback.needs
        if needed is not None and not may(role, needed):
            assert client.get(address).status_code == 403, address
            assert client.post(address).status_code == 403, address
        elif role is Role.READER and view.name not in WRITES_FOR_ALL:
            assert client.post(address).status_code in REFUSED_OR_NOTHING, address
    for kind in KINDS:
        if may(role, KINDS[kind].right):
            continue
        answer = call(client, "PUT", f"/api/outbox/{uuid4()}", {"kind": kind, "body": OUTBOX.get(kind, {})})
        assert answer.status_code == 403, kind
        form = {"key": str(uuid4()), **OUTBOX.get(kind, {})}
        assert client.post(f"/send/{kind}/", form, "application/json").status_code == 403, kind
    if role is Role.READER:
        writing = [(method, address) for method, address in ours.operations if method in ("PUT", "PATCH")]
        for method, address in writing:
            item = {"kind": "told", "body": OUTBOX["told"]} if "outbox" in address else {"name": "x", "run": "RUN-3"}
            assert call(client, method, address, item).status_code == 403, address
    assert rows_count() == before
