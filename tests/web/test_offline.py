"""Answers given without a connection: kept on the device, sent later, each exactly once."""

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from onthree.programme.time_out import TIME_OUT_ITEMS
from tests.web.conftest import FLAGS, PageAt, assert_accessible
from tests.web.test_serving import ENVIRONMENT, LONGEST_WAIT_S, free_port, start

pytestmark = pytest.mark.browser

ADDRESS = "/events/E-1/time-out/"
STATUS = "[data-outbox-status]"
LONGEST_MS = 60_000


def answer(page: Page, item: str, who: str, note: str, button: str = "Confirmed") -> None:
    """Answer one item as a person does."""
    form = page.locator(f"#item-{item.replace(' ', '-')} form")
    form.get_by_label("Name or role").fill(who)
    form.get_by_label("In their words").fill(note)
    form.get_by_role("button", name=button, exact=True).click()
    expect(page.locator(f"#item-{item.replace(' ', '-')} [data-answers]")).to_contain_text(note)


def test_an_answer_is_kept_while_there_is_no_connection_and_sent_when_there_is(page_at: PageAt) -> None:
    from onthree.store.models import TimeOutAnswer

    page = page_at("tablet")
    page.goto(ADDRESS)
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting")
    page.context.set_offline(True)
    for number, item in enumerate(TIME_OUT_ITEMS[:3]):
        answer(page, item, "ambulance crew lead", f"no connection {number}")
    expect(page.locator(STATUS)).to_contain_text("3 waiting. No connection to the server.")
    assert page.locator("[data-given] [data-state=waiting]").count() == 3
    assert not TimeOutAnswer.objects.filter(event__code="E-1").exists()
    page.context.set_offline(False)
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    assert TimeOutAnswer.objects.filter(event__code="E-1").count() == 3
    page.reload()
    expect(page.locator("#item-people [data-answers] li")).to_have_count(1)
    assert page.locator("[data-given] tr").count() == 3


def test_what_the_server_refuses_stays_with_the_reason_until_it_is_forgotten(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto(ADDRESS)
    page.evaluate(
        "import('/static/onthree/outbox.js').then(box => box.put('time-out', {event: 'E-99', item: 'aed'}, 'AED'))"
    )
    refused = page.locator("[data-outbox-refused]")
    expect(refused).to_contain_text("Not taken: AED")
    answer(page, "aed", "lead", "after a refusal")
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting")
    assert_accessible(page)
    refused.get_by_role("button", name="Forget it").click()

    expect(refused).to_be_hidden()


def test_the_keyboard_alone_goes_through_the_time_out(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto(ADDRESS)
    page.focus("#who-people")
    page.keyboard.type("head athletic trainer")
    for item in TIME_OUT_ITEMS:
        slug = item.replace(" ", "-")
        assert page.evaluate("document.activeElement.id") == f"who-{slug}"
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        expect(page.locator(f"#item-{slug} [data-standing]")).to_have_text("confirmed")
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    page.reload()
    expect(page.locator(".told").first).to_contain_text("all confirmed")


def test_a_gear_check_goes_the_same_way(page_at: PageAt) -> None:
    from onthree.store.models import Upkeep

    page = page_at("phone")
    page.goto("/events/E-1/gear-check/")
    page.context.set_offline(True)
    form = page.locator("#gear-g-1 form")
    form.get_by_label("Name or role").fill("gear keeper")
    form.get_by_label("What you saw").fill("latch stiff")
    form.get_by_role("button", name="Not ready").click()
    expect(page.locator(STATUS)).to_contain_text("1 waiting")
    page.context.set_offline(False)
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    assert Upkeep.objects.get(done="found not ready").note == "latch stiff"


def test_without_a_login_nothing_is_lost(page_at: PageAt, settings: Any, served: str) -> None:
    from onthree.actions.accounts import add_person
    from onthree.programme.roles import Role
    from onthree.store.models import TimeOutAnswer

    page = page_at("tablet")
    page.goto(ADDRESS)
    settings.LOOPBACK_ONLY = False
    add_person("crew", Role.AMBULANCE_PARTNER, "heron over wet turf")
    answer(page, "people", "crew lead", "typed before signing in")
    expect(page.locator(STATUS)).to_contain_text("1 waiting. Sign in to send.")
    page.get_by_role("link", name="Sign in to send").click()
    page.locator("main input[name=username]").fill("crew")
    page.locator("main input[name=password]").fill("heron over wet turf")
    page.locator("main").get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"**{ADDRESS}")
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    assert TimeOutAnswer.objects.get(note="typed before signing in").who == "crew lead"


def fill(page: Page) -> None:
    """The device has no space left, as the browser sees it."""
    origin = page.evaluate("location.origin")
    page.context.new_cdp_session(page).send("Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": 1})
    page.evaluate("""
        let rest = "x".repeat(1 << 20);
        for (let number = 0; rest; number += 1)
            try { localStorage.setItem(`filling ${number}`, rest); } catch { rest = rest.slice(0, rest.length >> 1); }
    """)


