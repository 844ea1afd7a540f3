"""The one-file kit: works without a server, and its answers are taken in exactly once."""

import json
import re
from base64 import b64encode
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from playwright.sync_api import Browser

from onthree.actions.kit import FORMAT
from onthree.store.models import TimeOutAnswer, Upkeep
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
    good, other = one(), one(kind="run-tap")
    content = file_of(good, other, one(key="x"), one(at_client="2026-11-27T18:35"), {"kind": "time-out"}, "text")
    status, page = upload(conference, content)

    assert status == 400
    assert "1 new, 1 in all" in page
    assert "answer 2: kind 'run-tap' given" in page
    assert all(f"answer {place}: " in page for place in (3, 4, 5, 6))
    assert "0 new, 1 in all" in upload(conference, file_of(good))[1]
    assert TimeOutAnswer.objects.filter(event__code="E-1").count() == 1


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"[]", b'{"format": "other"}', b"<html>"])
def test_another_file_is_refused_with_what_to_do(conference: Client, content: bytes) -> None:
    status, page = upload(conference, content) if content else (400, "choose another file")

    assert status == 400
    assert "choose another file" in page


@pytest.mark.browser
def test_it_is_answered_from_a_file_and_the_answers_come_back(
    served: str, client: Client, browser: Browser, tmp_path: Path
) -> None:
    kit = tmp_path / "kit.html"
    kit.write_bytes(client.get("/events/E-1/kit/").content)
    page = browser.new_page(viewport={"width": SIZES["tablet"][0], "height": SIZES["tablet"][1]})
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.goto(kit.as_uri())
    assert_accessible(page)
    for about, button in (("time-out people", "Confirmed"), ("time-out way", "Not agreed"), ("gear G-1", "Ready")):
        form = page.locator(f'[data-about="{about}"] form')
        form.locator("[name=who]").fill("crew lead")
        form.get_by_role("button", name=button, exact=True).click()
    page.reload()
    assert page.locator("#count").inner_text() == "3 answers kept in this browser."
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the answers as a file").click()

    assert "3 new, 3 in all" in upload(client, Path(saved.value.path()).read_bytes())[1]
    assert set(TimeOutAnswer.objects.filter(event__code="E-1").values_list("item", "answer")) == {
        ("people", "confirmed"),
        ("way", "not agreed"),
    }
    assert Upkeep.objects.filter(done="found ready").count() == 1
    assert complaints == []
