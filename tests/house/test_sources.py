"""Every fact names a listed source and the place in it, and every listed source is used."""

import csv
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from onthree.readiness.rules import RULES
from tests.house.tree import DATA, PACKAGE, ROOT, data_tables, shown

NO_SOURCE = "common-practice"
LISTED = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))


def csv_rows() -> Iterator[tuple[Path, dict[str, str]]]:
    """Every row of the data tables in CSV form; lines that start with ``#`` are their header comment."""
    for path in sorted(DATA.rglob("*.csv")):
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        yield from ((path, row) for row in csv.DictReader(lines))


def cited() -> Iterator[tuple[str, str, str]]:
    """Each (file, source key, place in the source) of the bundled data."""
    for path, fact in [*data_tables(), *csv_rows()]:
        yield shown(path), fact.get("source") or "", fact.get("where") or ""


def test_cited_sources_are_listed() -> None:
    missing = sorted({f"{place}: {key!r}" for place, key, _ in cited() if key not in LISTED})

    assert missing == [], "list them in data/sources.toml"


def test_sources_of_rules_are_listed() -> None:
    assert [rule.id for rule in RULES if rule.source not in LISTED] == []


def test_a_source_is_cited_with_the_place_in_it() -> None:
    nowhere = sorted({f"{place}: {key}" for place, key, where in cited() if key != NO_SOURCE and not where})

    assert nowhere == [], 'add where = "<page, table or abstract>"'


def test_listed_sources_are_used() -> None:
    files = [*PACKAGE.rglob("*.py"), *(ROOT / "tests" / "published").rglob("*.py")]
    quoted = {key for path in files for key in re.findall(r'"([\w-]+)"', path.read_text(encoding="utf-8"))}
    cases = {path.stem for path in (ROOT / "tests" / "published" / "cases").glob("*.csv")}

    assert sorted(set(LISTED) - quoted - cases - {key for _, key, _ in cited()}) == []


def test_sources_say_what_they_are_and_whether_they_were_read() -> None:
    allowed = {"citation": str, "read": bool, "note": str}
    wrong = [
        key
        for key, entry in LISTED.items()
        if not {"citation", "read"} <= entry.keys() <= allowed.keys()
        or not all(isinstance(value, allowed[name]) and value != "" for name, value in entry.items())
    ]

    assert wrong == [], 'expected: citation = "...", read = true or false, and if needed note = "..."'


def test_printed_tables_are_named_after_their_source() -> None:
    cases = [path.name for path in (ROOT / "tests" / "published" / "cases").glob("*.csv") if path.stem not in LISTED]

    assert cases == []
