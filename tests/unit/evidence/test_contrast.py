"""Contrasts and values: what comes along is read, and every way a line can be wrong is told with what to do."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from onthree.evidence.contrast import Contrast, Planes, bundled_contrasts, evidence_hash, read_contrasts
from onthree.evidence.measured import what_it_is_not
from onthree.evidence.problems import EvidenceError
from onthree.evidence.values import median_and_range, published_values, read_values
from onthree.sources import table

LINE = """\
[[contrast]]
id = "slide-under-roll"
lower = "slide"
higher = "roll"
planes = { flexion = "no_difference_found", lateral = "less", axial = "not_reported" }
measured_quantity = "segment"
metric = "peak"
equipment = "on"
people = "not reported"
stance = "not reported"
subjects = "cadavers"
n = 5
counted = "cadavers"
printed = "P = .01"
source = "delrossi-2008"
where = "abstract"
"""

WRONG = {
    "unknown word of a plane": ('lateral = "less"', 'lateral = "better"', "planes.lateral: Input should be 'less'"),
    "unknown plane": ('axial = "not_reported"', 'twist = "less"', "planes.twist: Unexpected"),
    "plane left out": (', axial = "not_reported"', "", "planes.axial: Field required"),
    "no source": ('source = "delrossi-2008"\n', "", "source: Field required"),
    "source not listed": ('"delrossi-2008"', '"nobody-1999"', "'nobody-1999' is not listed in data/sources.toml"),
    "source not read": ('"delrossi-2008"', '"swartz-2009"', "'swartz-2009' was not read: say read = false"),
    "no place in the source": ('where = "abstract"', 'where = ""', "where: name the place in the source"),
    "unknown quantity": ('"segment"', '"neck"', "measured_quantity: Input should be 'segment'"),
    "a quantity that orders nothing": ('"segment"', '"pressure"', "nothing that orders handlings by planes"),
    "unknown metric": ('"peak"', '"worst"', "metric: Input should be 'range'"),
    "unknown equipment": ('equipment = "on"', 'equipment = "worn"', "equipment: Input should be 'on'"),
    "a field that nobody reads": ("n = 5", "m = 5", "m: Unexpected"),
    "nobody": ("n = 5", "n = 0", "n: 0 given: leave it out where it is not reported"),
    "one kind": ('higher = "roll"', 'higher = "slide"', "two kinds are compared"),
    "not TOML": ("n = 5", "n = five", "the file: is not TOML"),
    "twice": ("[[contrast]]", f"{LINE}[[contrast]]", "stands 2 times"),
}  # fmt: skip


@pytest.mark.parametrize(("right", "wrong", "told"), WRONG.values(), ids=WRONG)
def test_a_wrong_line_is_told_with_what_to_do(right: str, wrong: str, told: str) -> None:
    assert right in LINE

    with pytest.raises(EvidenceError) as caught:
        read_contrasts({"own.toml": LINE.replace(right, wrong, 1)})

    assert told in str(caught.value)


def test_every_problem_of_every_file_is_in_one_report() -> None:
    texts = {"a.toml": LINE.replace('"less"', '"fewer"').replace('"peak"', '"top"'), "b.toml": "n = five"}

    with pytest.raises(EvidenceError) as caught:
        read_contrasts(texts)

    assert [problem.line for problem in caught.value.problems].count("a.toml: slide-under-roll") == 2
    assert any(problem.line == "b.toml" for problem in caught.value.problems)


def test_a_finding_is_turned_with_its_handlings() -> None:
    planes = Planes(flexion="no_difference_found", lateral="less", axial="more")

    assert planes.turned() == Planes(flexion="no_difference_found", lateral="more", axial="less")
    assert planes.turned().turned() == planes


def test_what_is_said_names_planes_subjects_quantity_equipment_and_source() -> None:
    (contrast,) = read_contrasts({"own.toml": LINE})

    assert contrast.said_of("slide") == (
        "less in lateral bending; flexion or extension: no difference found; axial rotation: not reported; 5 cadavers; "
        "one segment of the neck across an injury, peak; equipment on [delrossi-2008]"
    )
    assert contrast.said_of("roll").startswith("more in lateral bending; ")


def test_bundled_evidence_is_read_and_each_line_has_its_source() -> None:
    assert len(bundled_contrasts()) > 30
    assert len(published_values()) > 150
    assert all(line.source and line.where for line in (*bundled_contrasts(), *published_values()))


def test_the_hash_stands_for_the_content(monkeypatch: pytest.MonkeyPatch) -> None:
    first = evidence_hash()

    monkeypatch.setattr("onthree.evidence.contrast.evidence_texts", lambda: {"own.toml": LINE})

    assert len(first) == 8
    assert first != evidence_hash() == evidence_hash()


def of_segment(contrast: Contrast) -> bool:
    return contrast.measured_quantity == "segment"


@pytest.mark.parametrize(
    ("wanted", "caution"),
    [
        (lambda line: line.subjects == "volunteers", "Awake volunteers; a limp neck may move more."),
        (of_segment, "Motion of one segment across an injury: not head on trunk."),
        (lambda line: not line.read, "From memory, not checked."),
    ],
    ids=["volunteers", "segment", "memory"],
)
def test_cautions_stand_with_every_line_they_are_about(wanted: Callable[[Contrast], bool], caution: str) -> None:
    moving = ("time", "outcome", "pressure")
    lines = [*bundled_contrasts(), *(value for value in published_values() if value.measured_quantity not in moving)]
    lines.append(replace(bundled_contrasts()[0], read=False))

    assert [line for line in lines if wanted(line) and caution not in what_it_is_not(line)] == []  # type: ignore[arg-type]
    assert any(wanted(line) for line in lines)  # type: ignore[arg-type]


ROW = dict(table("evidence_values")[0])

WRONG_ROWS = {
    "no number and no words": (
        {"mean": "", "spread": "", "spread_kind": ""},
        "give the printed number, or the finding",
    ),
    "a spread of no kind": ({"spread_kind": ""}, "a spread and its kind go together"),
    "unknown plane": ({"plane": "up"}, "plane: Input should be 'flexion'"),
    "no source": ({"source": ""}, "source: '' is not listed"),
}


@pytest.mark.parametrize(("changes", "told"), WRONG_ROWS.values(), ids=WRONG_ROWS)
def test_a_wrong_row_is_told_with_what_to_do(changes: dict[str, str], told: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        read_values([ROW, ROW | changes])

    assert told in str(caught.value)


@pytest.mark.parametrize(
    "changes",
    [
        {"measured_quantity": "segment"},
        {"metric": "travel"},
        {"subjects": "cadavers"},
        {"plane": "axial"},
        {"people": "5"},
        {"stance": "straddling"},
        {"equipment": "off"},
        {"unit": "mm"},
    ],
    ids=str,
)
def test_unlike_values_are_never_pooled(changes: dict[str, str]) -> None:
    with pytest.raises(EvidenceError, match="unlike kinds are never pooled"):
        median_and_range(read_values([ROW, ROW | changes]))


def test_values_of_an_unknown_metric_are_not_pooled_with_those_of_another_source() -> None:
    unknown = ROW | {"metric": "not_reported"}

    assert median_and_range(read_values([unknown, unknown | {"mean": "14.77"}])).median == "13.77"
    with pytest.raises(EvidenceError, match="never pooled"):
        median_and_range(read_values([unknown, unknown | {"source": "krell-2006"}]))


def test_nothing_has_no_median() -> None:
    with pytest.raises(EvidenceError, match="no values"):
        median_and_range([])
