"""A store written by an earlier version is brought up to date, its past too."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from onthree.store.load import load_programme
from tests.invented import DAY

THEN = datetime(2026, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def first_version(transactional_db: None) -> Iterator[Any]:
    """The tables as the first version made them; the newest afterwards."""
    executor = MigrationExecutor(connection)
    newest = executor.loader.graph.leaf_nodes()
    executor.migrate([("store", "0001_initial")])
    yield executor.loader.project_state([("store", "0001_initial")]).apps
    MigrationExecutor(connection).migrate(newest)


def test_hospitals_named_by_venues_become_hospitals_now_and_in_the_past(first_version: Any) -> None:
    tables = {name: first_version.get_model("store", name) for name in ("Organisation", "Venue")}
    past = {name: first_version.get_model("store", f"Historical{name}") for name in tables}
    owner = tables["Organisation"].objects.create(code="ORG", name="x")
    past["Organisation"].objects.create(id=owner.id, code="ORG", name="x", history_date=THEN, history_type="+")
    for code, was, now in (("V-1", "county", "city"), ("V-2", "county", "county"), ("V-3", "", "")):
        row = {"organisation_id": owner.id, "code": code, "name": "x"}
        venue = tables["Venue"].objects.create(**row, hospital=now)
        for hospital, later in ((was, 0), (now, 1)):
            past["Venue"].objects.create(
                id=venue.id, **row, hospital=hospital, history_date=THEN + timedelta(days=later), history_type="+"
            )
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes())
    today = load_programme(DAY)

    assert {code: hospital.name for code, hospital in today.hospitals.items()} == {"H-1": "county", "H-2": "city"}
    assert [venue.hospital for venue in today.venues.values()] == ["H-2", "H-1", None]
    assert [venue.hospital for venue in load_programme(DAY, recorded_at=THEN).venues.values()] == ["H-1", "H-1", None]


def test_the_neutral_of_a_waiting_measuring_goes_to_its_film(transactional_db: None) -> None:
    executor = MigrationExecutor(connection)
    newest = executor.loader.graph.leaf_nodes()
    before = [("store", "0017_films_and_their_queue")]
    executor.migrate(before)
    of_then = executor.loader.project_state(before).apps
    tables = {n: of_then.get_model("store", n) for n in ("Organisation", "Run", "Recording", "RigFile", "MeasureJob")}
    owner = tables["Organisation"].objects.create(code="ORG", name="x")
    run = tables["Run"].objects.create(organisation_id=owner.id, code="RUN-1", day=DAY)
    film = {"organisation_id": owner.id, "run": run, "kind": "film"}
    for code in ("REC-1", "REC-2"):
        tables["Recording"].objects.create(code=code, file=f"{code}.mp4", **film)
    rig = tables["RigFile"].objects.create(organisation_id=owner.id, name="rig", content="", day=DAY, by="x", at=THEN)
    job = {"organisation_id": owner.id, "run": run, "rig": rig, "by": "x", "at": THEN}
    tables["MeasureJob"].objects.create(recordings=["REC-2"], neutral_from_s=0.5, neutral_to_s=2.0, **job)
    MigrationExecutor(connection).migrate(newest)
    recordings = load_programme(DAY).recordings

    assert recordings["REC-2"].marked_s == {"neutral": (0.5, 2.0)}
    assert recordings["REC-1"].marked_s == {}
