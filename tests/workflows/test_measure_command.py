"""``onthree measure`` as it is typed: what it prints, writes and answers with, one film or many, good or bad."""

import csv
import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from onthree.capture.rig import read_rig
from onthree.cli.commands import app
from onthree.demo.film_writer import Truth, rig_text
from onthree.kinematics.measures import NAMES
from tests.bad_films import SAID, write_bad_films
from tests.rendered_film import write_roll

PHASES = """
neutral = [0, 0.6]

[[phase]]
name = "log roll"
start = 0.8
end = 1.6
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("evening")


@pytest.fixture(scope="module")
def truth(folder: Path) -> Truth:
    (folder / "roll.phases.toml").write_text(PHASES, encoding="utf-8")
    (folder / "broken.mp4").write_bytes(b"no film")
    return write_roll(folder)


def measure(folder: Path, *words: str) -> Result:
    """The command with films of the folder and its rig."""
    films = [str(folder / word) if word.endswith((".mp4", ".toml")) else word for word in words]
    return CliRunner().invoke(app, ["measure", *films, "--rig", str(folder / "rig.toml")])


def plain(result: Result) -> str:
    """What was printed, without the breaks of lines."""
    return " ".join(result.stdout.split())


@pytest.mark.usefixtures("truth")
def test_the_headline_comes_first_and_the_cautions_with_the_numbers(folder: Path) -> None:
    result = measure(folder, "roll.mp4", "--phases", "roll.phases.toml", "--bound", "5")
    printed = plain(result)

    assert result.exit_code == 0, result.output
    assert printed.startswith("roll.mp4 log roll: the body first, the head ")
    for words in (
        "The head turned on the trunk by up to",
        "95 % band",
        "Neutral as marked",
        "seen: head 100%, trunk 100%",
        "The bound of 5 degrees is your own: it is no limit of safety.",
        "a limp neck may move more",
        "helmet on pads is not head on trunk",
        "No accepted safe threshold exists",
        "Dummy before person",
        "Rung 2 of 3: one phone and tags enough",
    ):
        assert words in printed
    assert not list(folder.glob("*.csv")), "nothing is written without --out"


@pytest.mark.usefixtures("truth")
def test_the_rest_of_a_batch_goes_on_after_a_bad_film(folder: Path, tmp_path: Path) -> None:
    shutil.copy(folder / "roll.mp4", folder / "again.mp4")
    out = str(tmp_path / "out")
    result = measure(folder, "broken.mp4", "roll.mp4", "none.mp4", "again.mp4", "--out", out, "--no-film")

    assert result.exit_code == 2
    assert "broken.mp4: not a film" in result.stderr
    assert "none.mp4: no such file" in result.stderr
    assert len(result.stderr.splitlines()) == 2
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["again", "roll"]
    assert "Tonight's noise" in result.stdout
    assert "at least two expected: hold the head, move nothing, film it twice" in plain(result)


@pytest.mark.usefixtures("truth")
def test_json_and_files_say_the_same(folder: Path, tmp_path: Path) -> None:
    words = ("roll.mp4", "--phases", "roll.phases.toml", "--out", str(tmp_path), "--no-film", "--json")
    document = json.loads(measure(folder, *words).stdout)
    written = json.loads((tmp_path / "measures.json").read_text(encoding="utf-8"))
    with (tmp_path / "angles.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    (film,) = document["films"]
    turns_deg = [float(row["total_deg"]) for row in rows if 0.8 <= float(row["time_s"]) <= 1.6]
    (phase,) = film["phases"]

    assert written["files"].keys() == {"angles.csv", "traces.svg", "traces.png", "quality.pdf", "quality.html"}
    assert film == {name: value for name, value in written.items() if name != "files"}
    assert phase["measures"]["largest_total_deg"]["value"] == pytest.approx(max(turns_deg), abs=1e-3)
    assert set(phase["measures"]) == set(NAMES)
    assert document["kind"] == "measured-films"


@pytest.mark.usefixtures("truth")
def test_what_is_replaced_is_said(folder: Path, tmp_path: Path) -> None:
    words = ("roll.mp4", "--out", str(tmp_path), "--no-film")
    first, second = measure(folder, *words), measure(folder, *words)

    assert "(replaced)" not in first.stdout
    assert "(replaced)" in second.stdout


@pytest.mark.usefixtures("truth")
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("roll.mp4", "--bound", "-1"), "--bound: -1 given"),
        (("roll.mp4", "--together"), "--together: 1 film given"),
        (("roll.mp4", "again.mp4", "--phases", "roll.phases.toml"), "one file goes with one film"),
        (("roll.mp4", "--phases", "none.toml"), "none.toml: no such file"),
        (("roll.mp4", "--camera", "none.toml"), "camera"),
        (("list.toml", "roll.mp4"), "is given alone"),
        (("roll.mp4", "--clock", "clap"), "--clock clap: no run of two films given"),
        (("roll.mp4", "--camera", "a", "--camera", "b"), "--camera: 2 given"),
        (("roll.mp4", "--out", __file__), "cannot be written into (it is a file)"),
        (("roll.mp4", "--moving", "device"), "no tags on device, but on head, trunk"),
        (("roll.mp4", "roll.mp4", "--together"), "one and the same film"),
    ],
)
def test_what_was_typed_wrong_is_told(folder: Path, words: tuple[str, ...], told: str) -> None:
    result = measure(folder, *words)

    assert result.exit_code == 2
    assert told in result.stderr
    assert result.stdout.strip() == "" or "Traceback" not in result.stdout


def test_helmet_and_device_are_measured_on_what_is_asked(folder: Path, truth: Truth, tmp_path: Path) -> None:
    rig = (folder / "rig.toml").read_text(encoding="utf-8").replace('"head"', '"helmet"').replace('"trunk"', '"device"')
    (tmp_path / "rig.toml").write_text(rig, encoding="utf-8")
    shutil.copy(folder / "roll.mp4", tmp_path / "roll.mp4")
    usual = json.loads(measure(folder, "roll.mp4", "--json").stdout)["films"][0]
    asked = measure(tmp_path, "roll.mp4", "--moving", "helmet", "--on", "device", "--json")
    (film,) = json.loads(asked.stdout)["films"]

    assert (film["moving"], film["reference"]) == ("helmet", "device")
    assert "The helmet turned on the device by up to" in film["headline"]
    assert film["phases"][0]["measures"] == usual["phases"][0]["measures"]
    assert "no tags on head and trunk, but on helmet, device" in measure(tmp_path, "roll.mp4").stderr


def test_the_moment_of_the_peak_has_its_band_and_marks_beyond_the_film_are_said(
    folder: Path, truth: Truth, tmp_path: Path
) -> None:
    (tmp_path / "long.toml").write_text("neutral = [0, 0.6]\n[[phase]]\nname = 'roll'\nstart = 0.8\nend = 90\n")
    result = measure(folder, "roll.mp4", "--phases", str(tmp_path / "long.toml"), "--json")
    (film,) = json.loads(result.stdout)["films"]
    (phase,) = film["phases"]
    turned = (truth.rotation * truth.rotation[truth.time_s >= 0.8][0].inv()).magnitude()
    true_s = truth.time_s[np.where(truth.time_s >= 0.8, turned, 0).argmax()]

    assert any("roll is marked until 90.00 s, but the film ends at" in flag for flag in film["flags"])
    assert phase["peak_between_s"][0] <= true_s + 0.02
    assert phase["peak_between_s"][1] >= true_s - 0.02
    assert phase["peak_between_s"][1] - phase["peak_between_s"][0] < 0.5


def test_a_rig_of_other_tags_is_told(folder: Path, truth: Truth, tmp_path: Path) -> None:
    rig = (folder / "rig.toml").read_text(encoding="utf-8").replace("\nid = ", "\nid = 4")
    (tmp_path / "rig.toml").write_text(rig, encoding="utf-8")
    shutil.copy(folder / "roll.mp4", tmp_path / "roll.mp4")
    result = measure(tmp_path, "roll.mp4")

    assert result.exit_code == 2
    assert "roll.mp4" in result.stderr


@pytest.fixture(scope="module")
def bad(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return write_bad_films(tmp_path_factory.mktemp("bad"))


def test_each_bad_film_of_a_batch_is_told_and_the_good_one_is_measured(
    folder: Path, truth: Truth, bad: list[Path]
) -> None:
    half = len(bad) // 2
    films = [str(path) for path in (*bad[:half], folder / "roll.mp4", *bad[half:])]
    rig = ["--rig", str(folder / "rig.toml")]
    result = CliRunner().invoke(app, ["measure", *films, *rig, "--json"])
    alone = CliRunner().invoke(app, ["measure", films[half], *rig, "--json"])
    told = result.stderr.splitlines()
    (film,) = json.loads(result.stdout)["films"]

    assert (result.exit_code, alone.exit_code) == (2, 0)
    assert len(told) == len(bad)
    for line, path in zip(told, bad, strict=True):
        assert line.startswith(f"{path.name}: {SAID[path.name]}")
    assert film == json.loads(alone.stdout)["films"][0]
    largest = film["phases"][0]["measures"]["largest_total_deg"]
    assert largest["low"] - 0.5 <= np.degrees(truth.rotation.magnitude().max()) <= largest["high"] + 0.5


@pytest.mark.usefixtures("truth")
def test_each_bad_film_is_told_before_the_run(folder: Path, bad: list[Path]) -> None:
    """A photo is looked at: it shows no tags."""
    for path in bad:
        result = CliRunner().invoke(app, ["preflight", str(path), "--rig", str(folder / "rig.toml")])
        told = result.stderr or " ".join(result.stdout.split())
        said = "head in 0% of 1 frames" if path.name == "photo.jpg" else f"{path.name}: {SAID[path.name]}"

        assert result.exit_code in (1, 2)
        assert said in told


def with_tag(folder: Path, tag: int, like: int, target: Path) -> None:
    """The rig with one more tag, where another one sits."""
    rig = read_rig(folder / "rig.toml")
    there = next(each for each in rig.tags if each.id == like)
    assert there.centre_m is not None
    more = replace(there, id=tag)
    (target / "rig.toml").write_text(rig_text(replace(rig, tags=(*rig.tags, more))), encoding="utf-8")
    shutil.copy(folder / "roll.mp4", target / "roll.mp4")


@pytest.mark.usefixtures("truth")
def test_a_tag_of_the_rig_that_should_have_been_seen_is_told(folder: Path, tmp_path: Path) -> None:
    with_tag(folder, 99, 4, tmp_path)
    result = measure(tmp_path, "roll.mp4", "--json")
    (film,) = json.loads(result.stdout)["films"]

    assert result.exit_code == 1
    assert "roll.mp4: tag 99 on head was never seen, though it faced the phone in" in result.stderr
    assert film["phases"][0]["seen_ratio"] == 1.0


def test_an_id_on_two_sheets_is_told_and_the_rest_measured(tmp_path: Path) -> None:
    write_roll(tmp_path, twice=(5, 25))
    result = measure(tmp_path, "roll.mp4", "--json")

    assert result.exit_code == 1
    assert "roll.mp4: two tags with id 5 were seen in" in result.stderr
    assert "the id was left out: cover or remove one of them" in result.stderr
    assert len(json.loads(result.stdout)["films"]) == 1


@pytest.mark.open_data
def test_a_film_with_truth_from_end_to_end(open_data: Path, tmp_path: Path) -> None:
    described = json.loads((open_data / "video" / "roll-with-tags.json").read_text(encoding="utf-8"))
    rig = ['family = "tag36h11"', 'measured_as = "helmet on trunk"']
    for tag in described["tags_as_measured_by_hand"]:
        rig += ["[[tag]]", *(f"{key} = {json.dumps(value)}" for key, value in tag.items())]
    (tmp_path / "rig.toml").write_text("\n".join(rig), encoding="utf-8")
    film, out = open_data / "video" / "roll-with-tags.mp4", tmp_path / "out"
    words = ["measure", str(film), "--rig", str(tmp_path / "rig.toml"), "--out", str(out), "--no-film"]
    result = CliRunner().invoke(app, words)
    truth = np.loadtxt(open_data / "video" / "roll-with-tags.truth.csv", delimiter=",", skiprows=1)
    (phase,) = json.loads((out / "measures.json").read_text(encoding="utf-8"))["phases"]

    assert result.exit_code == 0
    assert "head and trunk do not stand still in the picture" in plain(result), "it was filmed by hand"
    largest = phase["measures"]["largest_total_deg"]
    assert largest["low"] - 0.1 <= truth[:, 4].max() <= largest["high"] + 0.1
    assert phase["seen_ratio"] == pytest.approx(1.0, abs=0.01)
