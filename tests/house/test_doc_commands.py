"""What the pages say about commands is true: they exist, and print what is shown on the invented conference."""

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from doctest import ELLIPSIS, NORMALIZE_WHITESPACE, OutputChecker
from functools import cache, partial
from pathlib import Path

import pytest
import typer.main

from onthree.cli.commands import app
from tests.house.tree import DOCS, ROOT, shown

PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
ONTHREE = Path(sys.executable).with_name("onthree")
CODE = re.compile(r"```(?:console|sh)\n(.*?)```|`(onthree [^`]+)`", re.DOTALL)
SHOWN = re.compile(r"^\$ (?:\.venv/bin/)?onthree (.+)\n((?:(?!\$ ).*\n)*)", re.MULTILINE)


def commands_in(page: Path) -> list[list[str]]:
    """The words after ``onthree`` of every command in a page."""
    code = "\n".join(block or inline for block, inline in CODE.findall(page.read_text(encoding="utf-8")))
    return [shlex.split(line) for line in re.findall(r"^(?:\$ )?(?:\.venv/bin/)?onthree (.+)$", code, re.MULTILINE)]


@pytest.mark.parametrize("page", PAGES, ids=shown)
def test_commands_and_options_exist(page: Path) -> None:
    known = typer.main.get_group(app).commands
    for command, *words in (words for words in commands_in(page) if words[0] not in ("COMMAND", "--version")):
        assert command in known
        leaf = getattr(known[command], "commands", {}).get(words[0] if words else "", known[command])
        options = {name for parameter in leaf.params for name in (*parameter.opts, *parameter.secondary_opts)}
        assert {word for word in words if word.startswith("--")} <= options | {"--help"}


@pytest.fixture(scope="module")
def printed_by(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], str]:
    """What a command prints on the store of the demo; each is run once."""
    folder = tmp_path_factory.mktemp("pages")
    run(folder, "demo --no-serve")
    return cache(partial(run, folder))


def run(folder: Path, arguments: str) -> str:
    """What a command prints in a folder."""
    settings = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "COLUMNS")}
    result = subprocess.run(
        [ONTHREE, *shlex.split(arguments)],
        cwd=folder,
        env=settings | {"ONTHREE_FOLDER": "onthree-demo"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    assert result.returncode in (0, 1, 2), result.stdout
    return result.stdout


@pytest.mark.parametrize(
    ("page", "command", "printed"),
    [
        pytest.param(page, command, printed, id=f"{shown(page)}: {command}")
        for page in PAGES
        for block in re.findall(r"```console\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
        for command, printed in SHOWN.findall(block)
    ],
)
def test_commands_print_what_is_shown(printed_by: Callable[[str], str], page: Path, command: str, printed: str) -> None:
    """Line breaks may differ; ``...`` stands for lines left out."""
    got = printed_by(command)

    assert OutputChecker().check_output(printed, got, ELLIPSIS | NORMALIZE_WHITESPACE), got
