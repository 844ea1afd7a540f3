"""The worker that measures films one after the other: one for each store, beside the server or alone."""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Thread
from typing import Any

from filelock import FileLock, Timeout

LOCK_FILE = "worker.lock"
LOOK_EVERY_S = 1.0
_LOCK_KEY = 7103304  # any number; names the lock of the worker on a PostgreSQL server
_PARENT = "ONTHREE_WORKER_OF"


def work(*, is_batch: bool = False, on_wait: Callable[[], None] | None = None) -> None:
    """Measure what waits until Ctrl-C, or in a batch until nothing waits; the store must be open.

    Waits while another worker of the same store is at work, and says so once to ``on_wait``. What a worker that was
    killed left half done begins again. Started by a server it ends with it. Raises StoreError where a store is gone.
    """
    from django.db import DatabaseError

    from onthree.store.place import StoreError

    if parent := os.environ.pop(_PARENT, None):
        Thread(target=_end_with, args=(int(parent),), daemon=True).start()
    try:
        with _only_worker(on_wait):
            reclaim()
            _worker(is_batch).run()
    except DatabaseError as error:
        raise StoreError(_gone(str(error).strip())) from error


def reclaim() -> int:
    """What a worker that ended left half done waits again; only while no other worker is at work. How many."""
    from django_tasks_db.models import DBTaskResult

    from onthree.store.film_models import DRAWING, MEASURING, WAITING
    from onthree.store.models import MeasureJob

    MeasureJob.objects.filter(state__in=(MEASURING, DRAWING)).update(state=WAITING)
    return int(DBTaskResult.objects.running().update(status="READY", started_at=None))


@contextmanager
def beside() -> Iterator[None]:
    """A worker as a process of its own while a server answers; the store must be open.

    What it was measuring when it ended begins again with the next one.
    """
    command = [sys.executable, "-c", "from onthree.cli.commands import main; main()", "work"]
    process = subprocess.Popen(
        command,
        env=os.environ | {_PARENT: str(os.getpid())},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        start_new_session=True,  # Ctrl-C is for the server, which then ends the worker
    )
    try:
        yield
    finally:
        process.kill()
        process.wait()


def _worker(is_batch: bool) -> Any:
    from django_tasks_db.management.commands.db_worker import Worker

    return Worker(
        queue_names=["default"],
        interval=LOOK_EVERY_S,
        batch=is_batch,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id=f"onthree-{os.getpid()}",
        excluded_queue_names=[],
    )


def _gone(problem: str) -> str:
    """What to say of a store that can no longer be used, and what to do."""
    from django.conf import settings

    why = problem.splitlines()[0]
    return (
        f"the store in {settings.FOLDER} cannot be used any more ({why}): nothing is measured; "
        "see that it is there, then start onthree work again"
    )


def _end_with(parent: int) -> None:
    """End this process at once when its parent is gone: a job begins again from the start with the next worker."""
    while os.getppid() == parent:
        time.sleep(LOOK_EVERY_S)
    os._exit(0)


@contextmanager
def _only_worker(on_wait: Callable[[], None] | None) -> Iterator[None]:
    from django.conf import settings
    from django.db import connection

    has_told = False
    with_lock = _postgres_lock if connection.vendor == "postgresql" else _file_lock
    while True:
        with with_lock(str(settings.FOLDER / LOCK_FILE)) as is_held:
            if is_held:
                yield
                return
        if on_wait and not has_told:
            on_wait()
        has_told = True
        time.sleep(LOOK_EVERY_S)


@contextmanager
def _file_lock(path: str) -> Iterator[bool]:
    lock = FileLock(path, timeout=0)
    try:
        lock.acquire()
    except Timeout:
        yield False
        return
    try:
        yield True
    finally:
        lock.release()


@contextmanager
def _postgres_lock(path: str) -> Iterator[bool]:
    """A lock that the server gives back when this process ends."""
    import psycopg
    from django.db import connection

    given = connection.get_connection_params()
    names = ("host", "port", "user", "password", "dbname")
    with psycopg.connect(**{name: given[name] for name in names if given.get(name)}, autocommit=True) as held:
        row = held.execute("SELECT pg_try_advisory_lock(%s)", [_LOCK_KEY]).fetchone()
        yield bool(row and row[0])
