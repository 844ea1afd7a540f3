"""The worker of the queue: one at a time for a store, whatever becomes of it, and calm where the store goes away."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.db import connection
from django.test import Client

from onthree.actions import film_queue
from onthree.store.models import MeasureJob
from onthree.store.place import FILE_NAME
from tests.web.conftest import DEMO_TODAY
from tests.web.films import RIG, sent, started
from tests.web.test_serving import COMMAND, ENVIRONMENT, LONGEST_WAIT_S

pytestmark = pytest.mark.django_db(transaction=True)
JOBS = 3
HOLDER = """
import time
from onthree.actions.opening import open_programme_store
open_programme_store()
from onthree.actions.working import _only_worker
with _only_worker(None):
    print("at work", flush=True)
    time.sleep(600)
"""


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    settings.FOLDER = tmp_path
    return tmp_path


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """That of another process which opens the same store."""
    there = connection.settings_dict
    if connection.vendor == "sqlite":
        address = f"sqlite:////{str(there['NAME']).lstrip('/')}"
    else:
        login = f"{quote(there['USER'])}:{quote(there['PASSWORD'])}"
        address = f"postgres://{login}@{there['HOST']}:{there['PORT']}/{there['NAME']}"
    return ENVIRONMENT | {"ONTHREE_FOLDER": str(tmp_path), "DATABASE_URL": address, "PYTHONUNBUFFERED": "1"}


@pytest.fixture
def holder(environment: dict[str, str]) -> Iterator[subprocess.Popen[str]]:
    """A worker that is busy with a long film."""
    process = subprocess.Popen([sys.executable, "-c", HOLDER], env=environment, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    assert process.stdout.readline() == "at work\n"
    yield process
    process.kill()
    process.communicate()


def queued(client: Client, folder: Path) -> None:
    """Films that wait, and end at once: their file is gone."""
    run = started(client)
    recording = sent(client, run)
    rig = film_queue.keep_rig("rig.toml", RIG.read_bytes(), DEMO_TODAY, "test")
    for _ in range(JOBS):
        film_queue.put_in(film_queue.Wanted(run, (recording,), rig), "test")
    shutil.rmtree(folder / "films")


def test_two_workers_take_no_film_while_a_third_is_at_work_and_each_film_once_when_it_was_killed(
    conference: Client, store_folder: Path, environment: dict[str, str], holder: subprocess.Popen[str]
) -> None:
    queued(conference, store_folder)
    command = [COMMAND, "work", "--until-done"]
    workers = [subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    for worker in workers:
        assert worker.stdout
        assert worker.stdout.readline() == "another worker is at work: waiting\n"
    assert set(MeasureJob.objects.values_list("state", "attempts")) == {("waiting", 0)}

    holder.kill()
    told = [worker.communicate(timeout=LONGEST_WAIT_S)[0] for worker in workers]

    assert ([worker.returncode for worker in workers], told) == ([0, 0], ["", ""])
    assert list(MeasureJob.objects.values_list("state", "attempts")) == [("failed", 1)] * JOBS


@pytest.mark.skipif(bool(os.environ.get("DATABASE_URL")), reason="the store is a file in a folder here")
def test_a_worker_whose_store_goes_away_ends_with_one_sentence(tmp_path: Path) -> None:
    folder = tmp_path / "store"
    folder.mkdir()
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(folder / FILE_NAME)])  # a store as it is, which opens quickly
    command = [COMMAND, "work", "--folder", str(folder)]
    worker = subprocess.Popen(command, env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        while not (folder / "worker.lock").exists():
            assert worker.poll() is None, worker.communicate()[1]
            time.sleep(0.1)
        shutil.rmtree(folder)
        said, complaints = worker.communicate(timeout=LONGEST_WAIT_S)
    finally:
        worker.kill()

    assert (worker.returncode, said) == (2, "")
    (line,) = complaints.splitlines()
    assert line.startswith(f"the store in {folder} cannot be used any more (")
    assert line.endswith("see that it is there, then start onthree work again")
