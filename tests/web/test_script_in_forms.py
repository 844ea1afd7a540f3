"""Script typed into every field of every form that pages show, sent in every other way, printed, seen in a browser."""

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import resolve

from onthree.actions.outbox_kinds import KINDS
from onthree.actions.visitors import LINES
from onthree.demo.conference import DEMO_TODAY, conference_records
from onthree.documents.quality import QualityPage, quality_html
from onthree.programme.fields import Kind, fields_of
from onthree.programme.records import Record
from onthree.store.records import save_records
from onthree.web.forms.kinds import ADDRESS_OF
from tests.web.addresses import ADDRESSES
from tests.web.conftest import PageAt
from tests.web.films import START, send, sent
from tests.web.forms import Form, read
from tests.web.measured import measured_run
from tests.web.test_offline import answer
from tests.web.test_records import edited
from tests.web.test_script_as_text import REFUSED, SCRIPT

pytestmark = pytest.mark.django_db
TEMPLATES = Path(__file__).parents[2] / "src/onthree/web/templates"
ADDRESS_OF_SCRIPT = "javascript:alert(1)"
NAME_OF_FILE = '"><img src=x onerror=alert(1)>{{7*7}}'
OF_RECORDS = ("record-add", "record-edit")
"""Forms of records, field by field in test_script_as_text.py."""
WITHOUT_TEXT = {
    "film-call-off",
    "measure-again",
    "measure-call-off",
    "record-take-back",
    "sign-out",
    "visitor-link",
    "workbook-confirm",
}
"""Forms with buttons only."""
OUTBOX = {
    "told": {"event": "E-1", "rule": "visitors-unknown", "who": SCRIPT, "answer": "cannot", "note": SCRIPT},
    "time-out": {"event": "E-1", "item": "aed", "who": SCRIPT, "answer": "not agreed", "note": SCRIPT},
    "gear-check": {"gear": "G-1", "done": "found not ready", "who": SCRIPT, "note": SCRIPT},
    "run-start": {
        **START,
        "fields": {**START["fields"], "note": SCRIPT, "led_by": "R-1"},  # type: ignore[dict-item]
        "roles": [{"role": "head", "somebody": SCRIPT}],
    },
    "visitor answer": {"event": "E-1", "name": SCRIPT, **dict.fromkeys(LINES, SCRIPT), "largest": "72: 300 lb"},
}


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def invite(client: Client) -> str:
    """The address of the visitors' request."""
    page = client.post("/events/E-1/visitor-link/").content.decode()
    found = re.search(r'href="http://testserver(/visit/[^"]+)"', page)
    assert found
    return found[1]


def forms_of(client: Client, addresses: Iterator[str] | list[str]) -> dict[tuple[str, str, frozenset[str]], Form]:
    """The forms that pages show, each kind once, with where they go."""
    found: dict[tuple[str, str, frozenset[str]], Form] = {}
    for address in addresses:
        for form in read(client.get(address).content.decode()).forms:
            form.action = form.action or address
            name = str(resolve(urlsplit(form.action).path).url_name)
            found.setdefault((name, form.outbox, frozenset((*form.typed, *form.files))), form)
    return found


def submit(client: Client, form: Form, content: dict[str, Any]) -> None:
    """Send a form as a browser does; whatever is answered, nothing of it runs."""
    known = {name: value for name, value in content.items() if name != "csrfmiddlewaretoken"}
    response = client.post(form.action, known) if form.is_post else client.get(form.action, known)
    assert response.status_code < 500, form.action
    if "html" in response.headers["Content-Type"]:
        found = read(response.content.decode())
        assert found.runs == [], (form.action, found.runs)
        assert "<img src=x" not in response.content.decode(), form.action


