"""Named situations, written in the words of the sheets: what each rule finds, and what it spares.

Each scenario starts from one clean invented game (tests/invented.py): it changes cells of its records by column header
(``change.<code>``), adds rows to a sheet (``add.<sheet title>``), removes records (``remove``), and lists everything
the rules must find, as "rule subject". Nothing else may be found.
"""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from onthree.programme.fields import fields_of
from onthree.programme.programme import Scope, missing_references, programme_of
from onthree.programme.records import SHEETS, Record
from onthree.readiness.rules import RULES, findings
from onthree.techniques.library import bundled_library
from onthree.transfers.options import engine_for
from onthree.workbook.values import read_value
from tests.invented import DAY, clean_records

FOLDER = Path(__file__).parent / "rules"
SCENARIOS = [
    (file.stem, scenario)
    for file in sorted(FOLDER.glob("*.toml"))
    for scenario in tomllib.loads(file.read_text(encoding="utf-8"))["scenario"]
]


def records_of(scenario: dict[str, Any]) -> list[Record]:
    changes: dict[str, dict[str, str]] = scenario.get("change", {})
    removed: set[str] = set(scenario.get("remove", ()))
    assert {*changes, *removed} <= {record.code for record in clean_records()}, "names a record that is not there"
    kept = [record for record in clean_records() if record.code not in removed]
    rows: dict[str, list[dict[str, str]]] = scenario.get("add", {})
    added = [SHEETS[title](**_read(SHEETS[title], cells)) for title, sheet in rows.items() for cells in sheet]
    return [*(replace(record, **_read(type(record), changes.get(record.code, {}))) for record in kept), *added]


def _read(kind: type[Record], cells: dict[str, str]) -> dict[str, Any]:
    described = {field.header: field for field in fields_of(kind)}
    return {described[header].name: read_value(described[header], text) for header, text in cells.items()}


def found_in(scenario: dict[str, Any]) -> list[str]:
    programme = programme_of(records_of(scenario), DAY, Scope())
    assert not missing_references(programme)
    engine = engine_for(programme, programme.events["E-1"], bundled_library())
    return sorted(f"{finding.rule} {finding.subject}" for finding in findings(engine))


@pytest.mark.parametrize(
    "scenario", [pytest.param(scenario, id=f"{rule}: {scenario['title']}") for rule, scenario in SCENARIOS]
)
def test_exactly_what_the_scenario_expects_is_found(scenario: dict[str, Any]) -> None:
    assert found_in(scenario) == sorted(scenario["expect"])


@pytest.mark.parametrize("rule", [rule.id for rule in RULES])
def test_every_rule_has_a_scenario_that_fires_it_and_one_that_spares_it(rule: str) -> None:
    own = [scenario for name, scenario in SCENARIOS if name == rule]
    fired = [any(line.split()[0] == rule for line in scenario["expect"]) for scenario in own]

    assert True in fired, "no scenario fires it"
    assert False in fired, "no scenario spares it"
