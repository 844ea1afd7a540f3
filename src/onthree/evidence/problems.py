"""Files of evidence to checked records; every problem of every line in one report."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from onthree.evidence.measured import Measured
from onthree.sources import all_sources

NO_SOURCE = "common-practice"
Line = TypeVar("Line", bound=Measured)


@dataclass(frozen=True)
class EvidenceProblem:
    """One thing wrong with the evidence: which line, what was found, and what to do."""

    line: str
    field: str
    problem: str

    def __str__(self) -> str:
        return f"{self.line}: {self.field}: {self.problem}"


class EvidenceError(ValueError):
    """Evidence that cannot be used; carries every problem found."""

    def __init__(self, problems: Iterable[EvidenceProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(map(str, self.problems)))


def read_lines(
    kind: TypeAdapter[Line], lines: Iterable[tuple[str, Mapping[str, Any]]]
) -> tuple[tuple[Line, ...], tuple[EvidenceProblem, ...]]:
    """The lines (name of the line, its fields) that can be used, and every problem of the others."""
    read: list[Line] = []
    problems: list[EvidenceProblem] = []
    for name, fields in lines:
        try:
            line = kind.validate_json(json.dumps(fields, default=str))
        except ValidationError as error:
            problems.extend(_as_problem(name, found) for found in error.errors())
        else:
            read.append(line)
            problems.extend(EvidenceProblem(name, *found) for found in _unsourced(line))
    return tuple(read), tuple(problems)


def _unsourced(line: Measured) -> Iterator[tuple[str, str]]:
    listed = all_sources()
    if line.source not in listed:
        yield "source", f"{line.source!r} is not listed in data/sources.toml: add its citation there"
    elif line.read and not listed[line.source].is_read:
        yield "read", f"true, but {line.source!r} was not read: say read = false"
    if line.source != NO_SOURCE and not line.where:
        yield "where", 'name the place in the source: where = "<page, table or abstract>"'
    if line.n is not None and line.n < 1:
        yield "n", f"{line.n} given: leave it out where it is not reported"


def _as_problem(name: str, found: Any) -> EvidenceProblem:
    place = ".".join(str(part) for part in found["loc"]) or "the line"
    given = "" if found["type"] == "missing" else f" ({found['input']!r} given)"
    return EvidenceProblem(name, place, found["msg"].removeprefix("Value error, ") + given)
