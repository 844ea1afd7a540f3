"""Records through the API: read, saved as typed with the version that was read, refused with every problem."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from onthree.actions.accounts import add_person, add_token
from onthree.programme.roles import Role

PASSWORD = "heron over wet turf"


@pytest.fixture
def key_of(conference: Client, settings: Any) -> Callable[[Role], dict[str, str]]:
    settings.LOOPBACK_ONLY = False

    def made(role: Role) -> dict[str, str]:
        add_person(role, role, PASSWORD)
        return {"authorization": f"Bearer {add_token(role, role)}"}

    return made


def put(client: Client, address: str, fields: dict[str, str], **headers: str) -> Any:
    return client.put(address, fields, content_type="application/json", headers=headers)


def test_a_list_counts_all_and_shows_a_part(conference: Client) -> None:
    found = conference.get("/api/records/gear?most=2&start=1").json()

    assert (found["sheet"], len(found["records"])) == ("Gear", 2)
    assert found["count"] > 2
    assert "expected one of" in conference.get("/api/records/nothing").json()["detail"]
    assert conference.get("/api/records/gear/G-999").status_code == 404


def test_a_record_is_saved_with_the_version_that_was_read(conference: Client) -> None:
    read = conference.get("/api/records/gear/G-1")
    fields = read.json()["record"] | {"rated_load": "400 lb"}
    saved = put(conference, "/api/records/gear/G-1", fields, if_match=read["ETag"])
    late = put(conference, "/api/records/gear/G-1", fields | {"rated_load": "410 lb"}, if_match=read["ETag"])

    assert saved.status_code == 200
    assert saved["ETag"] != read["ETag"]
    assert late.status_code == 412
    assert late.json()["now"]["record"]["rated_load"] == "400 lb"
    assert "nothing was overwritten" in late.json()["detail"]


def test_a_new_record_needs_no_version_and_a_taken_code_is_told(conference: Client) -> None:
    fields = {"kind": "scoop", "name": "spare scoop"}

    assert put(conference, "/api/records/gear/G-901", fields).status_code == 201
    again = put(conference, "/api/records/gear/G-901", fields)
    assert again.status_code == 422
    assert "code" in again.json()["problems"]


def test_every_problem_is_told_by_field_and_nothing_is_saved(conference: Client) -> None:
    told = put(conference, "/api/records/gear/G-902", {"kind": "sofa", "name": "x", "rated_load": "strong"})

    assert told.status_code == 422
    assert set(told.json()["problems"]) == {"kind", "rated_load"}
    assert conference.get("/api/records/gear/G-902").status_code == 404
    assert "no such field" in put(conference, "/api/records/gear/G-902", {"colour": "red"}).json()["detail"]


def test_roles(key_of: Callable[[Role], dict[str, str]], client: Client) -> None:
    reader, editor = key_of(Role.READER), key_of(Role.EDITOR)

    assert client.get("/api/records/gear", headers=reader).status_code == 200
    assert client.get("/api/records/athletes", headers=reader).status_code == 403
    assert client.get("/api/records/athletes", headers=editor).status_code == 200
    fields = {"kind": "scoop", "name": "spare scoop"}
    assert put(client, "/api/records/gear/G-903", fields, **reader).status_code == 403
    assert put(client, "/api/records/gear/G-903", fields, **editor).status_code == 201
