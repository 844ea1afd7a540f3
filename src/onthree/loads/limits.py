"""Published numbers for one person and for teams, each with what it takes for granted and a lift on the field breaks.

They are references to hold a share against, never limits of the people who are there: those stand in their own records.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from onthree.loads.lifting_equation import RepeatedLift, recommended_limit_kg
from onthree.sources import table
from onthree.units import KG_PER_LB, N_PER_KGF

_N_PER = {"kgf": float(N_PER_KGF), "kg": float(N_PER_KGF), "lb": float(KG_PER_LB * N_PER_KGF)}


@dataclass(frozen=True)
class Condition:
    """Something a reference number takes for granted; a lift on the field always or maybe breaks it."""

    text: str
    is_always_broken: bool
    source: str
    where: str


@dataclass(frozen=True)
class ReferenceNumber:
    """A published weight or force for one person [N] as printed, and what it takes for granted."""

    key: str
    name: str
    printed: str
    force_n: float
    conditions: tuple[Condition, ...]
    source: str
    where: str

    @property
    def sentence(self) -> str:
        """The number and, always with it, what the field breaks."""
        always = [condition.text for condition in self.conditions if condition.is_always_broken]
        maybe = [condition.text for condition in self.conditions if not condition.is_always_broken]
        broken = f"it takes for granted, and a lift on the field breaks: {'; '.join(always)}"
        rest = f"; it may also break: {'; '.join(maybe)}" if maybe else ""
        return f"{self.name}: {self.printed} ({self.force_n:.0f} N). Reference only: {broken}{rest}."


@dataclass(frozen=True)
class TeamFactor:
    """What a team of this many lifts together, as a ratio to the sum of what each lifts alone."""

    people: int
    share_ratio: float
    who: str
    kind: str
    source: str
    where: str


@dataclass(frozen=True)
class PeopleNeeded:
    """A force over a limit: the ratio and, only together with it, the next whole number of people."""

    ratio: float
    count: int

    def __str__(self) -> str:
        return f"{self.count} (force / limit = {self.ratio:.4f})"


def reference_numbers() -> tuple[ReferenceNumber, ...]:
    """Every published number, in the order of the table."""
    return tuple(
        ReferenceNumber(
            key=row["key"],
            name=row["name"],
            printed=f"{row['value']} {row['unit']}",
            force_n=float(row["value"]) * _N_PER[row["unit"]],
            conditions=_conditions(row["key"]),
            source=row["source"],
            where=row["where"],
        )
        for row in table("reference_limits")
    )


def reference_number(key: str) -> ReferenceNumber:
    """The published number with this key. Raises KeyError with the keys there are."""
    numbers = {number.key: number for number in reference_numbers()}
    if key not in numbers:
        raise KeyError(f"{key!r} given, one of these expected: {', '.join(numbers)}")
    return numbers[key]


def lifting_equation_reference(lift: RepeatedLift) -> ReferenceNumber:
    """The limit of the revised lifting equation for this lift, with everything the field breaks."""
    limit_kg = recommended_limit_kg(lift)
    return ReferenceNumber(
        key="lifting-equation",
        name="revised lifting equation",
        printed=f"{limit_kg:.1f} kg",
        force_n=limit_kg * float(N_PER_KGF),
        conditions=_conditions("lifting-equation"),
        source="niosh-94-110",
        where="equation, metric constants",
    )


def team_factors(people: int) -> tuple[TeamFactor, ...]:
    """Every published factor for exactly this many people; none is carried over to another number."""
    rows = (row for row in table("team_factors") if int(row["people"]) == people)
    return tuple(
        TeamFactor(people, float(Fraction(row["share"])), row["who"], row["kind"], row["source"], row["where"])
        for row in rows
    )


def people_needed(force_n: float, limit_n: float) -> PeopleNeeded:
    """How many people share a force evenly within a limit each [N]; a ratio just below a whole number says so."""
    ratio = force_n / limit_n
    return PeopleNeeded(ratio, ceil(ratio))


def _conditions(key: str) -> tuple[Condition, ...]:
    return tuple(
        Condition(row["condition"], row["broken"] == "always", row["source"], row["where"])
        for row in table("reference_conditions")
        if key.startswith(row["for"])
    )
