"""Opens the store once per process, brings its tables up to date, and gives reading and saving their transactions."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import django
from django.conf import ENVIRONMENT_VARIABLE, settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.db import DatabaseError, OperationalError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from filelock import FileLock, Timeout

from onthree.store.place import DEFAULT_FOLDER, SECRET_NAME, StoreError, database_at, shown

_LOCK_KEY = 7103303  # any number; names the lock of this program on a PostgreSQL server
_LONGEST_WAIT_S = 120.0


def open_store(folder: Path | None = None, database_url: str | None = None) -> None:
    """Set up Django for this process and bring the tables up to date; calling it again is free.

    Without a folder ONTHREE_FOLDER or ``./onthree-data`` is used, without an address DATABASE_URL or a file in the
    folder. Processes that open at the same time wait for each other. Raises StoreError: no access, an unreadable
    address, tables of a newer version, or another store already open in this process.
    """
    folder = (folder or Path(os.environ.get("ONTHREE_FOLDER") or DEFAULT_FOLDER)).expanduser().absolute()
    database_url = database_url or os.environ.get("DATABASE_URL") or None
    place = database_at(folder, database_url)
    if settings.configured and (folder, database_url) != (settings.FOLDER, settings.DATABASE_URL):
        raise StoreError(f"this process has the store in {settings.FOLDER} open: start another one for {shown(place)}")
    try:
        _prepare(folder, database_url)
        with _one_process_at_a_time():
            _bring_tables_up_to_date()
    except StoreError:
        raise
    except Timeout as error:
        raise StoreError(f"{error.lock_file} is held by another process: end that process and try again") from error
    except (OSError, DatabaseError, ImproperlyConfigured) as error:
        raise StoreError(_cannot_open(place, error)) from error


@contextmanager
def one_moment() -> Iterator[None]:
    """Queries inside see the store as it is at one moment, and wait for nobody who is saving."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with _deferred(), transaction.atomic():
            yield


@contextmanager
def one_saving() -> Iterator[None]:
    """All of what is saved inside is kept, or nothing; a second process that saves waits until the first is done.

    Raises StoreError where the store fails: a full disk, a lost connection, another process that saves for too long.
    """
    try:
        with transaction.atomic():
            if connection.vendor == "postgresql":
                with connection.cursor() as cursor:
                    cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK_KEY])
            yield
    except OperationalError as error:
        place = shown(connection.settings_dict)
        raise StoreError(f"nothing was saved in {place}: {_first_line(error)}: put that right and try again") from error


@contextmanager
def _deferred() -> Iterator[None]:
    """Transactions of SQLite that only read: they take no lock that a writer would wait for."""
    connection.ensure_connection()
    usual: Any = connection.transaction_mode  # type: ignore[attr-defined]
    connection.transaction_mode = "DEFERRED"  # type: ignore[attr-defined]
    try:
        yield
    finally:
        connection.transaction_mode = usual  # type: ignore[attr-defined]


def _prepare(folder: Path, database_url: str | None) -> None:
    if settings.configured:
        return
    os.environ["ONTHREE_FOLDER"] = str(folder)
    if database_url:
        os.environ["DATABASE_URL"] = database_url
    os.environ[ENVIRONMENT_VARIABLE] = "onthree.store.settings"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    _make_secret(folder / SECRET_NAME)
    django.setup()
    if connection.vendor == "sqlite":
        os.close(os.open(connection.settings_dict["NAME"], os.O_RDWR | os.O_CREAT, 0o600))  # for the owner's eyes only


def _make_secret(path: Path) -> None:
    """Write a secret that appears under its name only when it is complete; the first process to come wins."""
    if path.exists():
        return
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(48))
    with suppress(FileExistsError):
        os.link(draft, path)
    draft.unlink()


@contextmanager
def _one_process_at_a_time() -> Iterator[None]:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(%s)", [_LOCK_KEY])
            try:
                yield
            finally:
                cursor.execute("SELECT pg_advisory_unlock(%s)", [_LOCK_KEY])
    elif connection.is_in_memory_db():  # type: ignore[attr-defined]
        yield  # nobody else can reach it
    else:
        with FileLock(f"{connection.settings_dict['NAME']}.lock", timeout=_LONGEST_WAIT_S):
            yield


def _bring_tables_up_to_date() -> None:
    executor = MigrationExecutor(connection)
    known = executor.loader.disk_migrations
    newer = [name for app, name in executor.loader.applied_migrations if app == "store" and (app, name) not in known]
    if newer:
        raise StoreError(
            f"{shown(connection.settings_dict)} was written by a newer version of onthree ({', '.join(newer)}): "
            "install that version, or open another folder"
        )
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", verbosity=0, interactive=False)


def _cannot_open(place: dict[str, Any], error: Exception) -> str:
    if isinstance(error, ImproperlyConfigured):
        return f"{error}: install the driver with: pip install 'onthree[postgres]'"
    is_file = place["ENGINE"] == "django.db.backends.sqlite3"
    check = "the folder and who may write to it" if is_file else "that the server runs, and the login"
    return f"cannot open the store {shown(place)}: {_first_line(error)}: check {check}"


def _first_line(error: Exception) -> str:
    return (str(error).strip().splitlines() or [type(error).__name__])[0]
