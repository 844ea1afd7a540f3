"""The pages of the invented conference, answered from a real store, to a client and to a browser."""

import os
from collections.abc import Callable, Iterator
from datetime import date

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.db import connections
from django.test import Client
from playwright.sync_api import Browser, Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from onthree.demo.conference import DEMO_TODAY, conference_records


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Test on a file, as people use it: a browser asks for several things at once, each over its own connection."""
    if not os.environ.get("DATABASE_URL"):
        connections.settings["default"]["TEST"]["NAME"] = str(tmp_path_factory.mktemp("store") / "test.sqlite3")


@pytest.fixture
def demo_today(settings: pytest.FixtureRequest) -> date:
    settings.TODAY = DEMO_TODAY  # type: ignore[attr-defined]
    return DEMO_TODAY


@pytest.fixture
def conference(db: None, demo_today: date, client: Client) -> Client:
    """A client of the pages with the invented conference in the store, judged on the demo's day."""
    from onthree.store.records import save_records

    save_records(conference_records(), by="test")
    return client


FLAGS = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
)
SIZES = {"desktop": (1440, 900), "tablet": (820, 1180), "phone": (390, 844), "narrow": (320, 568)}
"""Width and height of a screen [px]; a page must also work on the narrowest, which is a desktop at 400 %."""

PageAt = Callable[[str], Page]
_EXPECTED = ("status of 40", "status of 42", "ERR_INTERNET_DISCONNECTED", "ERR_CONNECTION_REFUSED")
"""What the browser says of a refusal that is wanted, and of a server that is not there."""


@pytest.fixture
def browser(chromium: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Browser]:
    """The system's Chromium."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the driver runs its own event loop
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium, args=FLAGS.split())
        yield opened
        opened.close()


@pytest.fixture
def served(transactional_db: None, live_server: LiveServer, demo_today: date) -> str:
    """The address under which the invented conference is served to a browser."""
    from onthree.store.records import save_records

    save_records(conference_records(), by="test")
    return str(live_server.url)


@pytest.fixture
def page_at(browser: Browser, served: str) -> Iterator[PageAt]:
    """Opens a page of a size on a device of its own.

    At the end no page or worker of a device may have complained, or asked anybody else for anything.
    """
    complaints: list[str] = []

    def opened(size: str) -> Page:
        width, height = SIZES[size]
        device = browser.new_context(viewport={"width": width, "height": height}, base_url=served)
        device.on("weberror", lambda fault: complaints.append(str(fault.error)))
        device.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        device.on("request", lambda one: None if _is_ours(one.url, served) else complaints.append(f"asked {one.url}"))
        return device.new_page()

    yield opened
    assert [text for text in complaints if not any(expected in text for expected in _EXPECTED)] == []


def _is_ours(url: str, served: str) -> bool:
    return url.startswith((served, "data:", "blob:"))


def assert_accessible(page: Page) -> None:
    """No violation that axe can see, nothing wider than the screen."""
    found = Axe().run(page)

    assert found.violations_count == 0, found.generate_report()
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width, (page.url, width)


def assert_works_at_double_text(page: Page) -> None:
    """With text set to twice the size in the browser it stays on the screen (WCAG 2.2, success criterion 1.4.4)."""
    browser = page.context.new_cdp_session(page)
    browser.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") >= 32
    width = page.viewport_size["width"] if page.viewport_size else 0

    assert page.evaluate("document.documentElement.scrollWidth") <= width, (page.url, width)
    browser.send("Page.setFontSizes", {"fontSizes": {"standard": 16, "fixed": 13}})
