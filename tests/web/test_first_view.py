"""What the first view of a page brings over the line; traces of 60 000 moments are drawn whole, none is lost."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from onthree.actions.kept_films import measured_folder
from onthree.actions.measured_traces import TRACES_FILE
from tests.web.conftest import PageAt
from tests.web.measured import FRAMES_HZ, measured_run, traces

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_BYTES = 200_000
FIRST_VIEWS = ("/", "/events/E-1/", "/rehearsals/RUN-3/", "/rehearsals/RUN-3/result/")
COUNT, SPIKE_AT, SPIKE_DEG = 60_000, 45_000, 80.0
INKED = """() => {
  const canvas = document.querySelector("#plot-0 canvas"), box = canvas.getBoundingClientRect();
  const over = document.querySelector("#plot-0 .u-over").getBoundingClientRect();
  const ratio = canvas.width / box.width, left = Math.round((over.left - box.left) * ratio);
  const [top, width] = [Math.round((over.top - box.top) * ratio), Math.round(over.width * ratio)];
  const picture = canvas.getContext("2d").getImageData(left, top, width, Math.round(over.height * ratio * 0.25));
  const probe = document.createElement("span");
  probe.style.color = "var(--ink)";
  document.body.append(probe);
  const ink = getComputedStyle(probe).color.match(/\\d+/g).map(Number);
  probe.remove();
  const found = new Set(), isInk = (i) => [0, 1, 2].every((part) => Math.abs(picture.data[i + part] - ink[part]) < 12);
  for (let i = 0; i < picture.data.length; i += 4) if (isInk(i)) found.add(((i / 4) % width) / width);
  return [...found].sort((one, other) => one - other);
}"""
"""Where, as a part of the width of the first plot, its upper quarter bears the ink of the trace."""


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


def test_the_first_view_is_small(browser: Browser, served: str) -> None:
    measured_run("RUN-3")
    for address in FIRST_VIEWS:
        device = browser.new_context(base_url=served)
        page, received = device.new_page(), list[int]()
        page.route("**/video", lambda route: route.abort())
        line = device.new_cdp_session(page)
        line.send("Network.enable")
        line.on("Network.loadingFinished", lambda told, received=received: received.append(told["encodedDataLength"]))
        page.goto(address)
        if address.endswith("result/"):
            page.wait_for_selector("body[data-traces=drawn]")
        page.wait_for_load_state("networkidle")

        assert len(received) > 2
        assert 10_000 < sum(received) < MOST_BYTES, (address, received)
        device.close()


def assert_inked_at(page: Page, place: float) -> None:
    """One moment alone stands out of the noise: it is not thinned away, and stands where it belongs."""
    found = page.evaluate(INKED)

    assert found and all(abs(at - place) < 0.02 for at in found), found


def test_long_traces_are_drawn_whole_and_zoomed(page_at: PageAt, served: str) -> None:
    job = measured_run("RUN-3", COUNT)
    columns = traces(COUNT)
    columns[1, SPIKE_AT] = SPIKE_DEG  # one moment of a thousand seconds
    (measured_folder(job.pk) / TRACES_FILE).write_bytes(columns.astype("<f4").tobytes())
    page = page_at("desktop")
    page.route(
        "**/video", lambda route: route.abort("internetdisconnected")
    )  # it is shorter, and would move the cursor
    page.goto("/rehearsals/RUN-3/result/")
    page.wait_for_selector("body[data-traces=drawn]")
    assert page.locator(".plot canvas").count() == 4
    last_s = (COUNT - 1) / FRAMES_HZ
    assert float(page.get_attribute("#plot-0", "aria-valuemax") or 0) == pytest.approx(last_s, abs=0.001)
    assert_inked_at(page, SPIKE_AT / COUNT)

    page.focus("#plot-0")
    page.keyboard.press("End")
    expect(page.locator("#at-cursor")).to_contain_text(f"{last_s:.3f} s")
    plot = page.locator("#plot-0 .u-over")
    box = plot.bounding_box()
    assert box
    plot.click(position={"x": box["width"] * SPIKE_AT / COUNT, "y": box["height"] / 2})
    expect(page.locator("#at-cursor")).to_contain_text("750.")
    for _ in range(4):
        page.keyboard.press("+")  # 0.6 of the width each time, the cursor in the middle
    assert_inked_at(page, 0.5)
    page.keyboard.press("0")
    assert_inked_at(page, SPIKE_AT / COUNT)
    for _ in range(4):
        page.click("#zoom-in")  # a tablet has no keys
    assert_inked_at(page, 0.5)
    page.click("#zoom-out")
    assert_inked_at(page, 0.5)
    page.click("#show-all")
    assert_inked_at(page, SPIKE_AT / COUNT)
