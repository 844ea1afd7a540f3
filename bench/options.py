"""How long the options of an athlete take, as ratios to a reference timed in the same run.

Reference: walking every simple path through the technique library once, from one found state to one goal, which is
what listing options without a catalogue costs. Prints milliseconds beside each ratio; the milliseconds are of this
machine, the ratios travel.
"""

import statistics
import time
from collections.abc import Callable, Iterator

from onthree.demo.conference import DEMO_TODAY, conference_records
from onthree.programme.programme import programme_of
from onthree.readiness.rules import findings
from onthree.techniques.library import Library, bundled_library
from onthree.techniques.state import FOUND_POSITIONS, State, found, meets
from onthree.transfers.catalogue import catalogue
from onthree.transfers.goals import DEVICE_OUT, Goal
from onthree.transfers.options import engine_for

RUNS = 15
GOAL_MS = 20.0
"""Every option of an athlete is to be there in less, once the catalogue is built."""


def main() -> None:
    """Time and print."""
    library = bundled_library()
    programme = programme_of(conference_records(), DEMO_TODAY)
    event = max(programme.events.values(), key=lambda event: len(programme.roster(event)))
    engine = engine_for(programme, event, library)
    roster = programme.roster(event)
    start = found("supine", "screws")
    paths = sum(1 for _ in simple_paths(library, start, DEVICE_OUT))

    reference_ms = timed_ms(lambda: sum(1 for _ in simple_paths(library, start, DEVICE_OUT)))
    build_ms = timed_ms(lambda: catalogue.__wrapped__(library, start, DEVICE_OUT))
    athlete_ms = timed_ms(lambda: [engine.answer(one, p) for one in roster for p in FOUND_POSITIONS]) / len(roster)
    rules_ms = timed_ms(lambda: findings(engine))

    print(f"{event.code}: {len(roster)} athletes, {len(library.techniques)} techniques, {paths} simple paths")
    row("reference: every simple path once", reference_ms, reference_ms)
    row("catalogue built once, one found state and goal", build_ms, reference_ms)
    row("every option of one athlete, both positions", athlete_ms, reference_ms)
    row("every rule at the event", rules_ms, reference_ms)
    print(f"every option of one athlete takes {athlete_ms / GOAL_MS:.3f} of the {GOAL_MS:.0f} ms it may take")


def timed_ms(call: Callable[[], object]) -> float:
    """Median time of a call over several runs [ms]."""
    times_ms = []
    for _ in range(RUNS):
        started = time.perf_counter()
        call()
        times_ms.append((time.perf_counter() - started) * 1000)
    return statistics.median(times_ms)


def row(name: str, took_ms: float, reference_ms: float) -> None:
    """Print one line: what, how long, ratio to the reference."""
    print(f"  {name:<50} {took_ms:9.2f} ms   {took_ms / reference_ms:8.3f} x reference")


def simple_paths(library: Library, start: State, goal: Goal) -> Iterator[int]:
    """Lengths of all simple paths from a state to a goal."""
    stack: list[tuple[State, frozenset[State]]] = [(start, frozenset({start}))]
    while stack:
        state, seen = stack.pop()
        if meets(state, goal.conditions):
            yield len(seen)
            continue
        for technique in library.techniques:
            following = technique.leads_to(state)
            if technique.is_open_in(state) and following not in seen:
                stack.append((following, seen | {following}))


if __name__ == "__main__":
    main()
