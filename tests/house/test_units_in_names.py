"""Every number says its unit in its name."""

import ast
from collections.abc import Iterator

import pytest

from tests.house.tree import PACKAGE, modules, shown

UNITS = (
    "deg",
    "rad",
    "s",
    "hz",
    "m",
    "mm",
    "kg",
    "n",
    "deg_s",
    "ratio",
    "prob",
    "count",
    "min",
    "days",
    "ms",
    "ppm",
    "px",
)
NUMBERS = {"float", "Decimal"}


def says_its_unit(name: str) -> bool:
    """Whether a name ends in a unit, or is one."""
    return any(name == unit or name.endswith(f"_{unit}") for unit in UNITS)


def nameless_numbers(tree: ast.Module) -> Iterator[tuple[ast.stmt | ast.arg, str]]:
    """Fields, parameters and functions that hold a fractional number and do not say its unit."""
    numbers = NUMBERS | _aliases_of_numbers(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            fields = [field for field in node.body if isinstance(field, ast.AnnAssign)]
            named = [
                (field, field.target.id, field.annotation) for field in fields if isinstance(field.target, ast.Name)
            ]
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            arguments = node.args.posonlyargs + node.args.args + node.args.kwonlyargs
            named = [(argument, argument.arg, argument.annotation) for argument in arguments]
            named.append((node, node.name, node.returns))
        else:
            continue
        yield from (
            (place, name)
            for place, name, annotation in named
            if annotation and _holds_a_number(annotation, numbers) and not says_its_unit(name)
        )


def _aliases_of_numbers(tree: ast.Module) -> set[str]:
    """Module-level names such as ``Seconds = Annotated[float, ...]``."""
    return {
        target.id
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Subscript)
        and _holds_a_number(node.value, NUMBERS)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def _holds_a_number(annotation: ast.expr, numbers: set[str]) -> bool:
    """Whether an annotation is a number, ``number | None``, or an annotated or collected number.

    A number beside other kinds of value (``Decimal | date``) is a value of any kind, and has no unit to say.
    """
    if isinstance(annotation, ast.BinOp):
        kinds = set(ast.unparse(annotation).split(" | "))
        return bool(kinds & numbers) and kinds <= numbers | {"int", "None"}
    if isinstance(annotation, ast.Subscript):
        if ast.unparse(annotation.value).endswith("Callable"):
            return False
        inside = annotation.slice.elts if isinstance(annotation.slice, ast.Tuple) else [annotation.slice]
        return any(_holds_a_number(part, numbers) for part in inside)
    return isinstance(annotation, ast.Name) and annotation.id in numbers


def test_every_number_says_its_unit() -> None:
    nameless = [
        f"{shown(path, node)} {name}" for path, tree in modules().items() for node, name in nameless_numbers(tree)
    ]

    assert nameless == [], f"end these names in a unit: {', '.join(f'_{unit}' for unit in UNITS)}"


@pytest.mark.parametrize(
    "text",
    [
        "def f(load: float): ...",
        "def f(*, load: float | None = None): ...",
        "def load() -> Decimal: ...",
        "class A:\n    loads: tuple[float, ...]",
        "Mass = Annotated[float, 1]\nclass A:\n    load: Mass | None",
    ],
)
def test_a_number_without_unit_is_found(text: str) -> None:
    assert len(list(nameless_numbers(ast.parse(text)))) == 1


@pytest.mark.parametrize(
    "text",
    [
        "def f(load_kg: float, kg: float, turns: int) -> str: ...",
        "def bound() -> Decimal | date | None: ...",
        "def angle_deg(weigh: Callable[[float], float]) -> float: ...",
    ],
)
def test_a_number_with_unit_is_fine(text: str) -> None:
    assert list(nameless_numbers(ast.parse(text))) == []


def test_the_package_is_found() -> None:
    assert PACKAGE / "units.py" in modules()
