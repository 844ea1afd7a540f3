"""How long a conference of full size takes, and whether any step grows faster than the data.

200 venues and teams, 12,000 athletes, a season of 1,200 events with everything they refer to; then a half and a quarter
of that. Each size is written, read and imported as a workbook and as CSV files into a store of its own; there one event
and one team's season are checked, every rule and every option of every athlete, and the page of the event is shown.
Growth is the time over the time at half the size, divided by two: 1.00 grows as fast as the data, more is faster; 0.50
does not grow, which is what checking one event or one team is to do. The last column compares with a plain loop on the
same computer, so that a slower or busier one does not look like a slower program.
"""

import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import TypeVar

from onthree.programme.presence import Presence
from onthree.programme.records import (
    Agency,
    Athlete,
    CheckOff,
    Event,
    Gate,
    Gear,
    Hospital,
    Organisation,
    PreAgreement,
    Record,
    Responder,
    Team,
    Vehicle,
    Venue,
)
from onthree.units import read_length, read_mass

TEAMS, PER_TEAM, GAMES = 200, 60, 6
PEOPLE, DAY, TIMES = 5, date(2026, 8, 29), 9
SKILLS = ("in-line hold", "log roll", "team lift", "scoop", "strapping", "face mask")
GEAR = ("scoop", "long board", "straps", "head blocks", "powered screwdriver", "cutting tool")
DEVICES = ("long board", "scoop", "cot")
REFERENCE, LOOP_COUNT = "a plain loop, to compare with", 5_000_000
T = TypeVar("T")


