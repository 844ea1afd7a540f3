"""The one-file kit: works without a server, and its answers are taken in exactly once."""

import json
import re
from base64 import b64encode
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from playwright.sync_api import Browser, Page, expect

from onthree.actions.kit import FORMAT
from onthree.programme.time_out import TIME_OUT_ITEMS
from onthree.store.models import Incident, Received, Run, RunPhase, RunRole, TimeOutAnswer, Upkeep
from tests.web.conftest import SIZES, assert_accessible


def upload(client: Client, content: bytes) -> tuple[int, str]:
    response = client.post("/kit-answers/", {"answers": SimpleUploadedFile("answers.json", content)})
    return response.status_code, " ".join(response.content.decode().replace("&#x27;", "'").split())


def one(**changes: Any) -> dict[str, Any]:
    body = {"event": "E-1", "item": "aed", "who": "crew lead", "answer": "confirmed"}
    at = datetime.now(UTC).isoformat()
    return {"key": str(uuid4()), "kind": "time-out", "body": body, "label": "", "at_client": at, **changes}


def file_of(*answers: Any) -> bytes:
    return json.dumps({"format": FORMAT, "event": "E-1", "answers": answers}).encode()


def test_its_script_is_the_only_one_that_may_run_and_it_asks_nobody(conference: Client) -> None:
    response = conference.get("/events/E-1/kit/")
    html = response.content.decode()
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)

    assert response.headers["Content-Disposition"] == 'attachment; filename="kit-e-1.html"'
    assert f"script-src 'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'" in html
    assert "default-src 'none'" in html
    assert not re.search(r'(?:src|href)="(?!#)', html)
    assert not re.search(r"\d (?:lb|kg)\b", html), "what athletes weigh does not leave with the file"
    assert len(response.content) < 400_000


def test_answers_are_taken_in_once_and_the_rest_is_told(conference: Client) -> None:
    good, other = one(), one(kind="smoke-signal")
    content = file_of(good, other, one(key="x"), one(at_client="2026-11-27T18:35"), {"kind": "time-out"}, "text")
    status, page = upload(conference, content)

    assert status == 400
    assert "1 new, 1 in all" in page
    assert "answer 2: kind 'smoke-signal' given" in page
    assert all(f"answer {place}: " in page for place in (3, 4, 5, 6))
    assert "0 new, 1 in all" in upload(conference, file_of(good))[1]
    assert TimeOutAnswer.objects.filter(event__code="E-1").count() == 1


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"[]", b'{"format": "other"}', b"<html>"])
def test_another_file_is_refused_with_what_to_do(conference: Client, content: bytes) -> None:
    status, page = upload(conference, content) if content else (400, "choose another file")

    assert status == 400
    assert "choose another file" in page


def test_a_clock_that_cannot_be_right_is_set_to_what_can_be_and_told(conference: Client) -> None:
    now = datetime.now(UTC)
    ahead = one(at_client=(now + timedelta(days=900)).isoformat())
    behind = one(at_client="2021-01-01T00:00:00+00:00", body=one()["body"] | {"item": "way"})
    made = (now - timedelta(hours=2)).isoformat()
    content = json.dumps({"format": FORMAT, "made": made, "answers": [ahead, behind]}).encode()
    status, page = upload(conference, content)

    assert status == 200
    assert "answer 1: the clock of the device said" in page
    assert "answer 2: the clock of the device said 2021-01-01 00:00" in page
    possible = {(now - timedelta(hours=2)).astimezone().date(), datetime.now(UTC).astimezone().date()}
    assert set(TimeOutAnswer.objects.filter(event__code="E-1").values_list("day", flat=True)) <= possible
    kept = Received.objects.get(key=behind["key"])
    assert kept.at_client == datetime(2021, 1, 1, tzinfo=UTC), "what the device said is kept"


