"""A test of a published number names its source: a key of data/sources.toml, and the place in it."""

import tomllib
from pathlib import Path

import pytest

import onthree

HERE = Path(__file__).parent
SOURCES = Path(onthree.__path__[0]) / "data" / "sources.toml"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Refuse every test in this folder that does not say which published number it checks."""
    keys = frozenset(tomllib.loads(SOURCES.read_text(encoding="utf-8")))
    here = [item for item in items if item.path.is_relative_to(HERE)]
    problems = [f"{item.nodeid}: {problem}" for item in here if (problem := what_is_wrong(item, keys))]
    if problems:
        raise pytest.UsageError(*problems)


def what_is_wrong(item: pytest.Item, keys: frozenset[str]) -> str:
    """What is wrong with the test's ``published`` marks; empty when nothing is."""
    marks = list(item.iter_markers("published"))
    if not marks:
        return 'no source given: add @pytest.mark.published("<key>", where="<page or table>")'
    for mark in marks:
        if len(mark.args) != 1 or not mark.kwargs.get("where"):
            return f'{mark.args} {mark.kwargs} given, ("<key>", where="<page or table>") expected'
        if mark.args[0] not in keys:
            return f"source {mark.args[0]!r} is not listed in data/sources.toml: add its citation there"
    return ""