def test_where_the_device_has_no_space_the_page_keeps_the_answer_says_so_and_sends_it(page_at: PageAt) -> None:
    from onthree.store.models import TimeOutAnswer

    page = page_at("tablet")
    page.goto(ADDRESS)
    page.context.set_offline(True)
    fill(page)
    answer(page, "people", "crew lead", "without space")
    expect(page.locator(STATUS)).to_contain_text("1 waiting, 1 of them only as long as this page is open")
    assert_accessible(page)
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save them as a file").click()
    assert "without space" in Path(saved.value.path()).read_text()
    page.context.set_offline(False)
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    assert TimeOutAnswer.objects.get(event__code="E-1").note == "without space"


def test_what_was_kept_is_sent_though_there_is_no_space_to_note_that_it_was(page_at: PageAt) -> None:
    from onthree.store.models import TimeOutAnswer

    page = page_at("tablet")
    page.goto(ADDRESS)
    page.context.set_offline(True)
    answer(page, "people", "crew lead", "while there was space")
    expect(page.locator(STATUS)).to_contain_text("1 waiting. No connection")
    page.evaluate("() => { IDBObjectStore.prototype.put = function () { this.transaction.abort(); return {}; }; }")
    page.context.set_offline(False)
    expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    assert TimeOutAnswer.objects.get(event__code="E-1").note == "while there was space"


