"""The life-first pages from the command line: without a store, with a broken one, and before every answer."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from onthree.techniques.life_first import life_first_pages
from onthree.transfers.standing import LIFE_FIRST

COMMAND = str(Path(sys.executable).with_name("onthree"))


def onthree(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("DATABASE", "DJANGO"))}
    return subprocess.run(
        [COMMAND, *words, "--folder", str(folder)],
        env=environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_the_titles_stand_there_without_a_store_and_none_is_made(tmp_path: Path) -> None:
    result = onthree("life-first", folder=tmp_path / "none")

    assert result.returncode == 0
    assert [page.id for page in life_first_pages() if f"({page.id})" not in result.stdout] == []
    assert result.stdout.count("not approved by medical direction: a sourced default") == 8
    assert "No programme is in the store" in result.stdout
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("page", life_first_pages(), ids=lambda page: page.id)
def test_a_page_gives_its_actions_first_and_no_degrees(tmp_path: Path, page: object) -> None:
    from onthree.techniques.life_first import LifeFirstPage

    assert isinstance(page, LifeFirstPage)
    said = " ".join(onthree("life-first", page.id, folder=tmp_path / "none").stdout.split())
    places = [said.index(action.does) for action in page.action]

    assert places == sorted(places)
    assert places[-1] < said.index("SIGNS") < said.index("AFTERWARDS")
    assert "degree" not in said.casefold()
    assert said.endswith("Nothing here is clinical advice.")


def test_a_conflict_is_shown_with_both_sides_and_decided_locally(tmp_path: Path) -> None:
    said = " ".join(onthree("life-first", "heat-stroke", folder=tmp_path / "none").stdout.split())

    assert "11 of 51 protocols" in said
    assert "six of 51 protocols, or 11.8%" in said
    assert "Decided locally, with medical direction." in said


def test_json_says_for_every_page_whether_it_is_approved(tmp_path: Path) -> None:
    document = json.loads(onthree("life-first", "--json", folder=tmp_path / "none").stdout)
    (one,) = json.loads(onthree("life-first", "arrest", "--json", folder=tmp_path / "none").stdout)["pages"]

    assert (document["schema_version"], document["kind"]) == (1, "life-first")
    assert [page["is_approved"] for page in document["pages"]] == [False] * 8
    assert one == document["pages"][0]
    assert one["known"][0]["printed"] == "16.1 ± 3.4 s and 16.1 ± 4.5 s"
    assert one["sources"][int(one["known"][0]["source"].strip("[]")) - 1].startswith("[2] Bowman")


def test_an_unknown_page_is_refused_with_the_known_ones(tmp_path: Path) -> None:
    result = onthree("life-first", "hiccups", folder=tmp_path / "none")

    assert result.returncode == 2
    assert "expected one of: arrest, airway" in result.stderr


def test_a_store_that_cannot_be_read_takes_no_page_away(tmp_path: Path) -> None:
    (tmp_path / "onthree.sqlite3").write_bytes(b"this is no database, only text of some length" * 50)
    result = onthree("life-first", "arrest", folder=tmp_path)

    assert result.returncode == 0
    assert "could not be looked up" in result.stdout
    assert result.stdout.index("Start compressions") < result.stdout.index("could not be looked up")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    assert onthree("demo", "--no-serve", folder=folder).returncode == 0
    return folder


@pytest.mark.parametrize("words", [["check", "E-1"], ["options", "E-1"], ["why", "E-1", "52"], ["sentence", "E-1"]])
def test_life_first_is_printed_before_everything_else_and_once(demo: Path, words: list[str]) -> None:
    said = " ".join(onthree(*words, folder=demo).stdout.split())

    assert said.startswith(f"{LIFE_FIRST} What to do: onthree life-first")
    assert said.count(LIFE_FIRST) == 1
    assert json.loads(onthree(*words, "--json", folder=demo).stdout)["cautions"][0] == LIFE_FIRST
