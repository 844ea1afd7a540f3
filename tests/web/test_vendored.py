"""Files of others are the ones that are named, and pages give back what was typed too late."""

import re
from hashlib import sha256

import pytest
from django.http import HttpResponse
from django.test import Client, RequestFactory

from onthree.web import typed
from tests.house.tree import PACKAGE

VENDOR = PACKAGE / "web" / "static" / "onthree" / "vendor"


def test_each_file_has_the_sum_that_its_note_gives() -> None:
    note = (VENDOR / "README.md").read_text(encoding="utf-8")
    named = dict(re.findall(r"^\| (\S+/\S+) \|.*\| ([0-9a-f]{64}) \|$", note, re.MULTILINE))
    found = {path.relative_to(VENDOR).as_posix(): path for path in VENDOR.rglob("*") if path.is_file()}
    found.pop("README.md")

    assert set(named) == set(found)
    for name, path in found.items():
        assert sha256(path.read_bytes()).hexdigest() == named[name], name


def test_what_was_typed_after_the_login_ran_out_comes_back_once(
    conference: Client, settings: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    from onthree.actions.accounts import add_person
    from onthree.programme.roles import Role

    settings.LOOPBACK_ONLY = False  # type: ignore[attr-defined]
    add_person("editor", Role.EDITOR, "heron over wet turf")
    client = Client()
    late = {"old_password": "secret", "note": "<b>wet</b> turf", "csrfmiddlewaretoken": "x"}
    assert client.post("/account/", late).status_code == 302
    client.post("/sign-in/", {"username": "editor", "password": "heron over wet turf"})
    request = RequestFactory().get("/account/")
    request.session = client.session
    given = typed.take(request)

    assert given is not None
    assert given.dict() == {"note": "<b>wet</b> turf"}
    assert typed.take(request) is None
    assert isinstance(client.get("/account/"), HttpResponse)
