"""What some tests need from outside the checkout, and what happens when it is not there.

Where it is missing they are left out with a printed line; with ``CI`` set that is an error instead.
"""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class Need:
    """Something from outside that tests with this marker need."""

    marker: str
    find: Callable[[], str | None]
    how_to_get: str


NEEDS = (
    Need(
        "open_data",
        lambda: os.environ.get("ONTHREE_OPEN_DATA"),
        "set ONTHREE_OPEN_DATA to the folder of open data files",
    ),
    Need(
        "postgres",
        lambda: os.environ.get("ONTHREE_TEST_DATABASE_URL"),
        "set ONTHREE_TEST_DATABASE_URL to a server to test on",
    ),
    Need("browser", lambda: shutil.which("chromium"), "install chromium"),
    Need("print", lambda: shutil.which("pdftoppm"), "install poppler-utils"),
)
_LEFT_OUT = pytest.StashKey[list[str]]()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the tests whose need is missing; on CI refuse to."""
    lines: list[str] = []
    for need in NEEDS:
        affected = [item for item in items if item.get_closest_marker(need.marker)]
        if affected and need.find() is None:
            lines.append(f"left out: tests marked {need.marker} ({len(affected)}); to run them, {need.how_to_get}")
            items[:] = [item for item in items if item not in affected]
            config.hook.pytest_deselected(items=affected)
    if lines and os.environ.get("CI"):
        raise pytest.UsageError("nothing is left out on CI", *lines)
    config.stash[_LEFT_OUT] = lines


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say which tests did not run, and how to make them run."""
    for line in config.stash.get(_LEFT_OUT, []):
        terminalreporter.write_line(line, yellow=True)


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The folder of open data files; for tests marked ``open_data``."""
    folder = Path(os.environ["ONTHREE_OPEN_DATA"])

    assert folder.is_dir(), f"ONTHREE_OPEN_DATA names {folder}, which is not a folder"
    return folder


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the system's Chromium; for tests marked ``browser``."""
    path = shutil.which("chromium")

    assert path
    return path
