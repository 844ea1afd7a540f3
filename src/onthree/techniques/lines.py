"""On which line of a TOML text a field stands, for people who have to mend the file."""

import tomllib
from collections.abc import Iterator
from typing import Any

Path = tuple[str, ...]


def line_of(text: str, field: str) -> int | None:
    """The line, counted from 1, of a field such as ``role.0.least``; where it is missing the line of what holds it.

    None where not even that stands in the text, or the field is the file itself.
    """
    lines = _lines(text)
    path = tuple(field.split("."))
    return next((lines[path[:length]] for length in range(len(path), 0, -1) if path[:length] in lines), None)


def _lines(text: str) -> dict[Path, int]:
    """The line on which each table and each value begins; tables that stand several times are counted from 0."""
    lines: dict[Path, int] = {}
    last: dict[Path, int] = {}
    table: Path = ()
    for number, statement, is_header in _statements(text):
        if is_header:
            table = _table(statement, last)
            lines[table] = number
            if table[:-1] in last:
                lines.setdefault(table[:-1], number)
        else:
            for path in _paths(statement):
                lines.setdefault((*table, *path), number)
    return lines


def _statements(text: str) -> Iterator[tuple[int, dict[str, Any], bool]]:
    """Line, content, and whether it is the header of a table, of each statement; one may go on for several lines."""
    begun: list[str] = []
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        begun.append(line)
        try:
            statement = tomllib.loads("\n".join(begun))
        except tomllib.TOMLDecodeError:
            continue
        if statement:
            yield number - len(begun) + 1, statement, begun[0].lstrip().startswith("[")
        begun = []


def _table(header: Any, last: dict[Path, int]) -> Path:
    """The path that a header such as ``[[role]]`` or ``[conflict.one]`` opens, after the ones before it."""
    path: Path = ()
    while header:
        ((name, header),) = header.items()
        path = (*path, name)
        if isinstance(header, list):
            last[path] = last.get(path, -1) + 1
            header = header[0]
        if path in last:
            path = (*path, str(last[path]))
    return path


def _paths(statement: dict[str, Any]) -> Iterator[Path]:
    for name, value in statement.items():
        yield (name,)
        if isinstance(value, dict):
            yield from ((name, *path) for path in _paths(value))
