"""The whole job in one browser: from a workbook to a time-out without a connection, from a live run to its debrief."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from onthree.actions.accounts import add_person
from onthree.actions.working import work
from onthree.demo.conference import conference_records
from onthree.programme.roles import Role
from onthree.store.models import Received, TimeOutAnswer
from onthree.store.records import save_records
from onthree.workbook.write import write_workbook
from tests.web.conftest import PageAt, assert_accessible
from tests.web.films import FILM, PASSWORD, RIG
from tests.web.test_offline import STATUS, answer
from tests.web.test_result_page import begin_run

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LONGEST_MS = 60_000
SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


@pytest.fixture
def served(transactional_db: None, live_server: LiveServer, demo_today: object, settings: Any) -> str:
    """The address of a store with nothing in it but an account, reached as from another computer."""
    settings.LOOPBACK_ONLY = False
    add_person("lead", Role.LEAD, PASSWORD)
    return str(live_server.url)


def sign_in(page: Page) -> None:
    page.goto("/")
    page.locator("main input[name=username]").fill("lead")
    page.locator("main input[name=password]").fill(PASSWORD)
    page.locator("main").get_by_role("button", name="Sign in").click()


def import_workbook(page: Page) -> None:
    """From the page of an empty store: a workbook with a problem, then a whole one, looked at before it is saved."""
    expect(page.locator("h1")).to_have_text("Nothing here yet")
    assert_accessible(page)
    page.get_by_role("link", name="Import a workbook here").click()
    wrong = {"name": "Teams.csv", "mimeType": "text/csv", "buffer": b"Code,Name\nT-1,\n"}
    page.set_input_files("#workbook", wrong)  # type: ignore[arg-type]
    page.click("text=Check it and show the changes")
    expect(page.locator(".problems")).to_contain_text("Teams.csv, row 2, Name: nothing given")
    whole = {"name": "conference.xlsx", "mimeType": SHEET, "buffer": write_workbook(conference_records())}
    page.set_input_files("#workbook", whole)  # type: ignore[arg-type]
    page.click("text=Check it and show the changes")
    expect(page.locator(".changes")).to_contain_text("added: Events, E-1")
    page.click("text=Import it")
    expect(page.locator("[role=status]")).to_contain_text("conference.xlsx is imported")


def see_event(page: Page) -> None:
    """From home to the next event: the sentence, who can fix what, and what is planned for each number."""
    page.click("header .name")
    page.click("#next a")
    page.wait_for_url("**/events/E-1/")
    expect(page.locator("main")).to_contain_text("except 52, 71, 78: wide scoop, six lifters")
    expect(page.locator("table.athletes tr", has_text="52").locator("td.answer").first).to_contain_text("wide scoop")
    expect(page.locator("main")).not_to_contain_text("Not agreed at the time-out")


@pytest.mark.parametrize("size", ["desktop", "tablet", "phone"])
def test_from_a_fresh_store_to_a_time_out_without_a_connection(page_at: PageAt, size: str) -> None:
    page = page_at(size)
    page.set_default_timeout(LONGEST_MS)
    sign_in(page)
    import_workbook(page)
    see_event(page)
    page.get_by_role("link", name="Medical time-out").click()
    expect(page.locator("html")).to_have_attribute("data-kept", "all", timeout=LONGEST_MS)

    context, address = page.context, page.url
    context.set_offline(True)
    answer(page, "people", "head athletic trainer", "all six are here")
    answer(page, "aed", "referee", "seen at the south bench")
    answer(page, "ambulance", "ambulance crew lead", "the south gate is locked", button="Not agreed")
    expect(page.locator(STATUS)).to_contain_text("3 waiting. No connection")
    page.close()

    page = context.new_page()
    page.goto(address)
    expect(page.locator(STATUS)).to_contain_text("3 waiting", timeout=LONGEST_MS)
    expect(page.locator("[data-given] [data-state=waiting]")).to_have_count(3)
    assert not TimeOutAnswer.objects.filter(event__code="E-1").exists()
    context.set_offline(False)
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    arrived = TimeOutAnswer.objects.filter(event__code="E-1").values_list("item", "who", "answer")
    assert sorted(arrived) == [
        ("aed", "referee", "confirmed"),
        ("ambulance", "ambulance crew lead", "not agreed"),
        ("people", "head athletic trainer", "confirmed"),
    ]
    assert Received.objects.count() == 3
    page.goto("/events/E-1/")
    expect(page.locator("main")).to_contain_text("Not agreed at the time-out: the ambulance")
    expect(page.locator("main")).to_contain_text("the south gate is locked")


def test_from_a_run_recorded_live_to_its_debrief(page_at: PageAt) -> None:
    save_records(conference_records(), by="test")
    page = page_at("desktop")
    page.set_default_timeout(LONGEST_MS)
    sign_in(page)
    begin_run(page)
    page.click("#tap-next")
    page.keyboard.press("n")
    page.wait_for_timeout(2500)  # a phase that is long enough to be measured
    page.click("#tap-end-run")
    page.wait_for_selector("#sending:has-text('All sent')")
    page.click("#to-films")
    page.set_input_files("#film", FILM)
    page.select_option("#kind", "film with tags")
    page.fill("#offset", "-1.7")  # the roll begins 1.8 s into the film
    with page.expect_navigation():
        page.click("text=Send the film")
    page.set_input_files("#rig-file", RIG)
    page.click("button:text-is('Measure')")
    page.wait_for_selector(".job:has-text('waiting')")
    work(is_batch=True)

    page.click(".job a:has-text('Result beside the film')")
    page.wait_for_selector("body[data-traces=drawn]")
    flexed = page.locator(".trace table tbody tr").first
    expect(flexed).to_contain_text("log roll onto a long board")
    assert max(abs(float(text)) for text in flexed.locator("td").all_inner_texts()) > 1  # degrees
    page.click("main a:has-text('Debrief')")
    expect(page.locator(".sentences")).to_contain_text("The body began before the head")  # as it was made
