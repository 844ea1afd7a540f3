"""The whole chain as a person runs it: the demo's workbook into a store, then every command, as processes."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from onthree.demo.conference import CLASHING, DEMO_TODAY, WAITING, conference_records, planted_findings
from onthree.programme.programme import programme_of
from onthree.techniques.library import bundled_library
from onthree.transfers.standing import STANDING
from onthree.workbook.read import read_workbook

PRINTED = "printed.txt"
GO_ON = "Go on with, for example:"
COMMAND = str(Path(sys.executable).with_name("onthree"))


def onthree(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {
        name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")
    }
    return subprocess.run(
        [COMMAND, *words, "--folder", str(folder)],
        env=environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    result = onthree("demo", "--no-serve", folder=folder)
    assert result.returncode == 0, result.stderr
    (folder / PRINTED).write_text(result.stdout, encoding="utf-8")
    return folder


@pytest.fixture
def printed(demo: Path) -> list[str]:
    """The lines the demo printed."""
    return (demo / PRINTED).read_text(encoding="utf-8").splitlines()


def as_json(*words: str, folder: Path) -> Any:
    result = onthree(*words, "--json", folder=folder)
    assert result.returncode in (0, 1), result.stderr
    document = json.loads(result.stdout)
    assert document["schema_version"] == 1
    return document


def test_the_demo_says_who_is_the_exception(demo: Path) -> None:
    said = onthree("sentence", "E-1", folder=demo).stdout

    assert "except 52, 71, 78: wide scoop, six lifters" in " ".join(said.split())


def part(lines: list[str], title: str) -> str:
    """The lines under a title, up to the next empty one, as one."""
    (start,) = (number for number, line in enumerate(lines) if line.startswith(title))
    end = lines.index("", start)
    return " ".join(" ".join(lines[start:end]).split())


def test_the_demo_is_short_and_says_its_cautions_once(printed: list[str]) -> None:
    said = " ".join(" ".join(printed).split())

    assert len(printed) <= 90
    for caution in STANDING:
        assert said.count(caution) == 1


def test_the_demo_covers_its_next_event(printed: list[str]) -> None:
    """The three are over the rating of the long board (planted.toml), and the way from prone is onto a long board."""
    said = part(printed, "COVERAGE OF E-1")

    assert "98 situations: 94 possible, 0 held first, 0 not known, 4 not possible." in said
    for number, load in ((52, 351), (71, 365), (78, 358)):
        assert f"{number}, found prone: not possible. Because: load {load} lb" in said
    assert "Would open 4 of them: bring a long board with a higher rating (gear keeper)." in said
    assert "A visitor nobody knows, taken as the worst case, found supine: possible, prone: not possible." in said


def test_the_demo_explains_a_clash_of_agreements(printed: list[str]) -> None:
    said = part(printed, f"AGREEMENTS THAT CLASH: {CLASHING}")

    assert "refused: device out on cot (AGR-5, edition 2026-02" in said
    assert "requires: device out (AGR-8, edition 2026-10" in said


def test_the_demo_says_until_when_the_late_practice_holds(printed: list[str]) -> None:
    said = part(printed, f"HELD UNTIL MORE COME: {WAITING}")

    assert "Found supine: scoop, hold until minute 8, four lifters" in said


def test_the_commands_to_go_on_with_work(printed: list[str], demo: Path) -> None:
    commands = [line.split(" --folder ")[0].split()[1:] for line in printed[printed.index(GO_ON) + 1 :]]

    assert [words[0] for words in commands] == ["why", "options", "options", "coverage", "agreements", "sentence"]
    for words in commands:
        dated = [*words, "--on", DEMO_TODAY.isoformat()]
        assert onthree(*dated, folder=demo).returncode in (0, 1), words


@pytest.mark.parametrize("event", ["E-1", "E-5", "E-11", "E-13"])  # every event: tests/unit/demo
def test_the_planted_gaps_are_found_exactly_and_no_others(event: str, demo: Path) -> None:
    found = {(event, one["rule"], one["subject"]) for one in as_json("check", event, folder=demo)["findings"]}

    assert found == {planted for planted in planted_findings() if planted[0] == event}


def test_a_second_demo_changes_nothing(demo: Path) -> None:
    again = onthree("demo", "--no-serve", folder=demo)

    assert "Imported: 0 added, 0 changed" in again.stdout


def test_check_exits_1_when_there_is_something_to_tell_and_0_when_not(demo: Path) -> None:
    assert onthree("check", "E-1", folder=demo).returncode == 1
    assert onthree("check", "E-2", folder=demo).returncode == 0


def test_who_was_told_and_what_was_signed_stand_under_the_finding(demo: Path) -> None:
    told = " ".join(onthree("check", "E-1", folder=demo).stdout.split())
    signed = " ".join(onthree("check", "E-11", folder=demo).stdout.split())
    (gap,) = (each for each in as_json("check", "E-11", folder=demo)["findings"] if each["gap"])

    assert "told: ambulance crew lead, 24 November 16:10: confirmed" in told
    assert "known gap, signed by administration (director of athletics) until 31 January 2027" in signed
    assert (gap["level"], gap["level_unsigned"], gap["is_open"]) == ("known gap, signed", "fix before", False)


def test_an_athlete_nobody_weighed_is_not_fine_even_where_no_rule_says_so(demo: Path) -> None:
    result = onthree("check", "E-9", folder=demo)

    assert result.returncode == 1
    assert "1 of 41 athletes must be held, or have no option, or it is not known." in result.stdout
    assert "Nothing found" not in result.stdout


def test_what_an_athlete_weighs_is_asked_once_and_of_the_lead(demo: Path) -> None:
    result = onthree("why", "E-9", "92", folder=demo)

    fixes = [line.strip() for line in result.stdout.splitlines() if "find out body mass" in line]
    assert set(fixes) == {"- find out body mass (lead)"}


def test_every_answer_carries_its_cautions(demo: Path) -> None:
    for words in (["check", "E-1"], ["options", "E-1"], ["why", "E-1", "52"], ["sentence", "E-1"]):
        said = " ".join(onthree(*words, folder=demo).stdout.split())
        assert said.count("No motion is ever called safe.") == 1, words
        assert as_json(*words, folder=demo)["cautions"]


def test_options_of_one_athlete_with_other_hands(demo: Path) -> None:
    few = as_json("options", "E-1", "--athlete", "52", "--hands", "3,+4@8min", folder=demo)["athletes"][0]
    none = as_json("options", "E-1", "--athlete", "52", "--hands", "0", folder=demo)["athletes"][0]

    assert few["status"] == "hold"
    assert none["status"] == "not possible"
    assert {cause["id"] for fix in none["fixes"] for cause in fix} >= {"hands/device_to_cot/6"}


def test_options_on_another_surface(demo: Path) -> None:
    dry = as_json("options", "E-1", "--athlete", "52", folder=demo)["athletes"][0]["options"][0]
    ice = as_json("options", "E-1", "--athlete", "52", "--surface", "ice", folder=demo)["athletes"][0]["options"][0]

    assert not any("slip" in caution for caution in dry["cautions"])
    assert any("slip" in caution for caution in ice["cautions"])


def test_coverage_of_an_event_counts_every_athlete_in_every_position(demo: Path) -> None:
    document = as_json("coverage", "E-1", folder=demo)
    (event,) = document["events"]
    stuck = {(one["athlete"], one["found"]) for one in event["stuck"]}
    known = {("T1-52", "prone"), ("T1-71", "prone"), ("T1-78", "prone")}

    assert document["kind"] == "coverage"
    assert document["cautions"]
    assert (event["possible_count"], event["not_possible_count"]) == (94, 4)
    assert {one for one in stuck if one[0].startswith("T1-")} == known


def test_coverage_of_a_venue_and_of_other_positions(demo: Path) -> None:
    rink = as_json("coverage", "V-3", "--on", "2026-11-25", folder=demo)
    seated = as_json("coverage", "E-1", "--position", "side", "--position", "sitting", folder=demo)

    assert {event["event"] for event in rink["events"]} == {"E-10", "E-11", "E-14", "E-15"}
    assert {one["found"] for one in seated["events"][0]["stuck"]} <= {"side", "sitting"}
    assert onthree("coverage", "E-2", folder=demo).returncode == 0
    assert onthree("coverage", "E-5", folder=demo).returncode == 1


def test_agreements_that_clash_are_told_with_whom_they_leave_without_an_option(demo: Path) -> None:
    document = as_json("agreements", CLASHING, folder=demo)

    assert document["kind"] == "agreements"
    assert [clash["found"] for clash in document["clashes"]] == ["supine", "prone"]
    for clash in document["clashes"]:
        assert len(clash["athletes"]) == 38
        assert clash["together"] == [
            "Alderby ambulance (invented) refused: device out on cot",
            "Alderby ambulance (invented) requires: device out",
        ]
    assert document["costs"] == []
    assert onthree("agreements", CLASHING, folder=demo).returncode == 1


def test_an_agreement_that_costs_a_handling_names_it(demo: Path) -> None:
    """A device that comes out on the cot is one handling more than one that stays in."""
    document = as_json("agreements", "E-7", folder=demo)

    assert document["clashes"] == []
    assert {cost["agreement"] for cost in document["costs"]} == {"Quillmere ambulance (invented) requires: device out"}
    assert {cost["handlings_saved_count"] for cost in document["costs"]} == {1}
    assert onthree("agreements", "E-7", folder=demo).returncode == 0


def test_the_planned_option_beside_the_best_one_with_a_technique(demo: Path) -> None:
    asked = ("options", "E-1", "--athlete", "6", "--why", "log-roll supine long board")
    document = as_json(*asked, folder=demo)
    (athlete,) = document["athletes"]

    assert (document["kind"], document["technique"]) == ("option-comparison", "log_roll_supine_long_board")
    assert "log_roll_supine_long_board" in athlete["with_it"]["techniques"]
    assert {"fact": "with", "one": "scoop", "other": "long board"} in athlete["differences"]
    assert athlete["evidence"]


def test_another_goal_is_another_list(demo: Path) -> None:
    inside = as_json("options", "E-1", "--athlete", "52", "--goal", "device-in", folder=demo)

    assert inside["goal"] == "device-in"
    assert all("device_out_on_cot" not in option["techniques"] for option in inside["athletes"][0]["options"])


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["check", "E-77"], "E-77"),
        (["why", "E-1", "1000"], "give a code or jersey number"),
        (["options", "E-1", "--surface", "lava"], "expected one of: turf, wet turf"),
        (["options", "E-1", "--hands", "many"], "people such as 3 or 3,+2@8min expected"),
        (["options", "E-1", "--goal", "home"], "joined by +: device-in, device-out, equipment-on"),
        (["options", "E-1", "--position", "upright"], "expected one of: supine, prone"),
        (
            ["options", "E-1", "--why", "log roll pul"],
            "did you mean log_roll_push_long_board, log_roll_pull_long_board?",
        ),
        (["options", "E-1", "--why", "zzzz"], "known are manual_in_line_stabilization"),
        (["coverage", "E-77"], "a venue's code or season will do too"),
        (["coverage", "V-77"], "a venue's code or season will do too"),
        (["coverage", "E-1", "--position", "upright"], "expected one of: supine, prone, side, sitting"),
        (["coverage", "next", "--on", "2031-01-01"], "no event on or after 2031-01-01"),
        (["agreements", "E-77"], "no event has the code 'E-77'"),
        (["check", "next", "--on", "2031-01-01"], "no event on or after 2031-01-01"),
        (["check", "next", "--on", "tomorrow"], "a day such as 2026-11-25 expected"),
        (["import", "nowhere.xlsx"], "'nowhere.xlsx' given, a workbook, a CSV file or a folder of them expected"),
        (["export", "no-folder/out.xlsx"], "make 'no-folder' first"),
    ],
)
def test_bad_input_exits_2_with_one_clear_message(demo: Path, words: list[str], message: str) -> None:
    result = onthree(*words, folder=demo)

    assert result.returncode == 2
    assert message in result.stderr
    assert "Traceback" not in result.stderr


def test_an_export_imports_again_unchanged(demo: Path, tmp_path: Path) -> None:
    workbook = tmp_path / "out.xlsx"

    assert as_json("export", str(workbook), folder=demo)["written"] == str(workbook)
    assert as_json("import", str(workbook), "--preview", folder=demo)["changed_count"] == 0
    assert as_json("import", str(workbook), folder=tmp_path / "other")["added_count"] == len(conference_records())


def test_a_blank_workbook_says_where_to_begin(tmp_path: Path) -> None:
    blank = tmp_path / "blank.xlsx"
    onthree("export", str(blank), "--template", folder=tmp_path)
    result = onthree("import", str(blank), folder=tmp_path)

    assert result.returncode == 2
    assert "no row in the sheet Organisation" in result.stderr


def test_an_empty_store_says_what_to_do(tmp_path: Path) -> None:
    result = onthree("check", folder=tmp_path)

    assert result.returncode == 2
    assert "import" in result.stderr


def test_what_the_store_gives_back_is_what_was_typed(demo: Path, tmp_path: Path) -> None:
    workbook = tmp_path / "out.xlsx"
    onthree("export", str(workbook), folder=demo)

    back = read_workbook(workbook.read_bytes(), "out.xlsx", known_techniques=bundled_library().by_id, current=None)

    assert programme_of(back, DEMO_TODAY) == programme_of(conference_records(), DEMO_TODAY)


def test_a_shared_lift_is_told_for_every_device_with_what_it_rests_on(demo: Path) -> None:
    result = onthree("lift", "E-1", "52", folder=demo)
    document = as_json("lift", "E-1", "52", folder=demo)
    six = [lift["equal_lifters"][1] for lift in document["lifts"]]

    assert result.returncode == 0
    assert "for reference only, under local protocol" in " ".join(result.stdout.split())
    assert [lift["device"] for lift in document["lifts"]] == ["G-3", "G-1", "G-2"]
    assert all(each["people"] == 6 and each["best_kg"] <= each["equal_arms_kg"] <= each["one_short_kg"] for each in six)
