"""The pages made from the bundled data say what the data say."""

from pathlib import Path

import pytest

from scripts.build_docs import pages
from tests.house.tree import DATA, DOCS, shown

MADE = pages()


@pytest.mark.parametrize("page", MADE, ids=shown)
def test_made_pages_are_current(page: Path) -> None:
    assert page.read_text(encoding="utf-8") == MADE[page], "run .venv/bin/python scripts/build_docs.py"


def test_the_worked_technique_file_is_the_real_one() -> None:
    written = (DOCS / "how-to" / "technique-file.md").read_text(encoding="utf-8")
    real = (DATA / "techniques" / "device_to_cot.toml").read_text(encoding="utf-8")

    assert f"```toml\n{real}```" in written
