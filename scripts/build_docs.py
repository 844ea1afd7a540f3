"""Writes what is made from the bundled data: docs/sources.md, docs/parameters.md and the schema of technique files.

Run it after a change to src/onthree/data: ``.venv/bin/python scripts/build_docs.py``.
"""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from onthree.readiness.wording import SOURCES
from onthree.sources import table
from onthree.techniques.library import technique_schema

ROOT = Path(__file__).parents[1]
DATA = ROOT / "src" / "onthree" / "data"
DOCS = ROOT / "docs"
NO_SOURCE = "common-practice"
MADE = "<!-- Made by scripts/build_docs.py from {0}: change that, then run the script again. -->"


def pages() -> dict[Path, str]:
    """Each page that is made, and its text."""
    schema = json.dumps(technique_schema(), indent=2, ensure_ascii=False) + "\n"
    return {
        DOCS / "sources.md": sources_page(),
        DOCS / "parameters.md": parameters_page(),
        DATA / "schema" / "technique.schema.json": schema,
    }


def sources_page() -> str:
    """Every source with whether it was read, and who cites it."""
    listed = read_toml(DATA / "sources.toml")
    cited = citations()
    lines = [
        MADE.format("src/onthree/data/sources.toml"),
        "# Sources",
        "",
        "Every fact in the techniques, life-first pages, parameters, tables, rules and checks names one of these keys.",
        "",
        "- **read**: the value was read there, often in the abstract only; the note says what was read.",
        "- **from memory**: nobody looked it up for this version. Every output that shows the source says so.",
        "",
        "Where a fact has no source at all, its key is `common-practice`.",
    ]
    for key, entry in listed.items():
        state = "no source" if key == NO_SOURCE else "read" if entry["read"] else "from memory, not checked"
        lines += ["", f"## {key}", "", f"{entry['citation']}.", "", f"- State: **{state}**."]
        if "note" in entry:
            lines.append(f"- Note: {entry['note']}")
        lines.append(f"- Cited by: {', '.join(sorted(cited.get(key, ())))}.")
    return "\n".join(lines) + "\n"


def citations() -> dict[str, set[str]]:
    """Source key to the techniques, life-first pages, parameters, tables, rules and published checks that cite it."""
    found: dict[str, set[str]] = {}
    kinds = {"techniques": "technique", "parameters": "parameter", "life_first": "life-first page"}
    for folder, kind in kinds.items():
        for path in sorted((DATA / folder).glob("*.toml")):
            for key in keys_in(read_toml(path)):
                found.setdefault(key, set()).add(f"{kind} `{path.stem}`")
    for path in sorted((DATA / "tables").glob("*.csv")):
        for row in table(path.stem):
            found.setdefault(row["source"], set()).add(f"table `{path.stem}`")
    for rule, key in SOURCES.items():
        found.setdefault(key, set()).add(f"rule [`{rule}`](rules/{rule}.md)")
    for path in sorted((ROOT / "tests" / "published").glob("test_*.py")):
        for key in re.findall(r'mark\.published\(\s*"([\w-]+)"', path.read_text(encoding="utf-8")):
            found.setdefault(key, set()).add(f"check `{path.stem}`")
    return found


def keys_in(value: Any) -> Iterator[str]:
    """Every source key in a TOML table and the tables in it."""
    if isinstance(value, Mapping):
        if value.get("source"):
            yield value["source"]
        value = list(value.values())
    if isinstance(value, list):
        for inner in value:
            yield from keys_in(inner)


def parameters_page() -> str:
    """Every parameter with its values, from when they hold, and where they come from."""
    lines = [
        MADE.format("src/onthree/data/parameters"),
        "# Parameters",
        "",
        "Numbers the program uses that are not facts about your own people and gear. Each has a unit, a source and",
        "the day from which it holds: a plan of last year can be judged by last year's value.",
        "A **guess** has no source; replace it by what your own rehearsals and the maker's manual say.",
    ]
    for path in sorted((DATA / "parameters").glob("*.toml")):
        described = read_toml(path)
        lines += ["", f"## {path.stem}", "", described["description"], "", f"Unit: {described['unit']}."]
        for entry in described["value"]:
            lines += ["", *value_lines(entry)]
    return "\n".join(lines) + "\n"


def value_lines(entry: Mapping[str, Any]) -> Iterator[str]:
    """One dated value of a parameter."""
    where = f", {entry['where']}" if entry.get("where") else ""
    guess = " **Guess.**" if entry.get("guess") else ""
    source = f"Source: [{entry['source']}](sources.md#{entry['source']}){where}.{guess}"
    rows = entry["value"] if isinstance(entry["value"], list) else [entry["value"]]
    if not isinstance(rows[0], dict):
        yield f"- From {entry['from']}: **{', '.join(map(str, rows))}**. {source}"
        return
    headers = list(rows[0])
    yield f"From {entry['from']}. {source}"
    yield ""
    yield f"| {' | '.join(header.replace('_', ' ') for header in headers)} |"
    yield f"|{' --- |' * len(headers)}"
    for row in rows:
        yield f"| {' | '.join(str(row[header]) or 'no bound' for header in headers)} |"


def read_toml(path: Path) -> dict[str, Any]:
    """A TOML file."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


if __name__ == "__main__":
    for page, text in pages().items():
        page.write_text(text, encoding="utf-8")
        print(f"written: {page.relative_to(ROOT)}")
