"""The pages in a real browser, at the widths of a desk, a tablet and a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright
from pytest_django.live_server_helper import LiveServer

from onthree.demo.conference import DEMO_TODAY, conference_records

FLAGS = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
)
PAGES = (
    "/",
    "/events/E-1/",
    "/events/E-4/",
    "/events/E-1/athletes/T1-52/",
    "/events/E-1/?hands=many",
    "/nowhere/",
    "/life-first/",
    "/life-first/arrest/",
)


@pytest.fixture
def browser(chromium: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Browser]:
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the driver runs its own event loop
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium, args=FLAGS.split())
        yield opened
        opened.close()


@pytest.mark.browser
def test_no_page_overflows_sideways_or_complains(
    transactional_db: None, live_server: LiveServer, settings: pytest.FixtureRequest, browser: Browser
) -> None:
    from onthree.store.records import save_records

    settings.TODAY = DEMO_TODAY  # type: ignore[attr-defined]
    save_records(conference_records(), by="test")
    for width in (1440, 820, 390):
        page = browser.new_page(viewport={"width": width, "height": 900})
        complaints: list[str] = []
        page.on("pageerror", lambda error, told=complaints: told.append(str(error)))
        page.on("console", lambda said, told=complaints: told.append(said.text) if said.type == "error" else None)
        for address in PAGES:
            page.goto(live_server.url + address)

            assert page.evaluate("document.documentElement.scrollWidth") <= width, (address, width)
            assert page.locator("h1").count() == 1
            assert page.locator("main").count() == 1
        assert [text for text in complaints if "status of 40" not in text] == []
        page.close()
