"""Pages that no list holds: what strangers and visitors see, refusals, two versions, what a file brought, the kit."""

import re
from pathlib import Path
from typing import Any

import pytest
from django.urls import get_resolver, resolve
from playwright.sync_api import Browser, Page

from onthree.actions.accounts import add_person
from onthree.programme.roles import Role
from tests.web.addresses import ADDRESSES
from tests.web.conftest import SIZES, PageAt, assert_accessible, assert_works_at_double_text
from tests.web.films import PASSWORD
from tests.web.measured import measured_run
from tests.web.reached import REACHED
from tests.web.test_accounts import every_view

FILES = {
    "film",
    "gear-labels-pdf",
    "plan-geojson",
    "plan-local",
    "run-debrief-pdf",
    "run-file",
    "service-worker",
    "set-up-certificate",
    "workbook-blank",
    "workbook-download",
}
PARTS = {"event-standing", "measure-job", "record-options"}
"""What a page draws into itself."""
SENT_TO = {
    "film-call-off",
    "film-clock",
    "film-phase",
    "film-stretches",
    "measure-again",
    "measure-call-off",
    "plan-save",
    "plan-upload",
    "run-measure",
    "run-set-aside",
    "send",
    "sign-out",
    "upkeep-add",
}
"""What forms are sent to: they answer with a page of the lists."""


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def test_every_page_is_looked_at_and_photographed() -> None:
    """What stands in the two lists is in a picture, and seen by axe here or where the addresses are tried."""
    listed = {resolve(address.partition("?")[0]).url_name for address in ADDRESSES if address != "/nowhere/"}
    reached = {name for name, _ in REACHED.values()}
    named = {view.name for view in every_view(get_resolver())}

    assert named - listed - reached - FILES - PARTS - SENT_TO == set()


def look(page: Page) -> None:
    """Axe, the width, one heading, and the same with text of twice the size."""
    assert_accessible(page)
    assert page.locator("h1:visible").count() == 1, page.url
    assert_works_at_double_text(page)


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_what_strangers_visitors_and_other_roles_see_is_accessible(page_at: PageAt, size: str, settings: Any) -> None:
    page = page_at(size)
    page.goto("/events/E-1/")
    page.locator("form[action$='/visitor-link/'] button").click()
    look(page)
    visit = page.locator("p.link a").get_attribute("href") or ""
    settings.LOOPBACK_ONLY = False
    add_person("reader", Role.READER, PASSWORD)
    for address in (visit, f"{visit[:-3]}x/", "/life-first/", "/life-first/arrest/", "/set-up/", "/events/E-1/"):
        page.goto(address)
        look(page)
    page.locator("main input[name=username]").fill("reader")
    page.locator("main input[name=password]").fill("guessed")
    page.locator("main").get_by_role("button", name="Sign in").click()
    page.locator("[role=alert]").wait_for()
    look(page)
    page.locator("main input[name=password]").fill(PASSWORD)
    page.locator("main").get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/events/E-1/")
    for address in ("/", "/events/E-1/", "/account/", "/records/edit/gear/G-1/"):
        page.goto(address)
        look(page)
    assert "Not for your role" in page.inner_text("main")


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_what_comes_after_a_form_is_accessible(page_at: PageAt, size: str, tmp_path: Path) -> None:
    measured_run("RUN-3")
    page = page_at(size)
    for address in ("/rehearsals/RUN-3/", "/rehearsals/RUN-3/result/"):
        page.goto(address)
        look(page)
    for name, (_, reach) in REACHED.items():
        if name != "kit":  # a file, below
            reach(page, tmp_path)
            look(page)


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_the_kit_is_accessible_as_the_file_it_is(browser: Browser, served: str, tmp_path: Path) -> None:
    for size in ("desktop", "phone"):
        width, height = SIZES[size]
        page = browser.new_page(viewport={"width": width, "height": height}, base_url=served)
        REACHED["kit"][1](page, tmp_path)
        look(page)
        assert re.fullmatch(r"0 .*|Nothing.*|No .*", page.inner_text("#count")), page.inner_text("#count")
