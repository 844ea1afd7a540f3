"""The phases file: both forms say the same, and every problem is told at once with its place."""

from pathlib import Path

import pytest

from onthree.capture.phases_file import PhasesError, moment_s, read_phases
from onthree.kinematics.measures import Phase

TOML = """
neutral = ["0:00.5", 2]

[[movement]]
kind = "nod"
start = 3
end = 6.5

[[movement]]
kind = "turn"
start = 7
end = 10

[[phase]]
name = "log roll"
technique = "log-roll-push long board"
start = "0:08"
end = "1:14.250"

[[phase]]
technique = "head_secured"
start = 80
end = 90
"""
CSV = """kind,name,technique,start,end
neutral,,,0:00.5,2
nod,,,3,6.5
turn,,,7,10
phase,log roll,log_roll_push_long_board,0:08,1:14.250
phase,,head_secured,80,90
"""


@pytest.mark.parametrize(("name", "text"), [("a.toml", TOML), ("a.csv", CSV), ("b.CSV", "\ufeff" + CSV)])
def test_both_forms_say_the_same(tmp_path: Path, name: str, text: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    marked = read_phases(path)

    assert marked.neutral_s == (0.5, 2.0)
    assert marked.movements_s == {"nod": (3.0, 6.5), "turn": (7.0, 10.0)}
    assert marked.phases == (Phase("log roll", 8.0, 74.25), Phase("head_secured", 80.0, 90.0))
    assert marked.techniques == {"log roll": "log_roll_push_long_board", "head_secured": "head_secured"}


@pytest.mark.parametrize(
    ("written", "read_s"),
    [("12.5", 12.5), (12, 12.0), ("1:02", 62.0), ("0:02.25", 2.25), (" 3 ", 3.0)],
)
def test_moments_are_read(written: object, read_s: float) -> None:
    assert moment_s(written) == read_s


@pytest.mark.parametrize("written", ["1:75", "-3", "soon", "", None, True, float("nan"), -1.0, "1:2"])
def test_other_words_are_no_moments(written: object) -> None:
    assert moment_s(written) is None


def test_every_problem_is_told_with_its_row(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(
        "kind,name,technique,start,end\n"
        "stage,a,,1,2\n"
        "phase,,,3,2\n"
        "phase,roll,logroll_push_long_board,x,1:75\n"
        "neutral,,,0,1\n"
        "neutral,,,2,3\n"
        "nod,,,4,5\n"
        "phase,roll,,6,7\n",
        encoding="utf-8",
    )
    with pytest.raises(PhasesError) as raised:
        read_phases(path)
    told = str(raised.value)

    for words in (
        "row 2: kind 'stage' given",
        "row 3: 3 to 2 given, a start before the end expected",
        "row 3: no name and no technique",
        "row 4: start 'x' given",
        "row 4: end '1:75' given",
        "did you mean log_roll_push_long_board",
        "neutral is marked 2 times",
        "nod and turn show the axes only together",
        "two phases are called 'roll'",
    ):
        assert words in told


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("a.toml", "phase = 3", "[[phase]]"),
        ("a.toml", "neutral = 3", '["start", "end"]'),
        ("a.toml", "phases = []", "phases not known"),
        ("a.toml", "[[phase", "cannot be read"),
        ("a.toml", "", "nothing is marked"),
        ("a.toml", '[[phase]]\nname = "a"\nstart = 1\nend = 2\nhow = 3', "how not known"),
        ("a.csv", "name,start\na,1\n", "add kind, end"),
        ("a.csv", "", "none given"),
    ],
)
def test_files_of_another_shape_are_refused(tmp_path: Path, name: str, text: str, words: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PhasesError) as raised:
        read_phases(path)

    assert words in str(raised.value)
    assert name in str(raised.value)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(PhasesError, match="no such file; check the name"):
        read_phases(tmp_path / "none.toml")
