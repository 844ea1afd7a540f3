"""Sends films and taps to the pages as a device does."""

import base64
import hashlib
import json
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.test import Client

from onthree.actions.accounts import add_person
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.programme.roles import Role

PASSWORD = "a long enough passphrase"
FILM = rehearsal_folder() / "roll-head-late.mp4"
RIG = rehearsal_folder() / "rig.toml"
ROLL = "log_roll_supine_long_board"
START = {
    "fields": {"day": "2026-11-25", "stand_in": "dummy", "spotters": "yes", "consent": "yes"},
    "roles": [{"role": "head", "responder": "R-1"}],
    "sequence": [ROLL],
}


def send(client: Client, kind: str, body: dict[str, Any], key: UUID | None = None, status: int = 201) -> dict[str, Any]:
    """Send one thing through the outbox and return what came of it."""
    content = {"kind": kind, "body": body, "at_client": "2026-11-25T19:00:00+00:00"}
    answer = client.put(f"/api/outbox/{key or uuid4()}", json.dumps(content), "application/json")

    assert answer.status_code == status, answer.content
    return dict(answer.json())


def started(client: Client) -> str:
    """A run that was recorded: one technique from 1.8 to 6.8 s, then over."""
    run = str(send(client, "run-start", START)["result"]["run"])
    send(client, "run-tap", {"run": run, "what": "go", "at_ms": 1})
    send(client, "run-tap", {"run": run, "what": "phase", "technique": ROLL, "at_s": 1.8})
    send(client, "run-tap", {"run": run, "what": "end-run", "at_s": 6.8})
    return run


def declare(client: Client, run: str, film: Path, status: int = 201, **more: Any) -> str:
    """Say that a film will come, and return its address."""
    address = f"/api/films/uploads/{uuid4()}"
    size_bytes = film.stat().st_size
    body = {"run": run, "name": film.name, "size_bytes": size_bytes, "kind": "film with tags", "offset_s": 0, **more}
    answer = client.put(address, json.dumps(body), "application/json")

    assert answer.status_code == status, answer.content
    return address


def piece(client: Client, address: str, at: int, content: bytes, digest: bytes | None = None) -> Any:
    """Send a piece of a film."""
    sum_of_it = base64.b64encode(digest or hashlib.sha256(content).digest()).decode()
    headers = {"Upload-Offset": str(at), "Content-Digest": f"sha-256=:{sum_of_it}:"}
    return client.patch(address, content, "application/partial-upload", headers=headers)


def sent(client: Client, run: str, film: Path = FILM, **more: Any) -> str:
    """Send a whole film and return the code of its recording."""
    address = declare(client, run, film, **more)
    content = film.read_bytes()
    for at in range(0, len(content), 500_000):
        answer = piece(client, address, at, content[at : at + 500_000])
        assert answer.status_code == 200, answer.content
    return str(answer.json()["recording"])


def signed_in(role: Role) -> Client:
    """A client of somebody with a role; where only this computer is served there is no need to sign in."""
    add_person(role, role, PASSWORD)
    client = Client()
    response = client.post("/sign-in/", {"username": role, "password": PASSWORD})

    assert response.status_code == 302
    return client
