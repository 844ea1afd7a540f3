"""Writes every page at three sizes as PNG files: screenshots.py FOLDER. Serves the invented conference meanwhile."""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from time import sleep
from typing import Any
from urllib.error import URLError
from urllib.request import ProxyHandler, build_opener

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))
PORT, TRACE_COUNT = 8391, 600


def main(folder: Path) -> None:
    """Serve, take every picture, end."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as store:
        environment = {**os.environ, "ONTHREE_FOLDER": store}
        command = [str(Path(sys.executable).with_name("onthree"))]
        subprocess.run([*command, "demo", "--folder", store, "--no-serve"], check=True, stdout=subprocess.DEVNULL)
        measure_a_film(store)
        server = subprocess.Popen(
            [*command, "serve", "--port", str(PORT), "--on", "2026-11-25"], env=environment, stdout=subprocess.DEVNULL
        )
        try:
            wait_for(f"http://127.0.0.1:{PORT}/life-first/")
            photograph(folder)
        finally:
            server.terminate()
            server.wait()


def measure_a_film(store: str) -> None:
    """Traces for the result page of one run, made up and quick, instead of minutes of measuring."""
    os.environ["ONTHREE_FOLDER"] = store
    from onthree.actions.opening import open_programme_store

    open_programme_store()
    from tests.web.measured import measured_run

    measured_run("RUN-3", TRACE_COUNT)


def wait_for(address: str) -> None:
    """Until the address answers, for a minute at most."""
    for _ in range(240):
        try:
            with build_opener(ProxyHandler({})).open(address, timeout=10):
                return
        except URLError:
            sleep(0.25)
    sys.exit(f"{address} does not answer")


def photograph(folder: Path) -> None:
    """Every page at three sizes, light; home and the event dark as well, and as paper."""
    from playwright.sync_api import sync_playwright

    from tests.web.addresses import PAGES
    from tests.web.conftest import FLAGS, SIZES

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS.split())
        for size in ("desktop", "tablet", "phone"):
            width, height = SIZES[size]
            page = browser.new_page(viewport={"width": width, "height": height}, base_url=f"http://127.0.0.1:{PORT}")
            for name, address in {**PAGES, "visit": visitors_address(page)}.items():
                page.emulate_media(color_scheme="light", media="screen")
                page.goto(address, wait_until="networkidle")
                for each in page.locator("[hx-trigger~=intersect]").all():
                    each.scroll_into_view_if_needed()  # what is filled in when it is seen
                page.wait_for_load_state("networkidle")
                page.screenshot(path=folder / f"{name}-{size}.png", full_page=True)
                if name in ("home", "event"):
                    page.emulate_media(color_scheme="dark")
                    page.screenshot(path=folder / f"{name}-{size}-dark.png", full_page=True)
            page.close()
        browser.close()
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder}")


def visitors_address(page: Any) -> str:
    """The address that the visitors of an event are sent."""
    page.goto("/events/E-1/")
    page.click("text=Make a link for the visitors")
    return str(page.locator("a[href*='/visit/']").first.get_attribute("href"))


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "build" / "screenshots"))
