"""The catalogue against brute force: every simple path, reduced to inclusion-minimal multisets, on random libraries."""

from collections import Counter
from collections.abc import Iterator

from hypothesis import given, settings
from hypothesis import strategies as st

from onthree.techniques.library import Library
from onthree.techniques.state import State, found, meets
from onthree.techniques.technique import Handling, Role, Task, Technique
from onthree.transfers.catalogue import Step, catalogue
from onthree.transfers.goals import Goal

VALUES = {"position": ("supine", "prone"), "device": ("none", "long board", "scoop"), "body": ("loose", "strapped")}


@st.composite
def conditions(draw: st.DrawFn, least: int = 0) -> dict[str, tuple[str, ...]]:
    names = draw(st.lists(st.sampled_from(sorted(VALUES)), unique=True, min_size=least, max_size=2))
    return {name: tuple(draw(st.sets(st.sampled_from(VALUES[name]), min_size=1, max_size=2))) for name in names}


START = found("prone", "off")
goals = conditions(least=1).filter(lambda wanted: not meets(START, wanted))
"""Goals that doing nothing does not reach."""


@st.composite
def libraries(draw: st.DrawFn) -> Library:
    return Library(tuple(_technique(draw, number) for number in range(draw(st.integers(6, 9)))))


def _technique(draw: st.DrawFn, number: int) -> Technique:
    names = draw(st.lists(st.sampled_from(sorted(VALUES)), unique=True, min_size=1, max_size=2))
    return Technique(
        id=f"technique_{number}",
        title=f"Technique {number}",
        order=number,
        source="common-practice",
        handling=Handling(
            counts=True, evidence="none", depends_on=tuple(draw(st.sets(st.sampled_from(sorted(VALUES)))))
        ),
        before=draw(conditions()),
        after={name: draw(st.sampled_from(VALUES[name])) for name in names},
        role=(Role(id="head", does="holds", count=1, least=1, skill="in-line hold", source="common-practice"),),
        task=(Task(id="do", does="do", who=("head",), usual_s=1, slow_s=1, guess=True),),
    )


@settings(max_examples=300, deadline=None)
@given(libraries(), goals)
def test_equal_to_every_simple_path_reduced(library: Library, wanted: dict[str, tuple[str, ...]]) -> None:
    start, goal = START, Goal("goal", "a goal", wanted)

    listed = [Counter(step.kind for step in option.steps) for option in catalogue(library, start, goal)]

    assert _frozen(listed) == _frozen(_reduced(list(_simple_paths(library, start, goal))))
    assert len(listed) == len(_frozen(listed))


@settings(max_examples=100, deadline=None)
@given(libraries(), goals)
def test_every_option_can_be_walked_from_start_to_goal(library: Library, wanted: dict[str, tuple[str, ...]]) -> None:
    start, goal = START, Goal("goal", "a goal", wanted)

    for option in catalogue(library, start, goal):
        state = start
        for step in option.steps:
            assert step.state == state
            assert step.technique.is_open_in(state)
            state = step.technique.leads_to(state)
        assert meets(state, goal.conditions)


def _simple_paths(library: Library, start: State, goal: Goal) -> Iterator[Counter[tuple[str, ...]]]:
    stack: list[tuple[State, frozenset[State], tuple[tuple[str, ...], ...]]] = [(start, frozenset({start}), ())]
    while stack:
        state, seen, kinds = stack.pop()
        if meets(state, goal.conditions):
            yield Counter(kinds)
            continue
        for technique in library.techniques:
            following = technique.leads_to(state)
            if technique.is_open_in(state) and following not in seen:
                stack.append((following, seen | {following}, (*kinds, Step(technique, state).kind)))


def _reduced(paths: list[Counter[tuple[str, ...]]]) -> list[Counter[tuple[str, ...]]]:
    distinct = list({frozenset(path.items()): path for path in paths}.values())
    return [path for path in distinct if not any(other < path for other in distinct)]


def _frozen(paths: list[Counter[tuple[str, ...]]]) -> set[frozenset[tuple[tuple[str, ...], int]]]:
    return {frozenset(path.items()) for path in paths}
