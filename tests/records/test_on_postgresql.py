"""Every test of the store once more, on PostgreSQL."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

ROOT = Path(__file__).parents[2]
ALSO = (
    "tests/web/test_api.py",
    "tests/web/test_film_queue.py",
    "tests/web/test_uploads.py",
    "tests/web/test_working.py",
)
"""Tests that lean on locks and unique keys: what is sent arrives once, films come in pieces, one worker takes one."""


@pytest.mark.postgres
def test_the_store_passes_its_tests_on_postgresql() -> None:
    environment = os.environ | {"DATABASE_URL": os.environ["ONTHREE_TEST_DATABASE_URL"]}
    command = [sys.executable, "-m", "pytest", "tests/records", *ALSO, "-q", "-m", "not postgres"]
    command += ["-p", "no:cacheprovider"]
    result = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)

    assert result.returncode == 0, result.stdout + result.stderr


def test_the_database_is_the_one_asked_for() -> None:
    assert connection.vendor == ("postgresql" if os.environ.get("DATABASE_URL") else "sqlite")
