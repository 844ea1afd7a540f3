"""Published values as printed: what was measured, how, on whom; unlike kinds are never pooled."""

from collections.abc import Collection, Mapping
from decimal import Decimal
from functools import cache
from statistics import median
from typing import Literal

from pydantic import TypeAdapter
from pydantic.dataclasses import dataclass

from onthree.evidence.measured import STRICT, Measured
from onthree.evidence.problems import EvidenceError, EvidenceProblem, read_lines
from onthree.sources import table

VALUES_TABLE = "evidence_values"
About = Literal[
    "flexion", "lateral", "axial", "total", "anteroposterior", "mediolateral", "vertical", "not_reported", "none"
]


@dataclass(frozen=True, config=STRICT, kw_only=True)
class PublishedValue(Measured):
    """One printed number with its spread, or one finding in words; mean and spread are the text that was printed."""

    handling: str
    condition: str
    plane: About
    unit: str
    mean: str = ""
    spread: str = ""
    spread_kind: Literal["", "SD", "95% CI", "range", "not_reported"] = ""
    instrument: str

    @property
    def kind_of_value(self) -> tuple[str, ...]:
        """What must be alike before two values may stand in one summary; a metric not known is like none elsewhere."""
        metric = f"{self.metric}, {self.source}" if self.metric in ("other", "not_reported") else self.metric
        subjects = (self.subjects, self.people, self.stance, self.equipment)
        return self.handling, self.plane, self.unit, self.measured_quantity, metric, *subjects


def read_values(rows: Collection[Mapping[str, str]]) -> tuple[PublishedValue, ...]:
    """Read rows of printed text. Raises EvidenceError with all problems of all rows."""
    lines = [(f"{VALUES_TABLE}.csv row {number}", _filled(row)) for number, row in enumerate(rows, start=1)]
    values, problems = read_lines(TypeAdapter(PublishedValue), lines)
    problems = (*problems, *(problem for value in values for problem in _contradictions(value)))
    if problems:
        raise EvidenceError(problems)
    return values


def _filled(row: Mapping[str, str]) -> dict[str, str]:
    return {name: text for name, text in row.items() if text != "" or name not in ("n", "read")}


def _contradictions(value: PublishedValue) -> list[EvidenceProblem]:
    name = f"{value.source}: {value.handling}, {value.condition}"
    problems = []
    if not value.mean and not value.printed:
        problems.append(EvidenceProblem(name, "mean", "give the printed number, or the finding in words as printed"))
    if bool(value.spread) != bool(value.spread_kind):
        problems.append(EvidenceProblem(name, "spread_kind", "a spread and its kind go together"))
    return problems


@dataclass(frozen=True)
class Summary:
    """Median, smallest and largest of printed means, exact, as text, with their unit."""

    median: str
    least: str
    most: str
    unit: str


def median_and_range(values: Collection[PublishedValue]) -> Summary:
    """Median and range of printed means.

    Raises EvidenceError where handling, plane, unit, measured quantity, metric, subjects, people, stance or equipment
    are unlike, or no value is given.
    """
    kinds = {value.kind_of_value for value in values}
    if len(kinds) != 1:
        found = " | ".join(", ".join(kind) for kind in sorted(kinds)) or "no values"
        raise EvidenceError([EvidenceProblem("values", "pooled", f"unlike kinds are never pooled: {found}")])
    means = sorted(Decimal(value.mean) for value in values)
    unit = next(iter(values)).unit
    return Summary(str(median(means)), str(means[0]), str(means[-1]), unit)


@cache
def published_values() -> tuple[PublishedValue, ...]:
    """The published values that come with onthree, in the order of their table."""
    return read_values(table(VALUES_TABLE))
