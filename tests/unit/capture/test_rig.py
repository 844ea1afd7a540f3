"""The rig file: every problem at once, and what to do."""

from pathlib import Path

import pytest

from onthree.capture.rig import RigError, read_rig, rig_from

GOOD = """
[[tag]]
id = 3
segment = "head"
size_m = 0.07
centre_m = [0.1, 0, 0]
rotvec_rad = [0, 1.57, 0]

[[tag]]
id = 20
segment = "trunk"
size_m = 0.09
"""


def test_a_rig_is_read(tmp_path: Path) -> None:
    (tmp_path / "rig.toml").write_text(GOOD, encoding="utf-8")
    rig = read_rig(tmp_path / "rig.toml")

    assert rig.family == "tag36h11"
    assert rig.segments == ("head", "trunk")
    assert rig.tags[0].centre_m is not None and rig.tags[0].centre_m.tolist() == [0.1, 0, 0]
    assert rig.tags[1].centre_m is None, "a place may be left out"


def test_every_problem_is_said_at_once() -> None:
    rows = [
        {"id": 1, "segment": "head", "size_m": 70},
        {"id": 1, "segment": "", "size_m": 0.07},
        {"id": 2, "segment": "trunk", "size_m": 0.09, "centre_m": [0, 0, 0]},
        {"id": 3, "segment": "trunk", "size_m": 0.09, "colour": "black"},
    ]
    with pytest.raises(RigError) as refused:
        rig_from({"family": "tag99", "tag": rows})

    assert [problem.split(":")[0] for problem in refused.value.problems[1:]] == [
        "tag 1",
        "tag 1",
        "tag 2",
        "tag 3",
        "tag 1 is listed twice",
    ]
    assert "'tag99' given" in str(refused.value)
    assert "size_m 70 given, the side of the black square in metres expected" in str(refused.value)


@pytest.mark.parametrize("text", ["", "family = ", "tag = 3"])
def test_an_empty_or_broken_file_says_so(text: str, tmp_path: Path) -> None:
    (tmp_path / "rig.toml").write_text(text, encoding="utf-8")

    with pytest.raises(RigError, match=r"cannot be read|add a \[\[tag\]\]"):
        read_rig(tmp_path / "rig.toml")


def test_what_is_wrong_with_several_tags_is_said_once_and_no_word_is_passed_over(tmp_path: Path) -> None:
    tag = '[[tag]]\nid = {}\nsegment = "head"\nside_m = 0.07\n'
    head = 'measured_at = "helmet"\nby_hand_m = "much"\n'
    (tmp_path / "rig.toml").write_text(head + tag.format(3) + tag.format(4), encoding="utf-8")
    with pytest.raises(RigError) as refused:
        read_rig(tmp_path / "rig.toml")

    for words in (
        "measured_at not known, by_hand_m, by_hand_rad, family, measured_as, tag expected",
        "by_hand_m 'much' given, a number above 0 expected",
        "tags 3, 4: size_m None given",
        "tags 3, 4: side_m not known",
    ):
        assert words in str(refused.value)


def test_a_file_in_another_coding_says_how_to_save_it(tmp_path: Path) -> None:
    (tmp_path / "rig.toml").write_bytes('measured_as = "Schädel"'.encode("latin-1"))

    with pytest.raises(RigError, match=r"not text in UTF-8 .* save it as UTF-8"):
        read_rig(tmp_path / "rig.toml")


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(RigError, match=r"rig\.toml: no such file"):
        read_rig(tmp_path / "rig.toml")