def test_what_a_tab_had_when_the_device_fell_asleep_another_tab_sends_and_the_first_finds_it_sent(
    page_at: PageAt,
) -> None:
    from onthree.store.models import TimeOutAnswer

    asleep = page_at("tablet")
    asleep.goto(ADDRESS)
    asleep.context.set_offline(True)
    for number, item in enumerate(TIME_OUT_ITEMS[:3]):
        answer(asleep, item, "crew lead", f"before sleep {number}")
    other = asleep.context.new_page()
    asleep.context.new_cdp_session(asleep).send("Page.setWebLifecycleState", {"state": "frozen"})
    asleep.context.set_offline(False)
    other.goto(ADDRESS)
    expect(other.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)
    asleep.context.new_cdp_session(asleep).send("Page.setWebLifecycleState", {"state": "active"})
    expect(asleep.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    notes = TimeOutAnswer.objects.filter(event__code="E-1").values_list("note", flat=True)
    assert sorted(notes) == [f"before sleep {number}" for number in range(3)]


def test_over_plain_http_from_another_device_the_page_keeps_what_is_answered_and_says_what_it_cannot(
    chromium: str, served: str, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from onthree.store.models import TimeOutAnswer

    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    settings.ALLOWED_HOSTS = ["*"]
    flags = [*FLAGS.split(), "--no-proxy-server", "--host-resolver-rules=MAP laptop.example 127.0.0.1"]
    with sync_playwright() as driver:
        device = driver.chromium.launch(executable_path=chromium, args=flags)
        page = device.new_page(base_url=f"http://laptop.example:{served.rpartition(':')[2]}")
        page.goto(ADDRESS)
        assert page.evaluate("!isSecureContext && !navigator.serviceWorker && !crypto.randomUUID")
        expect(page.locator("[data-outbox-kept]")).to_contain_text("Keep this page open")
        page.context.set_offline(True)
        answer(page, "people", "crew lead", "over plain http")
        expect(page.locator(STATUS)).to_contain_text("1 waiting. No connection")
        page.context.set_offline(False)
        expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)
        device.close()

    assert TimeOutAnswer.objects.get(event__code="E-1").note == "over plain http"


class Served:
    """A server as people start it, which can be killed and started again on the same port and store."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        self.process = start(self.folder, self.port)
        assert self.process.stdout
        for line in self.process.stdout:
            if "Serving on" in line:
                return
        raise AssertionError(self.process.communicate()[1])

    def kill(self) -> None:
        """As a power cut does: kill -9."""
        if self.process:
            self.process.kill()
            self.process.communicate()
            self.process = None

    def rows(self, what: str) -> list[str]:
        """Something asked of the store by another process."""
        program = f"""
from onthree.actions.opening import open_programme_store
open_programme_store()
from onthree.store.models import Received, TimeOutAnswer
for row in {what}: print(row)
"""
        return subprocess.run(
            [sys.executable, "-c", program],
            env=ENVIRONMENT | {"ONTHREE_FOLDER": str(self.folder)},
            capture_output=True,
            text=True,
            check=True,
            timeout=LONGEST_WAIT_S,
        ).stdout.splitlines()


@pytest.fixture
def outside(tmp_path: Path) -> Iterator[Served]:
    program = """
from onthree.actions.opening import open_programme_store
open_programme_store()
from onthree.demo.conference import conference_records
from onthree.store.records import save_records
save_records(conference_records(), by="test")
"""
    subprocess.run([sys.executable, "-c", program], env=ENVIRONMENT | {"ONTHREE_FOLDER": str(tmp_path)}, check=True)
    served = Served(tmp_path)
    served.start()
    yield served
    served.kill()


@pytest.fixture
def device(browser: Browser, outside: Served) -> Iterator[Callable[[], BrowserContext]]:
    """Another tablet: what one keeps, the other does not see."""
    opened: list[BrowserContext] = []

    def another() -> BrowserContext:
        opened.append(browser.new_context(base_url=f"http://127.0.0.1:{outside.port}"))
        return opened[-1]

    yield another
    for context in opened:
        context.close()


def wait_until(what: Callable[[], bool], longest_s: float = LONGEST_WAIT_S) -> None:
    until = time.monotonic() + longest_s
    while not what():
        assert time.monotonic() < until, "it did not come to pass in time"
        time.sleep(0.1)


def give(page: Page, numbers: range, who: str) -> None:
    """Answers as the buttons of the page give them, without waiting for each to be seen."""
    for number in numbers:
        item = TIME_OUT_ITEMS[number % len(TIME_OUT_ITEMS)]
        form = page.locator(f"#item-{item.replace(' ', '-')} form")
        form.get_by_label("Name or role").fill(f"{who} {number}")
        form.get_by_label("In their words").fill(f"answer {number}")
        form.get_by_role("button", name="Confirmed", exact=True).click()


def test_50_answers_of_two_devices_arrive_once_though_the_server_is_gone_killed_in_mid_sync_and_a_clock_is_wrong(
    outside: Served, device: Callable[[], BrowserContext]
) -> None:
    before = {datetime.now(UTC).astimezone().date().isoformat()}
    one, other = device(), device()
    first, second = one.new_page(), other.new_page()
    second.clock.install()
    second.clock.set_system_time("2031-05-05T05:05:05Z")
    for page in (first, second):
        page.goto(ADDRESS)
        expect(page.locator("html")).to_have_attribute("data-kept", "all", timeout=LONGEST_MS)
    outside.kill()

    give(first, range(25), "one")
    give(second, range(25, 50), "other")
    expect(first.locator(STATUS)).to_contain_text("25 waiting. No connection", timeout=LONGEST_MS)
    expect(second.locator(STATUS)).to_contain_text("25 waiting", timeout=LONGEST_MS)
    first.close()
    second_tab = other.new_page()
    first = one.new_page()
    for page in (first, second_tab):
        page.goto(ADDRESS)
        expect(page.locator(STATUS)).to_contain_text("25 waiting", timeout=LONGEST_MS)
        assert page.locator("[data-given] [data-state=waiting]").count() == 25
    first.goto("/life-first/arrest/")
    assert first.locator("h1").is_visible()
    first.goto("/events/E-1/athletes/T1-52/")
    expect(first.locator("h1")).to_have_text("No connection")
    first.goto(ADDRESS)

    outside.start()
    for page in (first, second_tab):
        page.evaluate("dispatchEvent(new Event('online'))")
    wait_until(lambda: len(outside.rows("Received.objects.values_list('key')")) >= 3)
    outside.kill()
    outside.start()
    for page in (first, second_tab, second):
        page.evaluate("dispatchEvent(new Event('online'))")
    for page in (first, second_tab):
        expect(page.locator(STATUS)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)

    notes = outside.rows("TimeOutAnswer.objects.filter(event__code='E-1').values_list('note', flat=True)")
    assert sorted(notes) == sorted(f"answer {number}" for number in range(50))
    assert len(outside.rows("Received.objects.all()")) == 50
    days = set(outside.rows("TimeOutAnswer.objects.filter(event__code='E-1').values_list('day', flat=True)"))
    known = {datetime.now(UTC).astimezone().date().isoformat()}
    assert days <= {*known, *before}, "a clock five years ahead moves nothing"
