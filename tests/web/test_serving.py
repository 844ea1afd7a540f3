"""The pages as people start them: a process that serves, says where, and ends with Ctrl-C."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import ProxyHandler, Request, build_opener
from zoneinfo import ZoneInfo

import pytest

COMMAND = str(Path(sys.executable).with_name("onthree"))
LONGEST_WAIT_S = 60
OURS = ("DATABASE_URL", "DJANGO_SETTINGS_MODULE", "ONTHREE_FOLDER")
WARNINGS = "error,ignore::ResourceWarning"  # waitress leaves its sockets to the end of the process
ENVIRONMENT = {name: value for name, value in os.environ.items() if name not in OURS} | {"PYTHONWARNINGS": WARNINGS}


@dataclass(frozen=True)
class Serving:
    """A process that serves, and the port it listens on."""

    process: subprocess.Popen[str]
    port: int

    def get(self, address: str, **headers: str) -> tuple[int, dict[str, str], str]:
        """Status, headers and text of an answer."""
        request = Request(f"http://127.0.0.1:{self.port}{address}", headers=headers)
        try:
            with build_opener(ProxyHandler({})).open(request, timeout=LONGEST_WAIT_S) as answer:
                return answer.status, dict(answer.headers), answer.read().decode()
        except HTTPError as error:
            with error:
                return error.code, dict(error.headers), error.read().decode()


def free_port() -> int:
    with socket.socket() as chosen:
        chosen.bind(("127.0.0.1", 0))
        port: int = chosen.getsockname()[1]
        return port


def start(folder: Path, port: int, **environment: str) -> subprocess.Popen[str]:
    command = [COMMAND, "serve", "--folder", str(folder), "--port", str(port)]
    return subprocess.Popen(
        command, env=ENVIRONMENT | environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


@pytest.fixture
def serving(tmp_path: Path) -> Iterator[Serving]:
    port = free_port()
    process = start(tmp_path, port, TZ="Pacific/Kiritimati")
    assert process.stdout
    lines = [process.stdout.readline(), process.stdout.readline()]
    try:
        assert lines[-1].strip() == f"Serving on http://127.0.0.1:{port}/  (Ctrl-C ends)"
        yield Serving(process, port)
    finally:
        process.kill()
        process.communicate()


def test_it_serves_its_own_stylesheet_and_ends_quietly_with_ctrl_c(serving: Serving) -> None:
    status, headers, page = serving.get("/static/onthree/onthree.css")
    assert (status, headers["Content-Type"].partition(";")[0]) == (200, "text/css")
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert "--paper" in page
    assert serving.get("/static/onthree/three-strokes.svg")[0] == 200

    serving.process.send_signal(signal.SIGINT)
    _, complaints = serving.process.communicate(timeout=LONGEST_WAIT_S)

    assert serving.process.returncode == 0
    assert complaints == ""


def test_an_empty_store_says_how_to_begin_and_another_host_is_refused(serving: Serving) -> None:
    assert "onthree import" in serving.get("/")[2]
    assert serving.get("/", Host="example.org")[0] == 400


def test_a_port_that_is_taken_is_told_with_what_to_do(serving: Serving, tmp_path: Path) -> None:
    second = start(tmp_path, serving.port)
    said, complaints = second.communicate(timeout=LONGEST_WAIT_S)

    assert second.returncode == 2
    assert said == ""
    assert "choose another port with --port" in complaints
    assert "Traceback" not in complaints


def test_today_is_the_day_of_this_computer_not_of_greenwich(tmp_path: Path) -> None:
    zones = (
        "Pacific/Kiritimati",
        "Pacific/Niue",
    )  # 25 hours apart: at any moment at least one has another day than UTC
    program = (
        "from onthree.actions.opening import open_programme_store; open_programme_store(); "
        "from django.http import QueryDict; from onthree.web.asked import Asked; print(Asked(QueryDict('')).day)"
    )
    for zone in zones:
        environment = ENVIRONMENT | {"TZ": zone, "ONTHREE_FOLDER": str(tmp_path)}
        before = datetime.now(UTC).astimezone(ZoneInfo(zone)).date()
        printed = subprocess.run(
            [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True
        ).stdout.strip()
        after = datetime.now(UTC).astimezone(ZoneInfo(zone)).date()

        assert printed in {before.isoformat(), after.isoformat()}
