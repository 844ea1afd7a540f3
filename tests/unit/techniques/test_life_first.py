"""Life-first pages: those that come along load, every line says where it is from, and every fault is told."""

import pytest

from onthree.sources import all_sources, life_first_texts
from onthree.techniques.life_first import (
    NO_SOURCE,
    LifeFirstFileError,
    LifeFirstPage,
    life_first_pages,
    read_life_first,
)

COLD = """\
id = "cold"
title = "Cold"
order = 1

[[sign]]
says = "shivers"
source = "common-practice"

[[action]]
does = "Blanket."
source = "common-practice"

[[known]]
sport = "hockey"
says = "wet pads cool"
printed = "56%"
source = "hockey-pads-thesis"
where = "abstract"

[[conflict]]
about = "Pads off?"
one = { says = "off", source = "common-practice" }
other = { says = "on", source = "common-practice" }

[[afterwards]]
does = "Record."
source = "common-practice"
"""


def problems_of(text: str, file: str = "cold.toml") -> str:
    with pytest.raises(LifeFirstFileError) as refused:
        read_life_first({file: text})
    return str(refused.value)


def test_the_eight_pages_stand_in_their_order() -> None:
    assert [page.id for page in life_first_pages()] == [
        "arrest",
        "airway",
        "bleeding",
        "heat_stroke",
        "agitated_or_seizing",
        "falling_consciousness",
        "dangerous_scene",
        "mid_move",
    ]


@pytest.mark.parametrize("page", life_first_pages(), ids=lambda page: page.id)
def test_every_line_has_a_source_with_its_place_or_says_common_practice(page: LifeFirstPage) -> None:
    facts = list(page.facts())

    assert len(facts) > 10
    for place, fact in facts:
        assert fact.source == NO_SOURCE or (fact.source in all_sources() and fact.where), place


@pytest.mark.parametrize("page", life_first_pages(), ids=lambda page: page.id)
def test_a_printed_number_never_stands_without_a_source(page: LifeFirstPage) -> None:
    assert [known.says for known in page.known if known.printed and known.source == NO_SOURCE] == []


@pytest.mark.parametrize("page", life_first_pages(), ids=lambda page: page.id)
def test_every_page_can_be_called_out_and_ends_with_reassess_and_record(page: LifeFirstPage) -> None:
    assert len(page.action) <= 7
    assert all(len(action.does.split()) <= 16 for action in page.action)
    assert page.afterwards[-1].does.startswith("Record")


def test_what_comes_from_memory_says_so_and_common_practice_has_no_number() -> None:
    pages = {page.id: page for page in life_first_pages()}

    assert pages["airway"].sources[0].endswith("[from memory, not checked]: airway, as reported")
    assert not any("from memory" in cited for cited in pages["arrest"].sources)
    assert {pages["arrest"].mark(fact) for _, fact in pages["arrest"].facts() if fact.source == NO_SOURCE} == {""}


def test_a_line_from_memory_marks_its_source() -> None:
    remembered = COLD.replace('where = "abstract"', 'where = "abstract"\nread = false')
    (page,) = read_life_first({"cold.toml": remembered})

    assert page.sources[0].endswith("handle 10365/29764: abstract [from memory, not checked]")


def test_nothing_is_scored_in_degrees() -> None:
    assert [file for file, text in life_first_texts().items() if "degree" in text.casefold() or "°" in text] == []


def test_a_clean_page_is_read() -> None:
    (page,) = read_life_first({"cold.toml": COLD})

    assert (page.about, page.known[0].printed, page.conflict[0].other.says) == ("life_first/cold", "56%", "on")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('id = "cold"', 'id = "ice"', "cold.toml:1: id: is 'ice': name the file ice.toml"),
        (
            '"Blanket."',
            '"Blanket, 30 degrees."',
            "action.0.does: 'Blanket, 30 degrees.': nothing here is scored in deg",
        ),
        ('"Blanket."', '"Warm to 37 °C."', "action.0.does: 'Warm to 37 °C.': nothing here is scored in degrees"),
        ('"Blanket."', f'"{"again " * 20}"', "action.0.does: String should have at most 90 characters"),
        (
            '"Blanket."',
            '"Blanket."\nscore = 1',
            "action.0.score: is no field here: correct its spelling or take it out",
        ),
        ('"hockey-pads-thesis"', '"nobody-1999"', "known.0.source: 'nobody-1999' is not listed in data/sources.toml"),
        ('where = "abstract"', "", "known.0.where: is missing"),
        ("order = 1", "order =", "cold.toml:3: the file: is not TOML"),
        ("[[afterwards]]", "[[later]]", "cold.toml: afterwards: is missing: add it"),
        ('{ says = "on", source = "common-practice" }', '"on"', "conflict.0.other: "),
    ],
)
def test_what_a_page_may_not_say_is_told(old: str, new: str, message: str) -> None:
    assert message in problems_of(COLD.replace(old, new, 1))


def test_eight_actions_are_too_many_to_call_out() -> None:
    action = '[[action]]\ndoes = "Again."\nsource = "common-practice"\n\n'

    assert "action: Tuple should have at most 7 items" in problems_of(
        COLD.replace("[[known]]", action * 7 + "[[known]]")
    )


def test_all_problems_of_all_pages_come_in_one_report() -> None:
    with pytest.raises(LifeFirstFileError) as refused:
        read_life_first({"cold.toml": COLD.replace('"shivers"', '"one degree"'), "wet.toml": COLD})

    assert {problem.file for problem in refused.value.problems} == {"cold.toml", "wet.toml"}
