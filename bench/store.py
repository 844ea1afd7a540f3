"""How long the store takes for twelve thousand athletes: added, unchanged, changed, loaded."""

import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from time import perf_counter
from typing import TypeVar

from onthree.programme.programme import Scope
from onthree.programme.records import Athlete, Event, Organisation, Team, Venue
from onthree.store.connection import open_store
from onthree.units import read_length, read_mass

DAY = date(2026, 11, 27)
T = TypeVar("T")


def timed(what: str, work: Callable[[], T]) -> T:
    """Do the work and print how long it took."""
    start_s = perf_counter()
    done = work()
    print(f"{what:<30} {perf_counter() - start_s:6.2f} s")
    return done


def main(athletes: int) -> None:
    """Measure on a new store in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        timed("open a new store", lambda: open_store(Path(folder)))
        measure(athletes)


def measure(athletes: int) -> None:
    """Save and load an invented conference with sixty athletes a team."""
    from onthree.store.load import load_programme
    from onthree.store.records import save_records

    teams = [Team(code=f"T-{n}", name=f"team {n}") for n in range(-(-athletes // 60))]
    roster = [
        Athlete(
            code=f"A-{n}",
            team=f"T-{n // 60}",
            number=n % 60,
            mass=read_mass(f"{150 + n % 1500 / 10} lb"),
            stature=read_length(f"{165 + n % 300 / 10} cm"),
            face_mask="screws",
        )
        for n in range(athletes)
    ]
    event = Event(code="E-1", name="game", kind="game", day=DAY, venue="V-1", teams=("T-0", "T-1"))
    rest = [Organisation(code="ORG", name="invented", is_invented=True), Venue(code="V-1", name="field"), *teams, event]
    timed(f"add {athletes} athletes", lambda: save_records([*rest, *roster], by="bench"))
    timed("save the same again", lambda: save_records([*rest, *roster], by="bench"))
    timed("change every one", lambda: save_records([replace(each, plays="line") for each in roster], by="bench"))
    timed("load all", lambda: load_programme(DAY))
    timed("load one event", lambda: load_programme(DAY, Scope("event", "E-1")))
    timed("load all as recorded", lambda: load_programme(DAY, recorded_at=datetime.now(UTC)))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 12_000)
