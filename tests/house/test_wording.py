"""Names of the domain only, and nothing in the project that belongs to one machine."""

import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import PACKAGE, ROOT, modules, shown

FOLDERS = ("src", "tests", "docs", "scripts", "bench", ".ci")
TEXT = {".py", ".md", ".toml", ".txt", ".csv", ".sh", ".html", ".css", ".js", ".cff", ""}
OF_ONE_MACHINE = re.compile(
    r"(?<![\w.])/(?:root|home|work|Users)/"  # a folder of one machine
    r"|(?:pypi|npmjs|debian|pythonhosted)\.org"  # where packages come from
)
UNFINISHED = re.compile(r"\b(?:TODO|FIXME|XXX)\b")
SAY_NOTHING = {"base", "common", "core", "helper", "helpers", "manager", "misc", "service", "tools", "util", "utils"}


def texts() -> Iterator[tuple[Path, str]]:
    """Every text file of the project but this one."""
    below = [path for folder in FOLDERS for path in (ROOT / folder).rglob("*")]
    for path in sorted([*below, *ROOT.glob("*")]):
        if path.is_file() and path.suffix in TEXT and path != Path(__file__):
            yield path, path.read_text(encoding="utf-8")


def test_nothing_belongs_to_one_machine() -> None:
    found = [f"{shown(path)}: {match[0]}" for path, text in texts() for match in OF_ONE_MACHINE.finditer(text)]

    assert found == []


def test_nothing_is_left_unfinished() -> None:
    found = [f"{shown(path)}: {match[0]}" for path, text in texts() for match in UNFINISHED.finditer(text)]

    assert found == []


def test_modules_are_named_after_the_domain() -> None:
    found = [shown(path) for path in modules() if SAY_NOTHING & set(path.relative_to(PACKAGE).with_suffix("").parts)]

    assert found == []
