"""Which situations of an event have an option, after how long a hold, and what closes the others."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from onthree.programme.records import Athlete, Team
from onthree.sources import parameter
from onthree.techniques.state import FOUND_POSITIONS
from onthree.transfers.causes import Cause
from onthree.transfers.options import AthleteAnswer, OptionsEngine, by_kind
from onthree.units import read_length, read_mass

VISITOR = "nobody knows"


@dataclass(frozen=True)
class Closed:
    """A set of causes that, mended together, opens an option, and for how many situations it is a smallest one."""

    causes: tuple[Cause, ...]
    situations_count: int


@dataclass(frozen=True)
class Coverage:
    """The situations of one event: found positions times athletes, the worst-case visitor among them if unknown."""

    event: str
    possible_count: int
    hold_count: int
    unknown_count: int
    not_possible_count: int
    longest_hold_min: int
    stuck: tuple[AthleteAnswer, ...]
    """The situations nobody can do anything about with what is here, or nobody knows."""
    held: tuple[AthleteAnswer, ...]
    closed_by: tuple[Closed, ...]

    @property
    def situations_count(self) -> int:
        """All of them."""
        return self.possible_count + self.hold_count + self.unknown_count + self.not_possible_count


def coverage(engine: OptionsEngine, positions: Sequence[str] = FOUND_POSITIONS) -> Coverage:
    """Every athlete of an event found in every position; visitors nobody knows as one stated worst case."""
    answers = [engine.answer_for(*who, position) for position in positions for who in _who(engine)]
    by_status = Counter(answer.status for answer in answers)
    held = tuple(answer for answer in answers if answer.status == "hold")
    stuck = tuple(answer for answer in answers if answer.status in ("unknown", "not possible"))
    return Coverage(
        engine.event.code,
        by_status["possible"],
        by_status["hold"],
        by_status["unknown"],
        by_status["not possible"],
        max((answer.ranking.ranked[0].from_min for answer in held), default=0),
        stuck,
        held,
        _closed_by(stuck),
    )


def worst_visitor(engine: OptionsEngine) -> tuple[Athlete, Team]:
    """The stated worst case for a visitor nobody knows: as heavy as is planned for, mask fastening not known."""
    (size,) = parameter("visitor_worst_case", engine.event.day).value
    team = Team(code="visitors", name="visitor", equipment_mass=read_mass(size["equipment_worn"]))
    mass, stature = read_mass(size["body_mass"]), read_length(size["stature"])
    return Athlete(code=VISITOR, team=team.code, mass=mass, stature=stature), team


def teams_of(engine: OptionsEngine) -> dict[str, Team]:
    """The teams of an event by code, visitors nobody knows among them."""
    teams = {code: engine.programme.teams[code] for code in engine.event.teams}
    if has_unknown_visitors(engine):
        _, team = worst_visitor(engine)
        teams[team.code] = team
    return teams


def has_unknown_visitors(engine: OptionsEngine) -> bool:
    """Whether somebody may play whom nobody knows."""
    event = engine.event
    return event.visitors != "none" and not (event.visitors == "known" and len(event.teams) > 1)


def _who(engine: OptionsEngine) -> Iterator[tuple[Athlete, Team]]:
    for athlete in engine.programme.roster(engine.event):
        yield athlete, engine.programme.teams[athlete.team]
    if has_unknown_visitors(engine):
        yield worst_visitor(engine)


def _closed_by(stuck: Iterable[AthleteAnswer]) -> tuple[Closed, ...]:
    """Counted by identifier; the causes are told as they are for the first athlete of each kind."""
    counted: Counter[frozenset[str]] = Counter()
    named: dict[frozenset[str], tuple[Cause, ...]] = {}
    for first, *others in by_kind(stuck).values():
        for fix in first.fixes:
            key = frozenset(cause.id for cause in fix)
            counted[key] += 1 + len(others)
            named.setdefault(key, fix)
    return tuple(Closed(named[key], count) for key, count in counted.most_common())
