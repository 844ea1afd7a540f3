"""Writes what is made from the bundled data: sources, parameters, published evidence, the schema of technique files.

Run it after a change to src/onthree/data: ``.venv/bin/python scripts/build_docs.py``.
"""

import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from onthree.evidence.contrast import Contrast, bundled_contrasts, evidence_hash
from onthree.evidence.lines import ContrastLine, HowMeasured, ValueLine, contrast_line, value_line
from onthree.evidence.measured import QUANTITY_WORDS
from onthree.evidence.order import bundled_order
from onthree.evidence.values import published_values
from onthree.readiness.wording import SOURCES
from onthree.sources import table
from onthree.techniques.library import bundled_library, technique_schema
from onthree.transfers.evidence_used import EvidenceUsed, worn_in_words

ROOT = Path(__file__).parents[1]
DATA = ROOT / "src" / "onthree" / "data"
DOCS = ROOT / "docs"
NO_SOURCE = "common-practice"
MADE = "<!-- Made by scripts/build_docs.py from {0}: change that, then run the script again. -->"

INTRODUCTION = """\
# Published evidence

Every published value and contrast that comes with onthree, as printed. [How they are used](methods/evidence.md).
No motion is called safe: no accepted threshold exists. Local protocol, medical direction and the maker's manual come
first; nothing here is clinical advice. What each line is not stands in its last column; mostly only an abstract was
read, so "not reported" means not in what was read."""
WHO = ("Equipment", "People; stance", "Subjects")
ADDRESS = ("As printed", "Source", "What it is not")
CONTRAST_HEADER = ("Kind", "Against", "Flexion", "Lateral", "Axial", "Measured", *WHO, *ADDRESS)
VALUE_HEADER = ("Handling", "Condition", "Plane", "Mean", "Spread", "Metric", *WHO, "Instrument", *ADDRESS)


def pages() -> dict[Path, str]:
    """Each page that is made, and its text."""
    schema = json.dumps(technique_schema(), indent=2, ensure_ascii=False) + "\n"
    return {
        DOCS / "sources.md": sources_page(),
        DOCS / "parameters.md": parameters_page(),
        DOCS / "evidence.md": evidence_page(),
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


def evidence_page() -> str:
    """Every published value and contrast, its source, and what it is not."""
    made = MADE.format("src/onthree/data/evidence and tables/evidence_values.csv")
    parts = [f"{made}\n{INTRODUCTION}", f"Hash of this evidence: `{evidence_hash()}`."]
    used = EvidenceUsed(bundled_library(), bundled_order())
    parts += ["## Kinds of handling", *kinds(used), "## What drives a ranking", *drives(used)]
    parts += [
        "## Contrasts",
        "What was found of the first kind against the second.",
        markdown_table(CONTRAST_HEADER, map(contrast_cells, map(contrast_line, bundled_contrasts()))),
    ]
    parts += ["## Sources that disagree", *disagreements(used), "## Values"]
    for quantity, words in QUANTITY_WORDS.items():
        if found := [value for value in published_values() if value.measured_quantity == quantity]:
            parts += [
                f"### {words[0].upper()}{words[1:]}",
                markdown_table(VALUE_HEADER, map(value_cells, map(value_line, found))),
            ]
    return "\n\n".join(parts) + "\n"


def kinds(used: EvidenceUsed) -> Iterator[str]:
    """The words that contrasts use, and those of the techniques: a technique is ordered only by the same words."""
    yield "A technique names its kind in `handling.evidence`. The same word, the same evidence; another word, none."
    rows = ((each.kind, each.evidence, ", ".join(f"`{one.id}`" for one in each.techniques)) for each in used.kinds)
    yield markdown_table(("Kind", "Evidence", "Techniques"), rows)


def drives(used: EvidenceUsed) -> Iterator[str]:
    """The contrasts that can put one option before another."""
    yield "Kinds that techniques here have and the evidence orders. Nothing else here puts one option before another."
    rows = (
        (pair.lower, pair.higher, worn_in_words(pair.worn), ", ".join(linked(each.source) for each in pair.contrasts))
        for pair in used.driving
    )
    yield markdown_table(("Kind", "Before", "Where", "By"), rows)


def contrast_cells(line: ContrastLine) -> tuple[str, ...]:
    """The cells of one contrast."""
    return (
        line.kind,
        line.against,
        *line.planes,
        line.how.measured,
        *who(line.how),
        line.how.printed,
        *address(line.how),
    )


def value_cells(line: ValueLine) -> tuple[str, ...]:
    """The cells of one value."""
    measured = line.handling, line.condition, line.plane, line.mean, line.spread, line.metric
    return *measured, *who(line.how), line.instrument, line.how.printed, *address(line.how)


def who(how: HowMeasured) -> tuple[str, str, str]:
    """Equipment, people and stance, subjects."""
    return how.worn, how.people, how.sample


def address(how: HowMeasured) -> tuple[str, str]:
    """Source with the place in it, and what the line is not."""
    return f"{linked(how.source)}, {how.where}", " ".join(how.is_not)


def disagreements(used: EvidenceUsed) -> Iterator[str]:
    """What stays without order because sources say less and more."""
    yield "These stay without order; who directs the care decides."
    yield "\n".join(
        f"- **{each.one.kind}** or **{each.other.kind}**: "
        f"less for the first in {names(each.for_one)}, less for the second in {names(each.for_other)}."
        for each in used.disagreements
    )


def names(found: Iterable[Contrast]) -> str:
    """The sources of contrasts, linked."""
    return ", ".join(linked(contrast.source) for contrast in found)


def linked(key: str) -> str:
    """A source, linked."""
    return f"[{key}](sources.md#{key})"


def markdown_table(header: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table in Markdown."""
    titles = tuple(header)
    lines = [titles, ("---",) * len(titles), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |" for line in lines)


def read_toml(path: Path) -> dict[str, Any]:
    """A TOML file."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


if __name__ == "__main__":
    for page, text in pages().items():
        page.write_text(text, encoding="utf-8")
        print(f"written: {page.relative_to(ROOT)}")
