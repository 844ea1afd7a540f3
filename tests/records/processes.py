"""Programs that tests start beside each other on one store: ``python -m tests.records.processes WHAT ...``."""

import sys
from dataclasses import replace

from onthree.programme.programme import Programme, Scope
from onthree.programme.records import Athlete, Event, Record
from onthree.store.connection import open_store
from tests.invented import DAY, athlete, clean_records

ATHLETES = 1500


def main(what: str, *arguments: str) -> None:
    """Open the store that the environment names and do one thing with it."""
    open_store()
    {
        "open": lambda: None,
        "save_generations": save_generations,
        "read_generations": read_generations,
        "check": check,
        "save_own": save_own,
        "list": list_codes,
        "write_migration": write_migration,
        "where": where,
    }[what](*arguments)


def say(*words: object) -> None:
    """Write a line for the test that started this process."""
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


def save_generations(first: str, last: str) -> None:
    """Save everything again and again, each time changed throughout and with an athlete more; say before and after."""
    from onthree.store.records import save_records

    for generation in range(int(first), int(last) + 1):
        say("saving", generation)
        save_records(generation_of(generation), by=f"generation {generation}")
        say("saved", generation)


def generation_of(generation: int) -> list[Record]:
    """All records of a generation; the number of the generation stands in every row."""
    mark = f"generation {generation}"
    many = [athlete(f"A-{n}", n % 100, "300 lb", plays=mark) for n in range(ATHLETES + generation)]
    clean = [
        replace(each, name=mark) for each in clean_records() if not isinstance(each, Athlete) and hasattr(each, "name")
    ]
    return [*(_other_minutes(each, generation) if isinstance(each, Event) else each for each in clean), *many]


def _other_minutes(event: Event, generation: int) -> Event:
    there = tuple(replace(each, from_min=generation % 60) for each in event.responders[: 5 + generation % 5])
    return replace(event, responders=there)


def read_generations(until: str) -> None:
    """Load until a generation appears; each time everything must be of one generation."""
    from onthree.store.load import has_organisation, load_programme

    seen: set[int] = set()
    while int(until) not in seen:
        if has_organisation():
            seen.add(whole_generation(load_programme(DAY)))
    say(len(seen))


def whole_generation(programme: Programme) -> int:
    """The generation that every record of the programme is of."""
    marks = {each.plays for each in programme.athletes.values()} | {
        getattr(each, "name", each.code) for each in programme.records() if not isinstance(each, Athlete)
    }
    assert len(marks) == 1, marks
    generation = int(marks.pop().removeprefix("generation "))
    assert set(programme.records()) == set(generation_of(generation))
    return generation


def check() -> None:
    """Print the generation stored, after checking that it is whole, its history too, and the database sound."""
    from django.db import connection

    from onthree.store.load import load_programme
    from onthree.store.models import Athlete as AthleteRow

    generation = whole_generation(load_programme(DAY))
    for earlier in range(1, generation + 1):
        written = AthleteRow.history.filter(history_change_reason=f"generation {earlier}").count()
        assert written == ATHLETES + earlier, (earlier, written)
    assert not AthleteRow.history.filter(history_change_reason=f"generation {generation + 1}").exists()
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            assert cursor.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert cursor.execute("PRAGMA foreign_key_check").fetchall() == []
    say(generation)


def save_own(name: str, times: str) -> None:
    """Save own athletes one after the other, and every time the organisation's clean records too."""
    from onthree.store.records import save_records

    for n in range(int(times)):
        save_records([*clean_records(), athlete(f"{name}-{n}", n, "300 lb")], by=name)


def list_codes() -> None:
    """Print the codes of all athletes."""
    from onthree.store.load import load_programme

    say(*load_programme(DAY, Scope("all")).athletes)


def write_migration(name: str) -> None:
    """Write down that a change of the tables was made, without making it."""
    from django.db import connection
    from django.db.migrations.recorder import MigrationRecorder

    MigrationRecorder(connection).record_applied("store", name)


def where() -> None:
    """Print the folder in use, if its secret is in use too."""
    from django.conf import settings

    assert len(settings.SECRET_KEY) >= 50
    say(settings.FOLDER)


if __name__ == "__main__":
    main(*sys.argv[1:])
