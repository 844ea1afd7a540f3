"""Imports point down, packages are empty at the top, files are short, public names are explained."""

import ast
import subprocess
import sys
from pathlib import Path

from tests.house.tree import PACKAGE, ROOT, modules, pure_packages, shown

LONGEST_FILE_LINES = 400


def test_imports_point_down() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    result = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)

    assert result.returncode == 0, result.stdout + result.stderr


def test_package_files_are_empty() -> None:
    full = [shown(path) for path in PACKAGE.rglob("__init__.py") if path.read_text(encoding="utf-8").strip()]

    assert full == []


def test_files_are_short() -> None:
    written = [*modules(), *(ROOT / "tests").rglob("*.py")]
    lines = {shown(path): len(path.read_text(encoding="utf-8").splitlines()) for path in written}

    assert {place: count for place, count in lines.items() if count > LONGEST_FILE_LINES} == {}


def test_public_names_of_pure_packages_are_explained() -> None:
    pure = pure_packages()
    unexplained = [
        f"{shown(path, node)} {node.name}"
        for path, tree in modules().items()
        if path.relative_to(PACKAGE).parts[0].removesuffix(".py") in pure
        for node in public_definitions(tree)
        if not ast.get_docstring(node)
    ]

    assert unexplained == []


def public_definitions(tree: ast.Module) -> list[ast.FunctionDef | ast.ClassDef]:
    """Public functions and classes of a module; a method may be explained by the class it overrides."""
    top = [node for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    return [node for node in top if not node.name.startswith("_")]