def main() -> None:
    """Measure each size in a process of its own, and print times and growth."""
    sizes = (TEAMS // 4, TEAMS // 2, TEAMS)
    measured = []
    for teams in sizes:
        command = [sys.executable, __file__, str(teams)]
        lines = subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines()
        measured.append({what: float(took_s) for what, _, took_s in (line.partition("\t") for line in lines)})
    print(f"{'':<44}" + "".join(f"{teams:>5} teams" for teams in sizes) + "   growth        ratio")
    for what in measured[0]:
        took_s = [size[what] for size in measured]
        growth = [more / less / 2 for less, more in pairwise(took_s)]
        ratio = took_s[-1] / measured[-1][REFERENCE]
        times = "".join(f"{one:>9.2f} s" for one in took_s)
        print(f"{what:<44}" + times + "".join(f"  {one:5.2f}" for one in growth) + f"  {ratio:8.2f}")


def measure(teams: int) -> None:
    """Everything at one size, a line each: what, and seconds."""
    from onthree.actions import workbooks
    from onthree.programme.programme import programme_of
    from onthree.store.connection import open_store
    from onthree.workbook.read import read_csv_files, read_workbook
    from onthree.workbook.sheets_csv import write_csv_files
    from onthree.workbook.write import write_workbook

    records = tuple(conference(teams))
    known = {"known_techniques": ("device_out_on_cot",)}
    workbook = timed("write a workbook", lambda: write_workbook(records))
    files = timed("write CSV files", lambda: write_csv_files(records))
    assert timed("read the workbook", lambda: read_workbook(workbook, "size.xlsx", **known)) == records
    assert timed("read the CSV files", lambda: read_csv_files(files, "size", **known)) == records
    stored = programme_of(records, DAY)
    with tempfile.TemporaryDirectory() as folder:
        open_store(Path(folder))

        def imported(what: str, content: bytes | dict[str, bytes], name: str) -> workbooks.ImportResult:
            return timed(what, lambda: workbooks.import_content(content, name, DAY, is_preview=False, by="bench"))

        assert len(imported("import the workbook into an empty store", workbook, "size.xlsx").changes.added) == len(
            records
        )
        assert imported("import the CSV files, nothing changed", files, "size").changes.is_empty
        assert timed("load everything", lambda: workbooks.current_programme(DAY)) == stored
        check(stored.coming_events())
        show(stored.coming_events()[0])


def check(events: tuple[Event, ...]) -> None:
    """Check one event, then one team's season."""
    from onthree.actions.event_answer import answer_event

    answer_event(events[0].code, DAY)  # builds what is built once
    answer = timed("check one event", lambda: answer_event(events[0].code, DAY))
    assert len(answer.programme.roster(answer.event)) == 2 * PER_TEAM
    season = [event.code for event in events if "T-0" in event.teams]
    timed(REFERENCE, lambda: sum(number % 7 for number in range(LOOP_COUNT)))
    timed("check one team's season", lambda: [answer_event(code, DAY) for code in season])


def show(event: Event) -> None:
    """The page of an event, the median of several: after a change of one record each time, and with nothing changed."""
    from django.conf import settings
    from django.test import Client

    from onthree.store.records import save_records

    settings.TODAY = DAY
    client = Client(HTTP_HOST="127.0.0.1")

    def answered_s() -> float:
        started_s = perf_counter()
        assert client.get(f"/events/{event.code}/").status_code == 200
        return perf_counter() - started_s

    def after_a_change_s(number: int) -> float:
        save_records([replace(responder("R-3"), name=f"renamed {number}")], "bench", "ORG")
        return answered_s()

    after_a_change_s(0)  # builds what is built once
    print(f"the page of an event, after a change\t{median(after_a_change_s(1 + n) for n in range(TIMES)):.4f}")
    print(f"the page of an event, nothing changed\t{median(answered_s() for _ in range(TIMES)):.4f}")


def timed(what: str, work: Callable[[], T]) -> T:
    """Do the work and print how long it took [s]."""
    started_s = perf_counter()
    done = work()
    print(f"{what}\t{perf_counter() - started_s:.4f}")
    return done


def conference(teams: int) -> Iterator[Record]:
    """An invented conference, kinds in the order of the sheets."""
    yield Organisation(code="ORG", name="invented", is_invented=True)
    hospitals = range(-(-teams // 10))
    yield from (Hospital(code=f"H-{n}", name=f"hospital {n}", capabilities=("trauma",)) for n in hospitals)
    yield from (
        Venue(code=f"V-{n}", name=f"field {n}", cot_way="flat", surface="turf", hospital=f"H-{n // 10}")
        for n in range(teams)
    )
    for n in range(teams):
        yield Gate(code=f"GATE-{n}", venue=f"V-{n}", name="gate", is_cot_way=True, width=read_length("1.2 m"))
    for n in range(teams):
        yield Team(code=f"T-{n}", name=f"team {n}", sport="football", equipment_mass=read_mass("18 lb"))
    yield from (athlete(team, number) for team in range(teams) for number in range(PER_TEAM))
    yield from (responder(f"R-{n}") for n in range(teams * PEOPLE))
    for n in range(teams * PEOPLE):
        for place, skill in enumerate(SKILLS):
            yield CheckOff(code=f"C-{n}-{place}", responder=f"R-{n}", skill=skill, done_on=date(2026, 8, 2))
    yield from (Agency(code=f"AG-{n}", name=f"agency {n}", skills=SKILLS) for n in hospitals)
    yield from (item(team, kind) for team in range(teams) for kind in GEAR)
    yield from (vehicle(n) for n in range(teams))
    yield from (game(n, teams) for n in range(teams * GAMES))
    for n in hospitals:
        yield PreAgreement(code=f"AGR-{n}", agency=f"AG-{n}", technique="device_out_on_cot", answer="agreed")


def athlete(team: int, number: int) -> Athlete:
    """An athlete, all of different mass and stature."""
    return Athlete(
        code=f"T{team}-{number}",
        team=f"T-{team}",
        number=number,
        mass=read_mass(f"{150 + (7 * team + 31 * number) % 190} lb"),
        stature=read_length(f"{165 + (3 * team + number) % 40} cm"),
        face_mask="screws",
        helmet="round-screw model",
        survey_table="male",
    )


def responder(code: str) -> Responder:
    """Someone trained."""
    return Responder(code=code, name=code, kind="medical-team member", skills=SKILLS, fit_to_lift=True)


def item(team: int, kind: str) -> Gear:
    """An item of a team."""
    is_device, is_tool = kind in DEVICES, kind in GEAR[4:]
    return Gear(
        code=f"G-{team}-{GEAR.index(kind)}",
        kind=kind,
        name=kind,
        rated_load=read_mass("350 lb") if is_device else None,
        own_mass=read_mass("8 kg") if is_device else None,
        usable_width=read_length("42 cm") if is_device else None,
        usable_length=read_length("190 cm") if is_device else None,
        fits=() if is_device or is_tool else DEVICES,
        helmets=("round-screw model",) if is_tool else (),
        in_service=True,
        inspected_on=date(2026, 8, 20),
    )


def vehicle(n: int) -> Vehicle:
    """An ambulance of an agency."""
    return Vehicle(
        code=f"AMB-{n}",
        agency=f"AG-{n // 10}",
        name=f"ambulance {n}",
        crew=2,
        cot_rated_load=read_mass("500 lb"),
        has_loading_system=False,
    )


def game(n: int, teams: int) -> Event:
    """A game of two teams, each with its people and gear, a week after the last one of the home team."""
    home, week = n % teams, n // teams
    both = (home, (home + week + 1) % teams)
    return Event(
        code=f"E-{n}",
        name=f"game {n}",
        kind="game",
        day=DAY + timedelta(weeks=week),
        start=time(19),
        venue=f"V-{home}",
        teams=tuple(f"T-{team}" for team in both),
        visitors="known",
        responders=tuple(Presence(f"R-{PEOPLE * team + k}") for team in both for k in range(PEOPLE)),
        gear=tuple(Presence(f"G-{home}-{place}") for place in range(len(GEAR))),
        vehicles=(Presence(f"AMB-{home}", 8),),
    )


if __name__ == "__main__":
    measure(int(sys.argv[1])) if len(sys.argv) > 1 else main()
