"""Runs on pages: started with the cautions, recorded tap by tap, each tap once; shown to those who may; set aside."""

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from onthree.actions.runs import run_of
from onthree.demo.conference import conference_records
from onthree.programme.records import Organisation, Run
from onthree.programme.roles import Role
from onthree.store.records import save_records
from onthree.techniques.state import CARRYING_DEVICES
from tests.web.films import ROLL, START, send, signed_in, started

pytestmark = pytest.mark.django_db
PAGES = ("", "RUN-3/", "RUN-3/debrief/", "RUN-3/result/")
RECORDING_PAGES = ("start/", "look/", "RUN-3/record/", "RUN-3/films/")


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    return tmp_path


def test_a_run_is_recorded_tap_by_tap_and_each_tap_once(conference: Client) -> None:
    run = str(send(conference, "run-start", START)["result"]["run"])
    phase, incident = uuid4(), uuid4()
    send(conference, "run-tap", {"run": run, "what": "go", "at_ms": 1})
    for status in (201, 200):
        tap = {"run": run, "what": "phase", "technique": ROLL, "at_s": 2.5}
        made = send(conference, "run-tap", tap, phase, status)["result"]["code"]
        send(conference, "run-tap", {"run": run, "what": "incident", "kind": "re-grip", "at_s": 4}, incident, status)
    send(conference, "run-tap", {"run": run, "what": "end-run", "at_s": 9.25})
    role = run_of(run).roles[0].code
    send(conference, "run-tap", {"run": run, "what": "effort", "role": role, "effort": 7})
    send(conference, "run-tap", {"run": run, "what": "guess", "guess_deg": 12.5, "plane": "lateral bending"})

    there = run_of(run)
    assert made == f"PH-{phase.hex[:12].upper()}"
    assert [(one.code, one.technique, one.start_s, one.end_s) for one in there.phases] == [(made, ROLL, 2.5, 9.25)]
    assert [(one.kind, one.moment_s, one.technique) for one in there.incidents] == [("re-grip", 4, ROLL)]
    assert (there.run.lasted_s, there.run.timed, there.run.head_guess_deg) == (9.25, "live", 12.5)
    assert [(one.role, one.responder, one.effort) for one in there.roles] == [("head", "R-1", 7)]


def test_what_was_tapped_is_taken_back(conference: Client) -> None:
    run = started(conference)
    send(conference, "run-tap", {"run": run, "what": "open-again"})
    assert (run_of(run).run.lasted_s, run_of(run).phases[0].end_s) == (None, None)

    second = uuid4()
    made = send(conference, "run-tap", {"run": run, "what": "phase", "technique": ROLL, "at_s": 8}, second)["result"]
    send(conference, "run-tap", {"run": run, "what": "undo", "code": made["code"]})

    assert [one.end_s for one in run_of(run).phases] == [None]


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"stand_in": ""}, "never done with a patient"),
        ({"spotters": "no"}, "Spotters: place them first"),
        ({"stand_in": "volunteer", "consent": "no", "stand_in_age_group": "adult"}, "Consent recorded"),
        ({"stand_in": "volunteer"}, "nobody under age without permission"),
        ({"stand_in": "volunteer", "stand_in_age_group": "8 to 14"}, "Permission recorded"),
        ({"day": "soon"}, "Date: "),
        ({"device": "G-999"}, "G-999"),
    ],
)
def test_no_run_starts_against_the_cautions(conference: Client, fields: dict[str, str], told: str) -> None:
    fields = {**START["fields"], **fields}  # type: ignore[dict-item]
    key = uuid4()
    content = {"kind": "run-start", "body": {**START, "fields": fields}}
    answer = conference.put(f"/api/outbox/{key}", content, "application/json")

    assert answer.status_code in (404, 422)
    assert told in answer.json()["detail"]
    with pytest.raises(LookupError):
        run_of(f"RUN-{key.hex[:12].upper()}")


@pytest.mark.parametrize(
    ("tap", "told"),
    [
        ({"what": "dance"}, "what: 'dance' given"),
        ({"what": "incident", "kind": "slipped", "at_s": 3}, "'slipped' given"),
        ({"what": "incident", "kind": "re-grip", "at_s": "soon"}, "at_s: 'soon' given"),
        ({"what": "phase", "technique": "carry", "at_s": 99}, "'carry' given"),
        ({"what": "effort", "role": "nobody", "effort": 3}, "has no role"),
        ({"what": "effort", "role": "nobody", "effort": True}, "effort: True given"),
    ],
)
def test_a_tap_that_says_nothing_is_refused_with_the_reason(conference: Client, tap: dict[str, Any], told: str) -> None:
    body = {"kind": "run-tap", "body": {"run": started(conference), **tap}}
    answer = conference.put(f"/api/outbox/{uuid4()}", body, "application/json")

    assert answer.status_code in (404, 422)
    assert told in answer.json()["detail"]


def test_the_form_starts_a_run_without_a_script(conference: Client) -> None:
    given = {**START["fields"], "role-1": "head", "responder-1": "R-1", "step-1": ROLL}  # type: ignore[dict-item]
    answer = conference.post("/rehearsals/start/", given)

    assert answer.status_code == 302
    page = conference.get(answer.headers["Location"]).content.decode()
    assert f'"sequence": ["{ROLL}"]' in page
    refused = conference.post("/rehearsals/start/", {**given, "spotters": "no"})
    assert (refused.status_code, "Spotters: place them first" in refused.content.decode()) == (400, True)