def test_script_typed_into_every_field_of_every_form_is_text(conference: Client) -> None:
    edited(conference, "/records/edit/venues/V-1/", latitude_deg="45.5", longitude_deg="-30.25", bearing_deg="45")
    sent(conference, "RUN-3", taken_by=SCRIPT, name=f"{NAME_OF_FILE}.mp4")
    measured_run("RUN-3", words=SCRIPT)
    forms = forms_of(conference, [*ADDRESSES, invite(conference), "/records/teams/", "/records/teams/T-1/"])
    met = {name for name, _, _ in forms}
    written = re.findall(
        r"<form[^>]*action=\"{% url '([a-z-]+)'", "".join(map(Path.read_text, TEMPLATES.rglob("*.html")))
    )
    assert set(written) - met <= WITHOUT_TEXT | set(OF_RECORDS)

    for (name, _, _), form in forms.items():
        for field in () if name in OF_RECORDS else form.typed:
            submit(conference, form, form.with_typed(field, SCRIPT))
        submit(conference, form, {**form.sends, **dict.fromkeys(form.typed, ADDRESS_OF_SCRIPT)})
        submit(conference, form, dict.fromkeys((*form.sends, *form.typed), SCRIPT))  # as no page sends it
        for field in form.files:
            file = SimpleUploadedFile(f"{NAME_OF_FILE}.csv", f"Code,Name\n{SCRIPT},{SCRIPT}\n".encode())
            submit(conference, form, form.with_typed(field, "") | {field: file})
    see_nothing_run(conference)


def see_nothing_run(client: Client, *more: str) -> str:
    """Open every page; the words of all of them."""
    words = []
    for address in (*ADDRESSES, *more):
        html = client.get(address).content.decode()
        found = read(html)
        assert found.runs == [], (address, found.runs)
        assert "<img src=x" not in html, address
        words += found.words
    return "\n".join(words)


def test_script_sent_by_every_kind_of_the_outbox_is_text(conference: Client) -> None:
    assert set(OUTBOX) | {"run-tap"} == set(KINDS), "a tap has no text of its own"
    run = ""
    for kind, body in OUTBOX.items():
        run = str(send(conference, kind, body)["result"].get("run", run))
    for kind, body in OUTBOX.items():
        for name in [each for each, value in body.items() if isinstance(value, str)]:
            wrong = {"kind": kind, "body": {**body, name: SCRIPT}}
            told = conference.put(f"/api/outbox/{uuid4()}", json.dumps(wrong), "application/json")
            assert told.headers["Content-Type"].startswith("application/json")
            assert told.headers["X-Content-Type-Options"] == "nosniff"

    words = see_nothing_run(
        conference, *(f"/rehearsals/{run}/{each}" for each in ("", "record/", "debrief/", "films/"))
    )
    assert words.count(SCRIPT) > 10
    for address in ("/events/E-1/", "/events/E-1/time-out/", "/records/gear/G-1/", f"/rehearsals/{run}/"):
        assert SCRIPT in "\n".join(read(conference.get(address).content.decode()).words), address
    kit = read(conference.get("/events/E-1/kit/").content.decode())
    assert SCRIPT in "\n".join(kit.words)
    assert len(kit.runs) == 1 and "alert(" not in kit.runs[0], "its own script and nothing else"


FEATURE = {"type": "Feature", "geometry": {"type": "Point", "coordinates": [-30.25, 45.5]}}
TIME_OUT = {
    "kind": "time-out",
    "body": OUTBOX["time-out"],
    "key": str(uuid4()),
    "at_client": "2026-11-25T19:00:00+00:00",
}


@pytest.mark.parametrize(
    ("address", "field", "name", "content"),
    [
        ("/records/workbook/", "workbook", "Teams.csv", f"Code,Name\nT-77,{SCRIPT.replace(chr(34), '')}\n"),
        ("/records/workbook/", "workbook", "Teams.csv", f"Code,Name,{SCRIPT.replace(chr(34), '')}\nT-77,,x\n"),
        ("/records/plan/upload/V-1/", "plan", "a", {"kind": "AED", "label": SCRIPT, "note": SCRIPT}),
        ("/records/plan/upload/V-1/", "plan", "a", {"kind": SCRIPT}),
        (
            "/kit-answers/",
            "answers",
            "a.json",
            {"format": "onthree answers 1", "answers": [{**TIME_OUT, "kind": SCRIPT}]},
        ),
        ("/kit-answers/", "answers", "a.json", {"format": "onthree answers 1", "answers": [TIME_OUT]}),
        ("/rehearsals/RUN-3/films/measure/", "rig_file", f"{NAME_OF_FILE}.toml", f"family = '{SCRIPT[2:]}'\n"),
        ("/rehearsals/look/", "film", f"{NAME_OF_FILE}.mp4", SCRIPT),
    ],
)
def test_script_in_a_file_is_text(conference: Client, address: str, field: str, name: str, content: Any) -> None:
    edited(conference, "/records/edit/venues/V-1/", latitude_deg="45.5", longitude_deg="-30.25", bearing_deg="45")
    if field == "plan":
        content = {"type": "FeatureCollection", "features": [{**FEATURE, "properties": content}]}
    text = content if isinstance(content, str) else json.dumps(content)
    response = conference.post(
        address, {field: SimpleUploadedFile(name, text.encode()), "recording": "REC-3", "rig": "1"}
    )

    found = read(response.content.decode())
    assert response.status_code in (200, 400)
    assert found.runs == [] and "<img src=x" not in response.content.decode()


