"""Every problem of a technique file says its line; a technique that no option can ever hold is told in plain words."""

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from onthree.sources import life_first_texts, technique_texts
from onthree.techniques.library import TechniqueFileError, bundled_library, read_library, unreachable
from onthree.techniques.life_first import LifeFirstFileError, read_life_first
from onthree.techniques.lines import line_of
from onthree.techniques.state import STATE_VALUES, found_states

TEXT = """\
id = "slide"
title = '''
words = "that are no field"
'''

[handling]
depends_on = [
    "device",  # order = 3
]

[[role]]
id = "head"

[[role]]
id = "legs"
"does" = "lifts"

[[task]]
otherwise = { usual_s = 5 }

[[conflict]]
about = "one"
[conflict.one]
says = "yes"
[[conflict]]
about = "other"
[conflict.one]
says = "no"
"""

STAND = """\
id = "{id}"
title = "{id}"
order = 1
source = "common-practice"

[handling]
counts = true
evidence = "stand"

[before]
{before}

[after]
{after}

[[role]]
id = "all"
does = "stand"
count = 2
least = 1
skill = "team lift"
source = "common-practice"

[[task]]
id = "stand"
does = "stand"
who = ["all"]
usual_s = 5
slow_s = 9
guess = true
"""


def written(id: str, before: str, after: str) -> dict[str, str]:
    return {f"{id}.toml": STAND.format(id=id, before=before, after=after)}


HOME = written("home", 'place = ["ground"]', 'place = "hospital stretcher"')


def refused(texts: Mapping[str, str]) -> str:
    with pytest.raises(TechniqueFileError) as problems:
        read_library(texts, must_be_reachable=True)
    return str(problems.value)


@pytest.mark.parametrize(
    ("field", "line"),
    [
        ("id", 1),
        ("title", 2),
        ("handling", 6),
        ("handling.depends_on", 7),
        ("handling.counts", 6),
        ("role", 11),
        ("role.0.id", 12),
        ("role.1.id", 15),
        ("role.1.does", 16),
        ("role.1.least", 14),
        ("task.0.otherwise.usual_s", 19),
        ("conflict.0.one.says", 24),
        ("conflict.1.about", 26),
        ("conflict.1.one.says", 28),
        ("words", None),
        ("order", None),
        ("the file", None),
    ],
)
def test_a_field_stands_on_its_line_and_a_missing_one_where_it_should_have_stood(field: str, line: int | None) -> None:
    assert line_of(TEXT, field) == line
    assert line_of(TEXT.replace("\n", "\r\n"), field) == line


