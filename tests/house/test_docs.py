"""The pages and the code say the same: commands, settings, rules, parameters; links lead somewhere, snippets run."""

import doctest
import re
from pathlib import Path

import pytest
import typer.main

from onthree.cli.commands import app
from onthree.readiness.rules import RULES
from tests.house.tree import DATA, DOCS, PACKAGE, ROOT, shown

PAGES = sorted([*ROOT.glob("*.md"), *DOCS.rglob("*.md")])
RULE_IDS = {rule.id for rule in RULES}


def page(name: str) -> str:
    """The text of a page below docs/; empty when there is no such page."""
    path = DOCS / name
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def test_every_command_and_option_is_documented() -> None:
    written = page("commands.md")
    commands = dict(typer.main.get_group(app).commands)
    for name, group in [*commands.items()]:
        commands |= {f"{name} {inner}": command for inner, command in getattr(group, "commands", {}).items()}
    wanted = {f"onthree {name}" for name in commands}
    parameters = [parameter for command in commands.values() for parameter in command.params]
    wanted |= {name for each in parameters for name in (*each.opts, *each.secondary_opts) if name.startswith("--")}

    assert sorted(text for text in wanted if text not in written) == [], "describe them in docs/commands.md"


def test_every_setting_is_documented() -> None:
    read = re.compile(r'environ(?:\.get\(|\[)"((?:ONTHREE|DATABASE)_\w+)"')
    settings = {name for path in PACKAGE.rglob("*.py") for name in read.findall(path.read_text(encoding="utf-8"))}
    written = "".join(path.read_text(encoding="utf-8") for path in PAGES)

    assert sorted(name for name in settings if name not in written) == [], "describe them in docs/commands.md"


def test_every_rule_has_its_page_and_every_page_its_rule() -> None:
    pages = {path.stem for path in (DOCS / "rules").glob("*.md")} - {"index"}

    assert pages == RULE_IDS


def test_rule_pages_have_the_same_headings() -> None:
    headings = {tuple(re.findall(r"^## (.+)$", page(f"rules/{rule}.md"), re.MULTILINE)) for rule in RULE_IDS}

    assert len(headings) == 1, "every rule page answers the same questions in the same order"
    assert len(headings.pop()) > 1


def test_every_parameter_is_documented() -> None:
    written = page("parameters.md")
    names = sorted(path.stem for path in (DATA / "parameters").glob("*.toml"))

    assert [name for name in names if name not in written] == [], "describe them in docs/parameters.md"


def test_links_lead_somewhere() -> None:
    broken = [
        f"{shown(path)}: {target}"
        for path in PAGES
        for target in local_links(path)
        if not (path.parent / target).exists()
    ]

    assert broken == []


def local_links(path: Path) -> list[str]:
    """Targets of the links in a page that are files of this checkout."""
    targets = re.findall(r"\]\(([^)\s]+)\)", path.read_text(encoding="utf-8"))
    return [target.split("#")[0] for target in targets if not re.match(r"[a-z]+:|#", target)]


@pytest.mark.parametrize("path", PAGES, ids=shown)
def test_snippets_run(path: Path) -> None:
    result = doctest.testfile(str(path), module_relative=False, encoding="utf-8")

    assert result.failed == 0, "see the printed differences"
