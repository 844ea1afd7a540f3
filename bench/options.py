"""How long the options of an athlete take, as ratios to a reference timed in the same run.

Reference: walking every simple path through the technique library once, from one found state to one goal, which is
what listing options without a catalogue costs. Prints milliseconds beside each ratio; the milliseconds are of this
machine, the ratios travel.
"""

import statistics
import time
from collections.abc import Callable, Iterator
from itertools import cycle, islice

from onthree.demo.conference import DEMO_TODAY, conference_records
from onthree.programme.programme import Programme, programme_of
from onthree.programme.records import Event
from onthree.readiness.rules import findings
from onthree.techniques.library import Library, bundled_library
from onthree.techniques.state import FOUND_POSITIONS, State, found
from onthree.transfers.catalogue import catalogue
from onthree.transfers.coverage import coverage
from onthree.transfers.goals import DEVICE_OUT, Goal
from onthree.transfers.options import engine_for
from onthree.transfers.situation import on_surface, situation_of

RUNS = 5
SITUATIONS = 60, (*FOUND_POSITIONS, "side"), ("turf", "wet turf", "ice")
SEASON_EVENTS = 300
"""Events of a season covered in one pass."""
BUILD_MS, STATUS_MS, OPTIONS_MS, EVENT_MS = 2000.0, 5.0, 100.0, 2000.0
"""What it may take: a catalogue, one athlete's status and fixes, with every option, an event in every situation."""


def main() -> None:
    """Time and print."""
    library = bundled_library()
    programme = programme_of(conference_records(), DEMO_TODAY)
    event = max(programme.events.values(), key=lambda event: len(programme.roster(event)))
    flat, start = library.on_way("flat"), found("supine", "screws")
    roster = programme.roster(event)
    states, paths = len(reachable(flat, start)), sum(1 for _ in simple_paths(flat, start, DEVICE_OUT))
    options = catalogue(flat, start, DEVICE_OUT)
    print(
        f"{len(library.techniques)} techniques, on a flat way {len(flat.moves)}: from one found state {states} states,"
    )
    print(f"{paths} simple paths, {len(options)} options without a needless technique")

    reference_ms = timed_ms(lambda: sum(1 for _ in simple_paths(flat, start, DEVICE_OUT)))
    row("reference: every simple path once", reference_ms, reference_ms)
    build_ms = timed_ms(lambda: catalogue.__wrapped__(flat, start, DEVICE_OUT))
    row("catalogue built once, one found state and goal", build_ms, reference_ms, BUILD_MS)
    one = roster[0]
    status_ms = timed_ms(lambda: engine_for(programme, event, library).answer(one, "supine").fixes)
    row("status and fixes of one athlete, nothing kept", status_ms, reference_ms, STATUS_MS)
    every_ms = timed_ms(lambda: engine_for(programme, event, library).answer(one, "supine").results)
    row("every option of one athlete, by evidence", every_ms, reference_ms, OPTIONS_MS)
    event_ms = timed_ms(lambda: every_situation(programme, event, library))
    count, positions, surfaces = SITUATIONS
    row(f"{count} athletes x {len(positions)} positions x {len(surfaces)} surfaces", event_ms, reference_ms, EVENT_MS)
    engine = engine_for(programme, event, library)
    row(f"every rule at {event.code}, {len(roster)} athletes", timed_ms(lambda: findings(engine)), reference_ms)
    season = [engine_for(programme, each, library) for each in season_of(programme)]
    started = time.perf_counter()
    covered = [coverage(each) for each in season]
    season_ms = (time.perf_counter() - started) * 1000
    situations = sum(each.situations_count for each in covered)
    row(f"coverage of {len(season)} events, {situations} situations, once", season_ms, reference_ms)


def every_situation(programme: Programme, event: Event, library: Library) -> int:
    """An event answered for every athlete, position and surface; how many answers are possible."""
    count, positions, surfaces = SITUATIONS
    roster = (programme.roster(event) * 3)[:count]
    situation = situation_of(programme, event)
    engines = [engine_for(programme, event, library, on_surface(situation, surface)) for surface in surfaces]
    statuses = [engine.answer(who, position).status for engine in engines for position in positions for who in roster]
    return statuses.count("possible")


def season_of(programme: Programme) -> list[Event]:
    """The events of the programme again and again, as many as a season has."""
    return list(islice(cycle(programme.events.values()), SEASON_EVENTS))


def reachable(library: Library, start: State) -> set[State]:
    """Every state that the techniques lead to."""
    seen, waiting = {start}, [start]
    while waiting:
        state = waiting.pop()
        following = {technique.leads_to(state) for technique in library.moves if technique.is_open_in(state)} - seen
        seen |= following
        waiting += following
    return seen


def timed_ms(call: Callable[[], object]) -> float:
    """Median time of a call over several runs [ms]."""
    times_ms = []
    for _ in range(RUNS):
        started = time.perf_counter()
        call()
        times_ms.append((time.perf_counter() - started) * 1000)
    return statistics.median(times_ms)


def row(name: str, took_ms: float, reference_ms: float, may_take_ms: float | None = None) -> None:
    """Print one line: what, how long, ratio to the reference, and to what it may take."""
    allowed = f"   {took_ms / may_take_ms:6.3f} of what it may take" if may_take_ms else ""
    print(f"  {name:<58} {took_ms:9.2f} ms   {took_ms / reference_ms:8.3f} x reference{allowed}")


def simple_paths(library: Library, start: State, goal: Goal) -> Iterator[int]:
    """Lengths of all simple paths from a state to a goal."""
    stack: list[tuple[State, frozenset[State]]] = [(start, frozenset({start}))]
    while stack:
        state, seen = stack.pop()
        if goal.is_reached_in(state):
            yield len(seen)
            continue
        for technique in library.moves:
            if technique.is_open_in(state) and (following := technique.leads_to(state)) not in seen:
                stack.append((following, seen | {following}))


if __name__ == "__main__":
    main()