def _fields(value: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The path of every field; the items of a plain list are none."""
    if isinstance(value, dict):
        for name, held in value.items():
            yield (*path, name)
            yield from _fields(held, (*path, name))
    elif isinstance(value, list):
        for place, held in enumerate(value):
            yield from _fields(held, (*path, str(place)))


def test_every_field_of_every_file_that_comes_along_is_found_on_a_line_that_names_it() -> None:
    for text in (*technique_texts().values(), *life_first_texts().values()):
        lines = text.split("\n")
        for path in _fields(tomllib.loads(text)):
            line = line_of(text, ".".join(path))
            assert line and path[-1] in lines[line - 1], path


def test_a_contradiction_is_told_with_its_line() -> None:
    text = HOME["home.toml"].replace("least = 1", "least = 3")

    assert refused({"home.toml": text}) == (
        "home.toml:20: role.0.least: is 3, more than the usual 2: least is the fewest allowed"
    )


def test_gear_of_an_unknown_kind_is_told_with_its_line() -> None:
    need = '\n[[need]]\nkind = "rope"\nchecks = ["present"]\nsource = "common-practice"\n'
    text = HOME["home.toml"] + need

    assert refused({"home.toml": text}).startswith("home.toml:33: need.0.kind: expected one of: long board, scoop,")
    assert refused({"home.toml": text}).endswith("('rope' given)")


def test_what_is_no_toml_is_told_with_the_line_where_reading_stopped() -> None:
    assert refused({"home.toml": 'id = "home"\ntitle = home'}).startswith("home.toml:2: the file: is not TOML:")
    assert refused({"home.toml": 'id = "home"\ntitle = """home'}).startswith("home.toml:2: the file: is not TOML:")


def test_a_missing_field_of_the_file_itself_is_on_no_line() -> None:
    text = HOME["home.toml"].replace("order = 1\n", "")

    assert refused({"home.toml": text}) == "home.toml: order: is missing: add it"


def test_a_life_first_page_says_its_lines_too() -> None:
    (file, text), *_ = life_first_texts().items()
    with pytest.raises(LifeFirstFileError) as problems:
        read_life_first({file: text.replace('id = "', 'id = "un', 1)})

    assert str(problems.value).startswith(f"{file}:1: id: is 'un")


def test_a_state_that_nothing_leads_to_is_told_with_the_line_of_the_condition() -> None:
    never = written("never", 'place = ["vehicle"]\nposition = ["supine"]', 'place = "hospital stretcher"')

    assert refused({**HOME, **never}) == (
        "never.toml:11: before.place: never begins: nothing leads to place vehicle together with the rest of before"
    )


def test_two_states_that_are_reached_but_never_together_are_no_beginning() -> None:
    away = written("away", 'place = ["ground"]\nposition = ["supine"]', 'place = "cot"')
    on = written("on", 'place = ["cot"]', 'place = "hospital stretcher"')
    never = written("never", 'position = ["prone"]\nplace = ["cot"]', 'position = "supine"')
    problem = refused({**HOME, **away, **on, **never})

    assert problem.startswith("never.toml:11: before.position: never begins: nothing leads to position prone") or (
        problem.startswith("never.toml:12: before.place: never begins: nothing leads to place cot")
    )


def test_a_technique_that_leads_nowhere_is_told_with_the_line_of_its_effect() -> None:
    astray = written("astray", 'place = ["ground"]', 'place = "obstacle"')

    assert refused({**HOME, **astray}) == (
        "astray.toml:13: after: leads nowhere: after it no chain of techniques reaches the hospital stretcher"
    )


def test_a_technique_that_changes_nothing_must_say_that_it_goes_with_others() -> None:
    idle = written("idle", "", "")

    assert refused({**HOME, **idle}) == (
        "idle.toml:13: after: changes nothing wherever it may begin: say what it changes, or accompanies = true"
    )
    with_others = {"idle.toml": "accompanies = true\n" + idle["idle.toml"]}
    assert read_library({**HOME, **with_others}, must_be_reachable=True)["idle"].accompanies


def test_what_only_a_technique_outside_every_option_leads_to_is_never_reached_by_one() -> None:
    carry = written("carry", 'place = ["ground"]', 'place = "cot"')
    outside = {"carry.toml": "is_ranked = false\n" + carry["carry.toml"]}
    on = written("on", 'place = ["cot"]', 'place = "hospital stretcher"')

    assert refused({**HOME, **outside, **on}).startswith("on.toml:11: before.place: never begins")
    assert unreachable(read_library({**HOME, **carry, **on}), {}) == ()


def test_nobody_asks_a_few_files_for_a_whole_way_unless_told_to() -> None:
    never = written("never", 'place = ["vehicle"]', 'place = "hospital stretcher"')

    assert read_library(never)["never"].order == 1


def test_every_technique_that_comes_along_is_of_use_from_some_found_state() -> None:
    assert unreachable(bundled_library(), technique_texts()) == ()


def test_an_athlete_is_found_in_words_that_every_file_knows() -> None:
    states = list(found_states())

    assert len(states) == len(set(states)) == 4 * 4 * 3 * 3 * 2
    assert all(value in STATE_VALUES[name] for state in states for name, value in state._asdict().items())