@pytest.mark.browser
def test_it_is_answered_from_a_file_and_everything_comes_back_once(
    served: str, client: Client, browser: Browser, tmp_path: Path
) -> None:
    kit = tmp_path / "kit.html"
    kit.write_bytes(client.get("/events/E-1/kit/").content)
    device = browser.new_context(viewport={"width": SIZES["tablet"][0], "height": SIZES["tablet"][1]}, offline=True)
    page, other = device.new_page(), device.new_page()
    complaints: list[str] = []
    device.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    device.on("weberror", lambda fault: complaints.append(str(fault.error)))
    for each in (page, other):
        each.goto(kit.as_uri())
    assert_accessible(page)
    forms = page.locator("form[data-kind=time-out], form[data-kind=gear-check]")
    for number, form in enumerate(forms.all()):
        tab = other if number % 2 else page
        form = tab.locator("form[data-kind=time-out], form[data-kind=gear-check]").nth(number)
        form.locator("[name=who]").fill("crew lead")
        form.get_by_role("button").nth(int(number % 3 == 2)).click()
    count = forms.count()
    expect(page.locator("#count")).to_have_text(f"{count} answers kept in this browser.")
    record_a_run(page)
    assert_accessible(page)
    page.reload()
    expect(page.locator("#count")).to_have_text(f"{count + 9} answers kept in this browser.")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the answers as a file").click()
    content = Path(saved.value.path()).read_bytes()
    device.close()

    assert upload(client, content)[0] == 200
    assert f"0 new, {count + 9} in all" in upload(client, content)[1]
    items = TimeOutAnswer.objects.filter(event__code="E-1").values_list("item", flat=True)
    assert sorted(items) == sorted(TIME_OUT_ITEMS)
    assert Upkeep.objects.filter(done__startswith="found ").count() == count - len(TIME_OUT_ITEMS)
    (run,) = Run.objects.filter(note="from the kit")
    assert (run.stand_in, run.spotters, run.head_guess_deg) == ("dummy", True, 4)
    assert run.lasted_s >= 0
    assert RunPhase.objects.filter(run=run).count() == 1
    assert list(Incident.objects.filter(run=run).values_list("kind", flat=True)) == ["re-grip"]
    assert list(RunRole.objects.filter(run=run).values_list("role", "effort")) == [("head", 6)]
    assert complaints == []


def record_a_run(page: Page) -> None:
    """One start and eight taps, one of them taken back."""
    form = page.locator("#run-start")
    form.get_by_role("button", name="Ready").click()
    assert form.is_visible(), "without spotters and a stand-in no run starts"
    form.get_by_label("Who lies there").select_option("dummy")
    form.get_by_label("Spotters are placed").check()
    form.get_by_label("Role 1").select_option("head")
    form.get_by_label("Note").fill("from the kit")
    form.get_by_role("button", name="Ready").click()
    for name in ("Start the clock", "Begins now", "Re-grip", "Hold lost", "Take back what came last", "Run over"):
        page.get_by_role("button", name=name).click()
    page.get_by_label("how far did the head move").fill("4")
    page.get_by_role("button", name="Keep the guess").click()
    page.get_by_label("head", exact=True).select_option("6")


@pytest.mark.browser
def test_where_the_browser_keeps_nothing_more_the_kit_says_so_and_still_saves(
    served: str, client: Client, browser: Browser, tmp_path: Path
) -> None:
    kit = tmp_path / "kit.html"
    kit.write_bytes(client.get("/events/E-1/kit/").content)
    page = browser.new_page()
    page.goto(kit.as_uri())
    page.evaluate(
        "() => { Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
    )
    form = page.locator('[data-about="time-out people"] form')
    form.locator("[name=who]").fill("crew lead")
    form.get_by_role("button", name="Confirmed").click()
    expect(page.locator("#count")).to_contain_text("1 answers, not all kept in this browser: save them as a file now")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the answers as a file").click()

    assert len(json.loads(Path(saved.value.path()).read_bytes())["answers"]) == 1
