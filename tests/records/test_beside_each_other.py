"""Several processes on one store, and one that is killed: nothing is lost, nothing is half there, nobody is refused."""

import random
import time

import pytest

from tests.records.conftest import DATABASE_URL, NewStore, ended


def test_a_process_killed_while_saving_leaves_nothing_half_saved(new_store: NewStore) -> None:
    """Killed at random moments of a big saving; a killed process is no power cut, which is not tested here."""
    chance = random.Random(20261127)
    saved = 1
    new_store.run("save_generations", 1, 1)
    for _ in range(6):
        process = new_store.start("save_generations", saved + 1, saved + 50)
        assert process.stdout
        for _ in range(2 * chance.randint(0, 1) + 1):
            line = process.stdout.readline()
        assert line.startswith("saving")
        time.sleep(chance.uniform(0, 0.5))
        process.kill()
        printed = line + process.communicate()[0]
        acknowledged = [int(line.split()[1]) for line in printed.splitlines() if line.startswith("saved")]
        found = int(new_store.run("check"))

        assert found >= max([saved, *acknowledged])
        saved = found


def test_two_processes_that_save_at_once_lose_nothing(new_store: NewStore) -> None:
    processes = [new_store.start("save_own", name, 15) for name in ("LEFT", "RIGHT")]
    for process in processes:
        ended(process)

    own = {f"{name}-{n}" for name in ("LEFT", "RIGHT") for n in range(15)}
    assert set(new_store.run("list").split()) == own | {"T1-12", "T1-52"}


def test_whoever_reads_while_another_saves_sees_one_moment(new_store: NewStore) -> None:
    reader = new_store.start("read_generations", 8)
    new_store.run("save_generations", 1, 8)

    assert int(ended(reader)) >= 2


def test_processes_that_open_a_new_store_at_once_wait_for_each_other(new_store: NewStore) -> None:
    for process in [new_store.start("open") for _ in range(4)]:
        ended(process)

    assert [path.name for path in new_store.folder.glob("secret*")] == ["secret-key"]
    assert (new_store.folder / "secret-key").stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(bool(DATABASE_URL), reason="about the embedded file")
def test_the_file_is_for_the_eyes_of_its_owner(new_store: NewStore) -> None:
    new_store.run("open")

    assert (new_store.folder / "onthree.sqlite3").stat().st_mode & 0o777 == 0o600
