"""Pages that no address alone opens: each with the name it has among the addresses and the way to it, as people go.

Those that save something come last, so that the pictures before show the invented conference as it is.
"""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

from playwright.sync_api import Page

from onthree.actions.kit import FORMAT

Way = Callable[[Page, Path], None]
"""Leads a page of a browser there; the folder is for files on the way."""
CLEAN, WITH_PROBLEMS = b"Code,Name\nT-77,Larks\n", b"Code,Name\nT-1,\n"
ANSWER_KEY = UUID("6f1d8a52-5a2e-4a8e-9d57-0d7c4f6f3b10")


def make_a_visitors_link(page: Page, _folder: Path) -> None:
    page.goto("/events/E-1/")
    page.locator("form[action$='/visitor-link/'] button").click()
    page.locator("p.link a").wait_for()


def visit(page: Page, folder: Path) -> None:
    make_a_visitors_link(page, folder)
    page.goto(page.locator("p.link a").get_attribute("href") or "")


def open_the_kit(page: Page, folder: Path) -> None:
    """The file as it lies on a device, not served by anybody."""
    kit = folder / "kit.html"
    kit.write_bytes(page.request.get("/events/E-1/kit/").body())
    page.goto(kit.as_uri())


def send_a_workbook(page: Page, content: bytes) -> None:
    page.goto("/records/workbook/")
    page.set_input_files("#workbook", {"name": "Teams.csv", "mimeType": "text/csv", "buffer": content})
    page.click("text=Check it and show the changes")
    page.locator("h2#problems, .changes").wait_for()


def see_the_problems(page: Page, _folder: Path) -> None:
    send_a_workbook(page, WITH_PROBLEMS)


def see_the_changes(page: Page, _folder: Path) -> None:
    send_a_workbook(page, CLEAN)


def send_kit_answers(page: Page, content: object) -> None:
    page.goto("/events/E-1/")
    file = {"name": "answers.json", "mimeType": "application/json", "buffer": json.dumps(content).encode()}
    page.set_input_files("#kit-file", file)  # type: ignore[arg-type]
    page.locator("form[action$='/kit-answers/'] button").click()


def send_another_file(page: Page, _folder: Path) -> None:
    send_kit_answers(page, {})
    page.locator("h1:has-text('Nothing was taken')").wait_for()


def send_answers(page: Page, _folder: Path) -> None:
    """One answer that is taken, one from a clock that cannot be right, one of a kind that nobody knows."""
    now = datetime.now(UTC).isoformat()
    body = {"event": "E-1", "item": "aed", "who": "crew lead", "answer": "confirmed"}
    taken = {"key": str(ANSWER_KEY), "kind": "time-out", "body": body, "label": "", "at_client": now}
    late = {**taken, "key": str(UUID(int=ANSWER_KEY.int + 1)), "at_client": "2021-01-01T00:00:00+00:00"}
    answers = [taken, {**late, "body": {**body, "item": "way"}}, {**taken, "kind": "smoke-signal"}]
    send_kit_answers(page, {"format": FORMAT, "event": "E-1", "made": now, "answers": answers})
    page.locator("h1:has-text('Answers taken in')").wait_for()


def import_a_workbook(page: Page, folder: Path) -> None:
    see_the_changes(page, folder)
    page.click("text=Import it")
    page.locator("[role=status]").wait_for()


def save_what_another_saved_meanwhile(page: Page, _folder: Path) -> None:
    other = page.context.new_page()
    for one in (page, other):
        one.goto("/records/edit/gear/G-2/")
    other.fill("#field-name", "wide scoop, in the van")
    other.click(".record-form button[type=submit] >> nth=0")
    other.wait_for_url("**/gear/G-2/?saved")
    other.close()
    page.fill("#field-name", "wide scoop, north gate")
    page.click(".record-form button[type=submit] >> nth=0")
    page.locator("h1:has-text('Two versions')").wait_for()


REACHED: dict[str, tuple[str, Way]] = {
    "visitor-link": ("visitor-link", make_a_visitors_link),
    "visit": ("visit", visit),
    "kit": ("kit", open_the_kit),
    "workbook-problems": ("workbook", see_the_problems),
    "workbook-preview": ("workbook", see_the_changes),
    "kit-answers-refused": ("kit-answers", send_another_file),
    "kit-answers": ("kit-answers", send_answers),
    "workbook-imported": ("workbook-confirm", import_a_workbook),
    "record-two-versions": ("record-edit", save_what_another_saved_meanwhile),
}
"""The name of a picture: the name of the address, the way."""