def test_the_cautions_stand_where_a_run_is_started_and_filmed(conference: Client) -> None:
    for address in ("", "start/", "look/", "RUN-3/films/"):
        page = conference.get(f"/rehearsals/{address}").content.decode()
        for words in ("Dummy before person", "Spotters", "Consent", "Nobody under age", "Never on a real patient"):
            assert words in page, (address, words)


def test_a_run_is_set_aside_with_a_reason_and_counts_again(conference: Client) -> None:
    conference.post("/rehearsals/RUN-3/set-aside/", {"reason": "tripod kicked over"})
    assert run_of("RUN-3").run.set_aside == "tripod kicked over"
    assert "tripod kicked over" in conference.get("/rehearsals/RUN-3/").content.decode()

    conference.post("/rehearsals/RUN-3/set-aside/", {"reason": ""})
    assert run_of("RUN-3").counts


def test_no_page_calls_a_motion_safe(conference: Client) -> None:
    for address in PAGES:
        text = conference.get(f"/rehearsals/{address}").content.decode()
        without = text.replace("no motion is ever called safe", "").replace("No accepted safe threshold", "")
        assert " safe" not in without.replace("No motion is called safe", ""), address


@pytest.mark.parametrize(
    "role", [Role.MEDICAL_DIRECTION, Role.EDITOR, Role.RESPONDER, Role.READER, Role.AMBULANCE_PARTNER]
)
def test_each_role_sees_what_it_may(conference: Client, settings: Any, role: Role) -> None:
    settings.LOOPBACK_ONLY = False
    client = signed_in(role)
    may = role not in (Role.READER, Role.AMBULANCE_PARTNER)

    for address in (*PAGES, *RECORDING_PAGES):
        assert client.get(f"/rehearsals/{address}").status_code == (200 if may else 403), address


def test_a_run_of_another_organisation_is_not_there(conference: Client, settings: Any) -> None:
    from onthree.actions.accounts import add_person
    from onthree.store.models import Account
    from onthree.store.models import Organisation as Row

    save_records([Organisation(code="OTHER", name="Other (invented)")], by="test")
    settings.LOOPBACK_ONLY = False
    first = Row.objects.order_by("pk")[0]
    add_person("other", Role.LEAD, "heron over wet turf", organisation_code="OTHER")
    assert Account.objects.get(user__username="other").organisation_id != first.pk
    client = Client()
    client.post("/sign-in/", {"username": "other", "password": "heron over wet turf"})

    for address in ("RUN-3/", "RUN-3/debrief/", "RUN-3/result/", "RUN-3/record/", "RUN-3/films/"):
        assert client.get(f"/rehearsals/{address}").status_code == 404, address
    assert client.get("/rehearsals/RUN-3/films/REC-3/video").status_code == 404
    assert client.get("/api/films/runs/RUN-3/angles.f32").status_code == 404
    assert client.post("/rehearsals/RUN-3/set-aside/", {"reason": "mine"}).status_code == 404


def test_questions_to_the_store_do_not_grow_with_the_runs(conference: Client) -> None:
    def count() -> list[int]:
        counts = []
        for address in ("", "RUN-3/", "RUN-3/debrief/"):
            with CaptureQueriesContext(
                connection,
            ) as asked:
                assert conference.get(f"/rehearsals/{address}").status_code == 200
            counts.append(len(asked))
        return counts

    before = count()
    a_run: Run = run_of("RUN-3").run
    save_records([replace(a_run, code=f"MORE-{number}") for number in range(40)], by="test")

    assert count() == before
    assert max(before) < 70


def test_a_run_is_carried_on_devices_and_no_other_gear_is_offered(conference: Client) -> None:
    from onthree.programme.records import Gear

    page = conference.get("/rehearsals/start/").content.decode()
    offered = re.findall(r'<option value="(G-[^"]+)"', page.partition('id="field-device"')[2].partition("</select>")[0])
    gear = {one.code: one.kind for one in conference_records() if isinstance(one, Gear)}

    assert set(offered) == {code for code, kind in gear.items() if kind in CARRYING_DEVICES}
    assert len(offered) < len(gear)
    kinds = [CARRYING_DEVICES.index(gear[code]) for code in offered]
    assert kinds == sorted(kinds), "kind by kind"


def test_how_long_a_run_has_run_is_told_by_the_clock_of_the_server(conference: Client) -> None:
    """A device that is a year ahead moves nothing: what it says of its clock when it sends sets that right."""
    run = str(send(conference, "run-start", START)["result"]["run"])
    clock = f"/api/films/runs/{run}/clock"
    assert conference.get(clock).json() == {"run": run, "running_s": None}
    typed, sending = timezone.now() + timedelta(days=365), timezone.now() + timedelta(days=365, seconds=40)
    tap = {"kind": "run-tap", "body": {"run": run, "what": "go", "at_ms": typed.timestamp() * 1000}}
    body = {**tap, "at_client": typed.isoformat(), "at_sending": sending.isoformat()}
    assert conference.put(f"/api/outbox/{uuid4()}", body, "application/json").status_code == 201

    assert 40 <= conference.get(clock).json()["running_s"] < 70
    assert signed_in(Role.READER).get(clock).status_code == 403
