"""How long a browser takes to draw and zoom traces of 60 000 moments, and how large the first view of a page is.

Drawn by software, by the clock of the page, from the last byte that arrived, or from the key that was pressed, until
the picture stands; as a ratio to plain strokes through three such traces in the same browser. The store is in a folder
of its own, served as people start it. Needs the program that tests pages: the path of Chromium may be given.
"""

import os
import sys
import tempfile
from pathlib import Path
from shutil import which
from statistics import median
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from playwright.sync_api import Page, sync_playwright

from tests.web.conftest import FLAGS
from tests.web.test_serving import free_port, start

COUNT, TIMES = 60_000, 9
GOALS_MS = {"first drawn": 300, "zoomed": 50, "all shown again": 50}
VIEWS = {
    "home": "/?on=2026-11-26",
    "event": "/events/E-1/?on=2026-11-26",
    "run": "/rehearsals/RUN-3/",
    "result": "/rehearsals/RUN-4/result/",
}
NOTE_DRAWN = """
new MutationObserver((changes, self) => {
  if (document.body?.dataset.traces !== "drawn") return;
  self.disconnect();
  requestAnimationFrame(() => setTimeout(() => { window.drawnMs = performance.now(); }));
}).observe(document, { subtree: true, attributes: true });
"""
KEY = """async (key) => {
  const began = performance.now();
  document.getElementById("plot-0").dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  return performance.now() - began;
}"""
STROKES = """async (count) => {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [700, 450];
  document.body.append(canvas);
  const pen = canvas.getContext("2d"), began = performance.now();
  for (const place of [0, 1, 2]) {
    pen.beginPath();
    for (let i = 0; i < count; i += 1) pen.lineTo((i / count) * 700, place * 150 + 75 + 70 * Math.sin(i * 0.7));
    pen.stroke();
  }
  pen.getImageData(0, 0, 1, 1);
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  const took = performance.now() - began;
  canvas.remove();
  return took;
}"""


def main(chromium: str) -> None:
    """Measure on a new store."""
    with tempfile.TemporaryDirectory() as folder:
        fill(Path(folder))
        port = free_port()
        server = start(Path(folder), port)
        assert server.stdout
        try:
            next(line for line in server.stdout if "Serving on" in line)
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path=chromium, args=FLAGS.split())
                for name, address in VIEWS.items():
                    print(f"{'first view: ' + name:<40} {size_of(browser, port, address) / 1000:8.1f} kB")
                report(browser.new_page(base_url=f"http://127.0.0.1:{port}", viewport={"width": 1440, "height": 900}))
                browser.close()
        finally:
            server.kill()
            server.communicate()


def fill(folder: Path) -> None:
    """The invented conference, one run with long traces and one with those of an ordinary film."""
    os.environ["ONTHREE_FOLDER"] = str(folder)
    from onthree.actions.opening import open_programme_store

    open_programme_store()
    from onthree.demo.conference import conference_records
    from onthree.store.records import save_records
    from tests.web.measured import measured_run

    save_records(conference_records(), by="bench")
    measured_run("RUN-3", COUNT)
    measured_run("RUN-4", 600)


def size_of(browser: Any, port: int, address: str) -> int:
    """What the first view of a page brings over the line [bytes], without its film, nothing kept from before."""
    device = browser.new_context(base_url=f"http://127.0.0.1:{port}", viewport={"width": 1440, "height": 900})
    page = device.new_page()
    page.route("**/video", lambda route: route.abort())
    line, received = device.new_cdp_session(page), []
    line.send("Network.enable")
    line.on("Network.loadingFinished", lambda told: received.append(told["encodedDataLength"]))
    page.goto(address)
    page.wait_for_load_state("networkidle")
    device.close()
    return int(sum(received))


def report(page: Page) -> None:
    """Each time beside its goal, and as a ratio to plain strokes."""
    page.add_init_script(NOTE_DRAWN)
    times_ms: dict[str, list[float]] = {name: [] for name in ("plain strokes", *GOALS_MS)}
    for _ in range(TIMES):
        page.goto("/rehearsals/RUN-3/result/")
        page.wait_for_function("window.drawnMs")
        arrived_ms = "performance.getEntriesByType('resource').find((each) => each.name.endsWith('.f32')).responseEnd"
        times_ms["first drawn"].append(page.evaluate(f"window.drawnMs - {arrived_ms}"))
        times_ms["zoomed"].append(page.evaluate(KEY, "+"))
        times_ms["all shown again"].append(page.evaluate(KEY, "0"))
        times_ms["plain strokes"].append(page.evaluate(STROKES, COUNT))
    strokes_ms = median(times_ms["plain strokes"])
    print(f"{COUNT} moments, medians of {TIMES}")
    for name, several_ms in times_ms.items():
        goal = f"goal {GOALS_MS[name]} ms" if name in GOALS_MS else "the reference"
        took_ms = median(several_ms)
        print(f"{name:<40} {took_ms:8.1f} ms {took_ms / strokes_ms:8.2f}   {goal}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else which("chromium") or "chromium")
