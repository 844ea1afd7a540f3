"""The files the house rules are about, read once: source, data, pages."""

import ast
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "onthree"
DATA = PACKAGE / "data"
DOCS = ROOT / "docs"


@cache
def modules() -> Mapping[Path, ast.Module]:
    """Every handwritten module of the package, parsed; migrations are written by Django."""
    paths = sorted(path for path in PACKAGE.rglob("*.py") if "migrations" not in path.parts)
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in paths}


def shown(path: Path, node: ast.AST | None = None) -> str:
    """A file, and the line in it, as a person would look it up."""
    place = path.relative_to(ROOT).as_posix()
    return f"{place}:{node.lineno}" if isinstance(node, ast.stmt | ast.arg) else place


def pure_packages() -> tuple[str, ...]:
    """The packages that touch no database, web or film: those of the import contract."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = settings["tool"]["importlinter"]["contracts"]
    pure = next(contract for contract in contracts if contract["id"] == "pure")
    return tuple(module.removeprefix("onthree.") for module in pure["source_modules"])


def data_tables() -> Iterator[tuple[Path, Mapping[str, Any]]]:
    """Every TOML table below data/ with a ``source``, and the file it stands in; nested ones too."""
    for path in sorted(DATA.rglob("*.toml")):
        if path != DATA / "sources.toml":
            for table in _tables(tomllib.loads(path.read_text(encoding="utf-8"))):
                if "source" in table:
                    yield path, table


def _tables(value: object) -> Iterator[Mapping[str, Any]]:
    if isinstance(value, Mapping):
        yield value
    if isinstance(value, Mapping | list):
        for inner in value.values() if isinstance(value, Mapping) else value:
            yield from _tables(inner)
