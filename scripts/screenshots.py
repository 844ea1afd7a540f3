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
PORT = 8391
MOST_PX = 12000
"""The highest window [px] that is opened; a higher page is taken whole all the same."""
IN_THE_DARK = {"home", "event", "run", "run-result", "kit", "kit-answers", "workbook-preview", "record-two-versions"}
"""Pages that are taken in dark colours as well."""


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
    """The film of one run, measured as the pages measure it, for the page of its result: some ten seconds."""
    os.environ["ONTHREE_FOLDER"] = store
    from onthree.actions.opening import open_programme_store
    from onthree.demo.conference import DEMO_TODAY
    from onthree.demo.rehearsal_films import rehearsal_folder

    open_programme_store()
    from onthree.actions.film_queue import Wanted, job_numbered, keep_rig, put_in
    from onthree.actions.measure_task import measure_job

    rig = keep_rig("rig.toml", (rehearsal_folder() / "rig.toml").read_bytes(), DEMO_TODAY, "R-1")
    number = put_in(Wanted("RUN-3", ("REC-3",), rig), "R-1").pk
    measure_job.call(number)
    if problem := job_numbered(number).problem:
        sys.exit(problem)


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
    """Every page at three sizes, light; some dark as well. What is reached by a form comes last: it may save."""
    from playwright.sync_api import sync_playwright

    from tests.web.addresses import PAGES
    from tests.web.conftest import FLAGS
    from tests.web.reached import REACHED

    with sync_playwright() as driver, tempfile.TemporaryDirectory() as between:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS.split())
        page = browser.new_context(base_url=f"http://127.0.0.1:{PORT}").new_page()
        for name, address in PAGES.items():
            page.goto(address, wait_until="networkidle")
            take(page, folder, name)
        for name, (_, reach) in REACHED.items():
            reach(page, Path(between))
            take(page, folder, name)
        browser.close()
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder}")


def take(page: Any, folder: Path, name: str) -> None:
    """All that a page shows now, at three widths; the window is as high as the page: some is filled in when seen."""
    from playwright.sync_api import expect

    from tests.web.conftest import SIZES

    for size in ("desktop", "tablet", "phone"):
        width, height = SIZES[size]
        page.set_viewport_size({"width": width, "height": height})
        whole = page.evaluate("document.documentElement.scrollHeight")
        page.set_viewport_size({"width": width, "height": max(height, min(whole, MOST_PX))})
        expect(page.locator(".waiting")).to_have_count(0, timeout=30_000)
        for scheme in ("light", "dark") if name in IN_THE_DARK else ("light",):
            page.emulate_media(color_scheme=scheme)
            ending = "-dark" if scheme == "dark" else ""
            page.screenshot(path=folder / f"{name}-{size}{ending}.png", full_page=True)
        page.emulate_media(color_scheme="light")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "build" / "screenshots"))
