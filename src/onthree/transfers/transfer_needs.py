"""What any transfer at an event needs from some found position, whoever the athlete is: crews and kinds of gear."""

from collections.abc import Iterator

from onthree.loads.chain import LoadPart, worn_load
from onthree.techniques.state import found
from onthree.techniques.verdict import of_all
from onthree.transfers.catalogue import Option, catalogue
from onthree.transfers.causes import Judge
from onthree.transfers.hands import Crew
from onthree.transfers.minimal_sets import inclusion_minimal
from onthree.transfers.options import OptionsEngine


def options_from(engine: OptionsEngine, position: str) -> tuple[Option, ...]:
    """The catalogue's options for an athlete in a position with the face mask still on, to the event's goal."""
    return catalogue(engine.library, found(position, "fastening not known"), engine.goal)


def crews_of(engine: OptionsEngine, position: str) -> Iterator[Crew]:
    """For each option the crew of its most demanding step, with lifters for the heaviest known load."""
    judge = _heaviest(engine)
    for option in options_from(engine, position):
        crews = [judge.crew(step) for step in option.steps]
        hardest = max(crews, key=lambda crew: (crew.verdict, crew.from_min, crew.least_count))
        assert of_all(crew.verdict for crew in crews) is hardest.verdict
        yield hardest


def missing_kinds(engine: OptionsEngine, position: str) -> set[str]:
    """The kinds of gear missing for the option that lacks least; empty where some option lacks none."""
    there = {item.gear.kind for item in engine.situation.gear if item.gear.in_service is not False}
    if engine.situation.vehicles:
        there.add("cot")
    options = options_from(engine, position)
    kinds = sorted({need.kind for option in options for step in option.steps for need in step.technique.need})
    bit = {kind: 1 << place for place, kind in enumerate(kinds)}
    missing = inclusion_minimal(sum(bit[kind] for kind in _lacking(option, there)) for option in options)
    return {kind for kind in kinds if missing and missing[0] & bit[kind]}


def _lacking(option: Option, there: set[str]) -> set[str]:
    needs = (need for step in option.steps for need in step.technique.needs_in(step.state))
    return {need.kind for need in needs if need.is_certain and there.isdisjoint(need.kinds)}


def _heaviest(engine: OptionsEngine) -> Judge:
    worn = [
        worn_load(athlete, engine.programme.teams[athlete.team]) for athlete in engine.programme.roster(engine.event)
    ]
    known = [parts for parts in worn if all(part.mass for part in parts)]
    nobody_weighed = (LoadPart("load", None),)
    heaviest = max(known, key=lambda parts: sum(part.mass.kg for part in parts if part.mass), default=nobody_weighed)
    return engine.judge_of(heaviest)