def test_script_is_text_in_what_is_downloaded(conference: Client) -> None:
    save_records(list(scripted()), by=SCRIPT)
    edited(conference, "/records/edit/venues/V-1/", latitude_deg="45.5", longitude_deg="-30.25", bearing_deg="45")
    for address in ("plan/file/V-1.geojson", "plan/file/V-1-local-metres.json"):
        plan = conference.get(f"/records/{address}")
        assert SCRIPT in json.dumps(plan.json()).replace('\\"', '"'), address
        assert plan.headers["Content-Disposition"].startswith("attachment")
    for address in ("/api/events/E-1", "/api/events/E-1/findings", "/api/records/gear", "/api/records/teams/T-1"):
        answer = conference.get(address)
        assert "json" in answer.headers["Content-Type"] and answer.headers["X-Content-Type-Options"] == "nosniff"
    assert conference.get("/api/records/teams/T-1").json()["record"]["name"] == SCRIPT
    assert read(conference.get("/events/E-1/kit/").content.decode()).runs[1:] == []
    about = [SCRIPT]
    page = QualityPage(
        on=DEMO_TODAY,
        title=SCRIPT,
        said=SCRIPT,
        facts=[(SCRIPT, SCRIPT)],
        seen_ratio={SCRIPT: [1.0]},
        last_s=1.0,
        lost=[about * 4],
        tags=[],
        widened=[about * 4],
        rung=SCRIPT,
        lifts=about,
        noticed=about,
        cautions=about,
    )
    found = read(quality_html(page))
    assert found.runs == [] and SCRIPT in "\n".join(found.words)


def text_of_pdf(content: bytes) -> str:
    """What a reader of PDF copies out of it."""
    made = subprocess.run(["pdftotext", "-raw", "-", "-"], input=content, capture_output=True, check=True)
    return "".join(made.stdout.decode().split())


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs a program that reads PDF")
def test_script_and_markup_are_text_in_what_is_printed(conference: Client) -> None:
    save_records(list(scripted()), by="test")
    labels = {"base": "http://192.168.1.20", "paper": "a4", "code": ["G-1", "G-2"]}
    for address, given in (("/rehearsals/RUN-3/debrief/page.pdf", {}), ("/records/labels/sheet.pdf", labels)):
        printed = text_of_pdf(conference.get(address, given).content)
        assert "root:" not in printed, "no file of the machine is read"
        assert '#read("/etc/passwd")*x*' in printed or "<script>alert(" in printed, address


def scripted() -> Iterator[Record]:
    """The invented conference with script in every text that may be anything."""
    for record in conference_records():
        fixed = REFUSED.get(ADDRESS_OF[type(record)], set())
        texts = {each.name for each in fields_of(type(record)) if each.kind is Kind.TEXT and each.name not in fixed}
        yield replace(record, **dict.fromkeys(texts, SCRIPT))


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_no_page_runs_script_that_was_typed(page_at: PageAt) -> None:
    save_records(list(scripted()), by=SCRIPT)
    measured_run("RUN-3", words=SCRIPT)
    page = page_at("desktop")
    told: list[str] = []
    page.on("dialog", lambda dialog: (told.append(dialog.message), dialog.dismiss()))
    for address in (*ADDRESSES, "/records/venues/V-1/", "/records/labels/"):
        page.goto(address)
        assert page.locator("img[src=x]").count() == 0, address
        assert "alert(1)" not in page.title() or "<img src=x" in page.title(), address
    page.goto("/rehearsals/RUN-3/result/")
    page.wait_for_selector("body[data-traces=drawn]")
    page.goto("/events/E-1/time-out/")
    answer(page, "aed", SCRIPT, SCRIPT)
    page.goto("/rehearsals/RUN-3/record/")

    assert told == []
