"""A database in a file for the tests of the store, and new stores for tests that start processes of their own."""

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import connections

ROOT = Path(__file__).parents[2]
DATABASE_URL = os.environ.get("DATABASE_URL", "")
LONGEST_WAIT_S = 120


@dataclass(frozen=True)
class NewStore:
    """A store that nobody has opened yet."""

    folder: Path
    database_url: str

    def start(self, what: str, *arguments: object) -> subprocess.Popen[str]:
        """Start one of the programs of ``processes.py`` on this store."""
        environment = os.environ | {"ONTHREE_FOLDER": str(self.folder), "DATABASE_URL": self.database_url}
        environment.pop("DJANGO_SETTINGS_MODULE", None)
        command = [sys.executable, "-W", "error", "-m", "tests.records.processes", what, *map(str, arguments)]
        return subprocess.Popen(
            command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )

    def run(self, what: str, *arguments: object) -> str:
        """What one of the programs of ``processes.py`` printed; it must end well."""
        return ended(self.start(what, *arguments))


def ended(process: subprocess.Popen[str]) -> str:
    """What a process printed, once it has ended well."""
    printed, complaints = process.communicate(timeout=LONGEST_WAIT_S)

    assert process.returncode == 0, complaints
    return printed


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Test on a file rather than in memory, as people use it."""
    if not DATABASE_URL:
        connections.settings["default"]["TEST"]["NAME"] = str(tmp_path_factory.mktemp("store") / "test.sqlite3")


@pytest.fixture
def new_store(tmp_path: Path) -> Iterator[NewStore]:
    """An empty folder, or a new database on the server under test."""
    if not DATABASE_URL:
        yield NewStore(tmp_path, "")
        return
    import psycopg

    name = f"onthree_{uuid4().hex}"
    with psycopg.connect(DATABASE_URL, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        yield NewStore(tmp_path, f"{DATABASE_URL.rpartition('/')[0]}/{name}")
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")
