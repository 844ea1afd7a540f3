"""What the agreements with the ambulance agencies do to the options: which clash, and what each one costs."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

from onthree.programme.records import Athlete
from onthree.techniques.state import FOUND_POSITIONS, spoken
from onthree.transfers.goals import Goal, goal_of
from onthree.transfers.options import AthleteAnswer, OptionsEngine, by_kind

Agreed = tuple[str, str]
"""One thing settled or not: code of the agency, and a technique or a way of arriving."""

_CAUSE = "agreement/"


@dataclass(frozen=True)
class Clash:
    """Agreements that together leave no option, nothing smaller does; for athletes found in a position."""

    position: str
    athletes: tuple[Athlete, ...]
    together: frozenset[Agreed]


@dataclass(frozen=True)
class Cost:
    """An agreement without which the athlete would be handled less often; ``handlings_saved_count`` at most."""

    position: str
    athletes: tuple[Athlete, ...]
    agreed: Agreed
    handlings_count: int
    handlings_saved_count: int


def clashes(engine: OptionsEngine) -> tuple[Clash, ...]:
    """The smallest sets of agreements that leave no option to athletes of the event, by found position."""
    if not _all(engine):
        return ()
    answers = tuple(_answers(engine))
    closed = {
        kind: _smallest(engine, first)
        for kind, (first, *_) in by_kind(answers).items()
        if first.status in ("unknown", "not possible")
    }
    found: dict[tuple[str, frozenset[Agreed]], list[Athlete]] = {}
    for answer in answers:
        for together in closed.get(answer.kind, ()):
            found.setdefault((answer.position, together), []).append(answer.athlete)
    return tuple(Clash(position, tuple(who), together) for (position, together), who in found.items())


def costs(engine: OptionsEngine) -> tuple[Cost, ...]:
    """The agreements without which some option would handle an athlete less often than every option now does."""
    found: dict[tuple[str, Agreed, int, int], list[Athlete]] = {}
    for answer in _answers(engine):
        least = _least_handlings(answer, frozenset())
        if least is None:
            continue
        for agreed in _all(engine):
            without = _without(engine, answer, agreed)
            if without is not None and without < least:
                found.setdefault((answer.position, agreed, least, least - without), []).append(answer.athlete)
    return tuple(
        Cost(position, tuple(who), agreed, least, saved) for (position, agreed, least, saved), who in found.items()
    )


def in_words(engine: OptionsEngine, agreed: Agreed) -> str:
    """An agreement as a clause: who requires, refused or has not settled what."""
    code, about = agreed
    agency = engine.programme.agencies[code].name
    if agreed in engine.situation.required:
        return f"{agency} requires: {about}"
    answer = engine.situation.answer(code, about)
    return f"{agency} {'refused' if answer == 'refused' else 'has not settled'}: {spoken(about)}"


def _answers(engine: OptionsEngine) -> Iterator[AthleteAnswer]:
    for position in FOUND_POSITIONS:
        for athlete in engine.programme.roster(engine.event):
            yield engine.answer(athlete, position)


def _smallest(engine: OptionsEngine, answer: AthleteAnswer) -> tuple[frozenset[Agreed], ...]:
    """Sets of requirements and answers that close every way, each without a smaller one in it."""
    required = tuple(dict.fromkeys(engine.situation.required))
    closed: list[frozenset[Agreed]] = []
    for count in range(len(required) + 1):
        for some in combinations(required, count):
            closed += [frozenset(some) | answers for answers in _closed_by(engine, answer, some)]
    return tuple(one for one in dict.fromkeys(closed) if not any(other < one for other in closed))


def _closed_by(engine: OptionsEngine, answer: AthleteAnswer, some: tuple[Agreed, ...]) -> Iterable[frozenset[Agreed]]:
    """The smallest sets of answers that close every way which meets these requirements; an empty one if none does."""
    goal = _goal(some)
    if goal.is_contradictory:
        return (frozenset(),)
    ranking = engine.answer(answer.athlete, answer.position, goal).ranking
    if some and not ranking.ranked:
        return (frozenset(),)
    return (frozenset(map(_read, one)) for one in ranking.clashes)


def _goal(some: Iterable[Agreed]) -> Goal:
    return goal_of(about for _, about in some)


def _least_handlings(answer: AthleteAnswer, lifted: frozenset[str]) -> int | None:
    """Fewest handlings of an option against which nothing stands but the causes lifted; None where there is none."""
    counts = (
        one.option.handlings_count for one in answer.ranking.ranked if answer.ranking.named(one.against) <= lifted
    )
    return min(counts, default=None)


def _without(engine: OptionsEngine, answer: AthleteAnswer, agreed: Agreed) -> int | None:
    if agreed not in engine.situation.required:
        return _least_handlings(answer, frozenset({f"{_CAUSE}{agreed[0]}/{agreed[1]}"}))
    still = {about for code, about in engine.situation.required if (code, about) != agreed}
    words = (word.replace("-", " ") for word in engine.goal.id.split("+"))
    goal = goal_of(word for word in words if word != agreed[1] or word in still)
    return _least_handlings(engine.answer(answer.athlete, answer.position, goal), frozenset())


def _all(engine: OptionsEngine) -> tuple[Agreed, ...]:
    coming = {there.agency.code for there in engine.situation.vehicles}
    closing = {
        (code, technique.id)
        for code in coming
        for technique in engine.library.moves
        if engine.situation.answer(code, technique.id) == "refused"
        or (technique.needs_agreement and engine.situation.answer(code, technique.id) != "agreed")
    }
    return (*dict.fromkeys(engine.situation.required), *sorted(closing))


def _read(cause: str) -> Agreed:
    code, _, technique = cause.removeprefix(_CAUSE).partition("/")
    return code, technique
