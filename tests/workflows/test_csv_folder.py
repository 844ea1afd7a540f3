"""A folder of CSV files as a person uses it: exported, edited, imported, and refused whole when a cell is wrong."""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from onthree.demo.conference import conference_records
from onthree.programme.records import SHEETS

ONTHREE = Path(sys.executable).with_name("onthree")


def onthree(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a command on the store in a folder."""
    return subprocess.run(
        [ONTHREE, *words, "--folder", str(folder)], capture_output=True, text=True, encoding="utf-8", check=False
    )


def as_json(*words: str, folder: Path) -> dict[str, Any]:
    """What a command answers in JSON."""
    result = onthree(*words, "--json", folder=folder)
    assert result.returncode == 0, result.stderr
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def edited(path: Path, code: str, header: str, cell: str) -> None:
    """Change one cell of a CSV file, and save it with semicolons, as some programs do."""
    text = path.read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";" if text.startswith("Code;") else ","))
    for row in rows:
        if row["Code"] == code:
            row[header] = cell
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0], delimiter=";")
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture
def sheets(tmp_path: Path) -> Path:
    """The invented conference in a store, and exported as CSV files."""
    result = onthree("demo", "--no-serve", folder=tmp_path / "store")
    assert result.returncode == 0, result.stderr
    assert as_json("export", str(tmp_path / "sheets"), "--csv", folder=tmp_path / "store")["written"]
    return tmp_path / "sheets"


def test_a_folder_goes_there_and_back(sheets: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    assert sorted(path.name for path in sheets.iterdir()) == sorted(f"{title}.csv" for title in SHEETS)
    again = as_json("import", str(sheets), "--preview", folder=store)
    other = as_json("import", str(sheets), folder=tmp_path / "other")
    assert (again["added_count"], again["changed_count"], again["kept_count"]) == (0, 0, 0)
    assert other["added_count"] == len(conference_records())

    edited(sheets / "Athletes.csv", "T1-52", "Body mass", "999 kg")
    refused = onthree("import", str(sheets), folder=store)
    assert refused.returncode == 2
    assert refused.stderr.splitlines()[0] == "sheets: 1 problem, nothing was imported"
    assert refused.stderr.splitlines()[1].startswith("Athletes.csv, row ")

    edited(sheets / "Athletes.csv", "T1-52", "Body mass", "150 kg")
    alone = as_json("import", str(sheets / "Athletes.csv"), "--preview", folder=store)
    saved = as_json("import", str(sheets), folder=store)
    assert alone["changes"] == saved["changes"]
    assert [change.rpartition(": ")[0] for change in saved["changes"]] == ["changed: Athletes, T1-52, Body mass"]

    (sheets / "notes.txt").write_text("kept", encoding="utf-8")
    (sheets / "._Teams.csv").write_bytes(b"\0")
    assert onthree("export", str(sheets), "--csv", folder=store).returncode == 0
    assert (sheets / "notes.txt").read_text(encoding="utf-8") == "kept"
    assert "150 kg" in (sheets / "Athletes.csv").read_text(encoding="utf-8")
    assert as_json("import", str(sheets), "--preview", folder=store)["changed_count"] == 0


def test_blank_sheets_and_a_folder_without_any(tmp_path: Path) -> None:
    (tmp_path / "nothing").mkdir()
    nothing = onthree("import", str(tmp_path / "nothing"), folder=tmp_path / "store")
    assert nothing.returncode == 2
    assert "no .csv file, at least one expected: name each after its sheet, such as Organisation.csv" in nothing.stderr

    assert onthree("export", str(tmp_path / "blank"), "--csv", "--template", folder=tmp_path / "store").returncode == 0
    blank = onthree("import", str(tmp_path / "blank"), folder=tmp_path / "store")
    assert blank.returncode == 2
    assert "no row in the sheet Organisation" in blank.stderr


def test_a_rule_that_does_not_exist_is_refused(sheets: Path, tmp_path: Path) -> None:
    rows = "Code,Rule,Subject,Signed by,Signer,Reason,Signed on,Until\n"
    gap = "GAP-9,gate-narow,GATE-1,administration,director,ordered,2026-11-20,2027-01-31\n"
    (sheets / "Known gaps.csv").write_text(rows + gap, encoding="utf-8")
    refused = onthree("import", str(sheets / "Known gaps.csv"), folder=tmp_path / "store")

    assert refused.returncode == 2
    assert "'gate-narow' given, the identifier of a rule expected: did you mean 'gate-narrow'?" in refused.stderr
