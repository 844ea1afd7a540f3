"""What any transfer at an event needs from some found position, whoever the athlete is: crews and kinds of gear."""

from decimal import Decimal
from functools import reduce
from operator import and_, or_

from onthree.loads.chain import LoadPart, worn_load
from onthree.techniques.state import TOOLS, found
from onthree.transfers.catalogue import Option, catalogue
from onthree.transfers.causes import place_of
from onthree.transfers.hands import Crew
from onthree.transfers.judge import Judge
from onthree.transfers.minimal_sets import inclusion_minimal
from onthree.transfers.options import OptionsEngine


def options_from(engine: OptionsEngine, position: str) -> tuple[Option, ...]:
    """The catalogue's options for an athlete in a position with the face mask still on, to the event's goal."""
    library = engine.library.on_way(place_of(engine.situation, "way") or "")
    return catalogue(library, found(position, "fastening not known"), engine.goal)


def best_crews(engine: OptionsEngine, position: str) -> tuple[Crew, ...]:
    """The crew of the option that is easiest to staff: for the heaviest known load, then for any load not known.

    An option needs the crew of its most demanding step. Empty where the library has no option from the position.
    """
    options = options_from(engine, position)
    if not options:
        return ()
    return tuple(
        min((_hardest(judge, option) for option in options), key=lambda crew: (crew.verdict, crew.from_min))
        for judge in _heaviest(engine)
    )


def _hardest(judge: Judge, option: Option) -> Crew:
    crews = (judge.crew(step) for step in option.steps)
    return max(crews, key=lambda crew: (crew.verdict, crew.from_min, crew.least_count))


def missing_kinds(engine: OptionsEngine, position: str) -> tuple[str, ...]:
    """The kinds of gear missing from every option, then the alternatives of which one would do, as ``a or b``.

    Empty where some option lacks none. Tools for face masks are left to their own rule.
    """
    there = {item.gear.kind for item in engine.situation.gear if item.gear.in_service is not False}
    if engine.situation.vehicles:
        there.add("cot")
    options = options_from(engine, position)
    needs = (need for option in options for step in option.steps for need in step.technique.need)
    kinds = sorted({need.kind for need in needs} - set(TOOLS))
    bit = {kind: 1 << place for place, kind in enumerate(kinds)}
    missing = inclusion_minimal(sum(bit[kind] for kind in _lacking(option, there) if kind in bit) for option in options)
    in_all = reduce(and_, missing, -1) if missing else 0
    one_of = reduce(or_, missing, 0) & ~in_all if in_all not in missing else 0
    alternatives = " or ".join(kind for kind in kinds if one_of & bit[kind])
    return (*(kind for kind in kinds if in_all & bit[kind]), *([alternatives] if alternatives else []))


def _lacking(option: Option, there: set[str]) -> set[str]:
    needs = (need for step in option.steps for need in step.technique.needs_in(step.state))
    return {need.kind for need in needs if need.is_certain and there.isdisjoint(need.kinds)}


def _heaviest(engine: OptionsEngine) -> tuple[Judge, ...]:
    worn = [
        worn_load(athlete, engine.programme.teams[athlete.team], engine.event)
        for athlete in engine.programme.roster(engine.event)
    ]
    is_known = {parts: all(part.mass for part in parts) for parts in worn}
    heaviest = [
        max((parts for parts in worn if is_known[parts] is known), key=_known_kg, default=None)
        for known in (True, False)
    ]
    judged = [parts for parts in heaviest if parts is not None] or [(LoadPart("load", None),)]
    return tuple(engine.judge_of(parts) for parts in judged)


def _known_kg(parts: tuple[LoadPart, ...]) -> Decimal:
    return sum((part.mass.kg for part in parts if part.mass), Decimal(0))
