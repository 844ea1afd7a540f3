"""A large film over a line that is cut, to a server that is killed, while the session ends: it arrives as it was.

``ONTHREE_FILM_MB=400`` sends one as large as that, which takes a minute or two.
"""

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from onthree.actions.film_upload import LARGEST_PIECE_BYTES
from onthree.actions.runs import sha256_of
from tests.web.bad_line import BadLine, large_film
from tests.web.films import PASSWORD
from tests.web.test_serving import COMMAND, ENVIRONMENT, LONGEST_WAIT_S, free_port

pytestmark = pytest.mark.browser

SIZE_BYTES = int(os.environ.get("ONTHREE_FILM_MB", "40")) * 1_000_000
WHOLE_S = 8.0
"""How long the line needs for the whole film, if nothing befalls it."""
MOST_BESIDE_RATIO = 0.03
"""What goes up beside the film: questions, headers, what guards the line; of its size."""
MOST_GROWN_KB = 200_000
"""How much more memory the page may take while it sends [kB]: half of a film of 400 MB; pieces wait to be cleared."""
LONGEST_MS = 180_000
TOLD = "#upload-told"


def said_by(folder: Path, program: str) -> str:
    """What another process of the store prints."""
    opening = "from onthree.actions.opening import open_programme_store\nopen_programme_store()\n"
    return subprocess.run(
        [sys.executable, "-c", opening + program],
        env=ENVIRONMENT | {"ONTHREE_FOLDER": str(folder)},
        capture_output=True,
        text=True,
        check=True,
        timeout=3 * LONGEST_WAIT_S,  # a new store takes its time to be made
    ).stdout


class Served:
    """A server of the local network as people start it; it can be killed, and started again on the same port."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        command = [COMMAND, "serve", "--lan", "--folder", str(self.folder), "--port", str(self.port)]
        told = self.folder / "told.txt"
        with told.open("w") as file:
            self.process = subprocess.Popen(
                command, env=ENVIRONMENT | {"PYTHONUNBUFFERED": "1"}, stdout=file, stderr=subprocess.STDOUT
            )
        until = time.monotonic() + LONGEST_WAIT_S
        while "3  open" not in told.read_text():
            assert self.process.poll() is None and time.monotonic() < until, told.read_text()
            time.sleep(0.1)

    def kill(self) -> None:
        """As a power cut does: kill -9."""
        if self.process:
            self.process.kill()
            self.process.wait()
            self.process = None


@pytest.fixture
def outside(tmp_path: Path) -> Iterator[Served]:
    program = f"""
from onthree.demo.conference import conference_records
from onthree.store.records import save_records
from onthree.actions.accounts import add_person
from onthree.programme.roles import Role
save_records(conference_records(), by="test")
add_person("lead", Role.LEAD, {PASSWORD!r})
"""
    said_by(tmp_path, program)
    served = Served(tmp_path)
    served.start()
    yield served
    served.kill()


@pytest.fixture
def line(outside: Served) -> Iterator[BadLine]:
    made = BadLine(outside.port, SIZE_BYTES / WHOLE_S)
    yield made
    made.close()


@pytest.fixture
def device(browser: Browser, line: BadLine) -> Iterator[BrowserContext]:
    context = browser.new_context(base_url=f"https://127.0.0.1:{line.port}", ignore_https_errors=True)
    context.set_default_timeout(LONGEST_MS)
    yield context
    context.close()


@pytest.fixture
def film(tmp_path: Path) -> Iterator[Path]:
    """What was sent and what arrived do not stay behind: they are large."""
    made = large_film(tmp_path / "evening.mp4", SIZE_BYTES)
    yield made
    made.unlink()
    for arrived in (tmp_path / "films").glob("evening-*"):
        arrived.unlink()


def sign_in(page: Page) -> None:
    page.goto("/sign-in/?next=/rehearsals/RUN-3/films/")
    page.locator("main input[name=username]").fill("lead")
    page.locator("main input[name=password]").fill(PASSWORD)
    page.locator("main button[type=submit]").click()
    page.wait_for_url("**/rehearsals/RUN-3/films/")


def page_memory_kb(browser: Browser) -> int:
    """What the largest page of the browser holds in memory."""
    told = browser.new_browser_cdp_session().send("SystemInfo.getProcessInfo")
    pages = [one["id"] for one in told["processInfo"] if one["type"] == "renderer"]
    return max(int(re.findall(r"VmRSS:\s+(\d+)", Path(f"/proc/{each}/status").read_text())[0]) for each in pages)


def send(page: Page, film: Path) -> None:
    page.set_input_files("#film", film)
    page.click("#upload button[type=submit]")


def says(page: Page, text: str | re.Pattern[str]) -> None:
    expect(page.locator(TOLD)).to_contain_text(text, timeout=LONGEST_MS)


def wait_until(what: Callable[[], bool]) -> None:
    until_s = time.monotonic() + LONGEST_MS / 1000
    while not what():
        assert time.monotonic() < until_s, "it did not come to pass in time"
        time.sleep(0.05)


def test_a_film_arrives_as_it_was_though_the_line_is_cut_the_server_killed_and_the_session_ends(
    browser: Browser, outside: Served, line: BadLine, device: BrowserContext, film: Path
) -> None:
    page = device.new_page()
    sign_in(page)
    no_connection = "No connection: the film waits"
    answers: list[int] = []
    page.on("response", lambda one: answers.append(one.status) if one.request.method == "PATCH" else None)
    line.up_bytes = 0
    deeds = {
        0.02: line.cut,
        0.15: line.cut,
        0.1525: line.cut,
        0.25: outside.kill,
        0.45: line.go_dead,
        0.8: line.go_dead,
    }
    line.deeds = [(ratio * SIZE_BYTES, deed) for ratio, deed in deeds.items()]
    send(page, film)
    page.locator("#upload-bar").wait_for()
    before_kb = page_memory_kb(browser)

    wait_until(lambda: outside.process is None)
    says(page, no_connection)
    outside.start()
    wait_until(lambda: line.is_dead)
    says(page, no_connection)
    said_by(outside.folder, "from django.contrib.sessions.models import Session\nSession.objects.all().delete()")
    line.come_back()
    says(page, "Sign in again in another tab")
    other = device.new_page()
    sign_in(other)
    other.close()
    says(page, re.compile(rf"^[\d.]+ of {SIZE_BYTES / 1e6:.1f} MB sent, about \d+ (s|min) left$"))
    assert 0.2 < float(page.get_attribute("#upload-bar", "value") or 0) < 1
    wait_until(lambda: line.is_dead)
    says(page, no_connection)
    grown_kb = page_memory_kb(browser) - before_kb
    line.come_back()
    page.locator(".film-of-run h2", has_text="evening-").wait_for()

    (arrived,) = (outside.folder / "films").glob("evening-*.mp4")
    assert arrived.stat().st_size == SIZE_BYTES
    assert sha256_of(arrived) == sha256_of(film)
    assert list((outside.folder / "films-unfinished").glob("*.part")) == []
    assert set(answers) <= {200, 401, 409}
    assert answers.count(409) <= len(deeds), "only what a cut hit may be sent again, by the browser itself"
    lost_bytes = len(deeds) * LARGEST_PIECE_BYTES
    assert line.up_bytes <= (1 + MOST_BESIDE_RATIO) * SIZE_BYTES + lost_bytes, "a cut costs the piece it hit, no more"
    assert grown_kb < MOST_GROWN_KB
