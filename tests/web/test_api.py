"""The API: who may call, what it answers, and that what is sent arrives exactly once."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test import Client

from onthree.actions.accounts import add_person, add_token, remove_token
from onthree.actions.outbox import receive
from onthree.demo.conference import conference_records
from onthree.programme.roles import Role
from onthree.store.models import Received, Told

PASSWORD = "heron over wet turf"
BODY = {"event": "E-1", "rule": "visitors-unknown", "who": "visiting athletic trainer", "answer": "confirmed"}


@pytest.fixture
def token_of(conference: Client, settings: pytest.FixtureRequest) -> Callable[[Role], dict[str, str]]:
    settings.LOOPBACK_ONLY = False  # type: ignore[attr-defined]

    def made(role: Role) -> dict[str, str]:
        add_person(role, role, PASSWORD)
        return {"authorization": f"Bearer {add_token(role, role)}"}

    return made


def put(client: Client, key: UUID, headers: dict[str, str] | None = None, **item: Any) -> tuple[int, dict[str, Any]]:
    content = {"kind": "told", "body": BODY, **item}
    response = client.put(f"/api/outbox/{key}", content, content_type="application/json", headers=headers or {})
    return response.status_code, response.json()


def test_openapi_describes_it_and_there_is_no_page_of_others(conference: Client) -> None:
    described = conference.get("/api/openapi.json").json()

    assert described["info"]["title"] == "onthree"
    assert {"/api/events", "/api/outbox/{key}", "/api/life-first"} <= set(described["paths"])
    assert conference.get("/api/docs").status_code == 404


def test_the_clock_of_a_run_that_is_not_there_is_not_found(conference: Client) -> None:
    missing = conference.get("/api/films/runs/RUN-NO/clock")

    assert (missing.status_code, "RUN-NO" in missing.json()["detail"]) == (404, True)
    assert conference.get("/api/films/runs/RUN-3/clock").json() == {"run": "RUN-3", "running_s": None}


def test_strangers_get_life_first_and_nothing_else(conference: Client, settings: Any) -> None:
    settings.LOOPBACK_ONLY = False

    assert conference.get("/api/life-first").json()["pages"]
    assert conference.get("/api/life-first/arrest").status_code == 200
    for address in ("/api/events", "/api/events/E-1", "/api/me", f"/api/outbox/{uuid4()}"):
        assert conference.get(address).status_code == 401
    assert put(conference, uuid4())[0] == 401


def test_an_event_is_answered_as_the_command_does(conference: Client) -> None:
    assert [one["code"] for one in conference.get("/api/events?most=2").json()["events"]] == ["E-1", "E-2"]
    check = conference.get("/api/events/next").json()
    assert check["event"]["code"] == "E-1"
    assert "except 52, 71, 78" in check["sentences"]["supine"]
    assert check["cautions"]
    assert conference.get("/api/events/E-1/athletes/52").json()["athletes"][0]["load"]["body mass"]
    assert conference.get("/api/events/E-1/findings").json()["findings"]
    assert "no event has the code" in conference.get("/api/events/E-99").json()["detail"]
    assert conference.get("/api/events/E-1?hands=many").status_code == 422


def test_a_key_has_the_role_of_its_account_until_it_is_removed(
    token_of: Callable[[Role], dict[str, str]], client: Client
) -> None:
    reader = token_of(Role.READER)

    assert client.get("/api/me", headers=reader).json()["role"] == "reader"
    findings = client.get("/api/events/E-1/findings", headers=reader).json()["findings"]
    assert {json.dumps(each["evidence"]) for each in findings} == {"{}"}
    assert client.get("/api/events/E-1/athletes/52", headers=reader).status_code == 403
    status, told = put(client, uuid4(), reader)
    assert status == 403
    assert "only these may answer at a time-out" in told["detail"]
    remove_token("reader")
    assert client.get("/api/me", headers=reader).status_code == 401


def test_only_the_digest_of_a_key_is_kept(token_of: Callable[[Role], dict[str, str]]) -> None:
    key = token_of(Role.READER)["authorization"].removeprefix("Bearer ")
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM store_apitoken")
        kept = str(cursor.fetchall())

    assert key not in kept


def test_a_page_must_send_the_token_against_forged_forms(conference: Client) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert put(strict, uuid4())[0] == 403
    token = strict.get("/api/me").json()["csrf"]

    assert put(strict, uuid4(), {"x-csrftoken": token})[0] == 201


def test_what_is_sent_twice_arrives_once(conference: Client) -> None:
    key, typed_at = uuid4(), datetime.now(UTC) - timedelta(minutes=25)
    first = put(conference, key, at_client=typed_at.isoformat())
    second = put(conference, key, at_client=typed_at.isoformat())

    assert (first[0], second[0]) == (201, 200)
    assert first[1]["result"] == second[1]["result"] == conference.get(f"/api/outbox/{key}").json()["result"]
    row = Told.objects.get(code=first[1]["result"]["code"])
    assert (row.day, row.at) == (
        typed_at.astimezone().date(),
        typed_at.astimezone().time().replace(second=0, microsecond=0),
    )
    assert Received.objects.get(key=key).at_client == typed_at
    told = conference.get("/api/events/E-1/told").json()["told"]
    assert [one["who"] for one in told if one["code"] == row.code] == ["visiting athletic trainer"]


def test_a_key_used_for_something_else_is_told(conference: Client) -> None:
    key = uuid4()
    put(conference, key)
    status, told = put(conference, key, body={**BODY, "answer": "cannot"})

    assert status == 409
    assert "make a new key" in told["detail"]
    assert Told.objects.filter(code__startswith="TOLD-" + key.hex[:12].upper()).count() == 1


@pytest.mark.parametrize(
    ("item", "says"),
    [
        ({"kind": "nothing"}, "expected one of: "),
        ({"body": {**BODY, "answer": "maybe"}}, "expected one of: confirmed"),
        ({"body": {**BODY, "rule": "no-such-rule"}}, "expected one of"),
        ({"body": {**BODY, "who": ""}}, "who: '' given"),
        ({"body": {**BODY, "note": "x" * 3000}}, "at most 2000 characters"),
        ({"at_client": "2026-11-27T18:35:00"}, "one with a zone expected"),
    ],
)
def test_what_cannot_be_taken_is_told_and_nothing_is_kept(conference: Client, item: dict[str, Any], says: str) -> None:
    before = Told.objects.count()
    status, told = put(conference, uuid4(), **item)

    assert status == 422
    assert says in told["detail"]
    assert (Received.objects.count(), Told.objects.count()) == (0, before)


def test_an_event_that_is_not_there_is_told(conference: Client) -> None:
    status, told = put(conference, uuid4(), body={**BODY, "event": "E-99"})

    assert status == 404
    assert "E-99" in told["detail"]


@pytest.mark.django_db(transaction=True)
def test_two_devices_at_once_with_the_same_keys(demo_today: object) -> None:
    from onthree.store.records import save_records

    save_records(conference_records(), by="test")
    before, keys = Told.objects.count(), [uuid4() for _ in range(12)]

    def send(key: UUID) -> bool:
        try:
            return receive(key, "told", BODY, "test", None).is_new
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as threads:
        are_new = list(threads.map(send, [*keys, *keys]))

    assert sum(are_new) == len(keys)
    assert Told.objects.count() == before + len(keys)


DIES = """
import os, signal, sys
from onthree.actions.opening import open_programme_store
open_programme_store()
from uuid import UUID
from onthree.actions import outbox
from onthree.store.models import Received, Told
from onthree.store.records import save_records
from onthree.demo.conference import conference_records
save_records(conference_records(), by="test")
before = Told.objects.count()
if sys.argv[1] == "dies":
    Received.objects.create = lambda **columns: os.kill(os.getpid(), signal.SIGKILL)
receipts = [outbox.receive(UUID(int=7), "told", eval(sys.argv[2]), "test", None) for _ in range(2)]
print([receipt.is_new for receipt in receipts], Told.objects.count() - before, Received.objects.count())
"""


def test_a_server_killed_between_effect_and_receipt_loses_and_doubles_nothing(tmp_path: Path) -> None:
    ours = ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")
    environment = {name: value for name, value in os.environ.items() if name not in ours}

    def run(how: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", DIES, how, repr(BODY)]
        folder = {"ONTHREE_FOLDER": str(tmp_path)}
        return subprocess.run(command, env=environment | folder, capture_output=True, text=True, check=False)

    assert run("dies").returncode == -signal.SIGKILL
    again = run("lives")
    assert again.stdout.strip() == "[True, False] 1 1", again.stderr
