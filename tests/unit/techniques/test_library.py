"""Technique files: those that come along load, and every way a file can contradict itself is told with what to do."""

import json
import tomllib
from dataclasses import replace

import pytest

from onthree.sources import technique_texts
from onthree.techniques.library import Library, TechniqueFileError, bundled_library, read_library, technique_schema
from onthree.techniques.state import FOUND_POSITIONS, GEAR_KINDS, SKILLS, STATE_VALUES, SURFACES, WAYS, found

SLIDE = """\
id = "slide"
title = "Slide over"
order = 10
source = "common-practice"

[handling]
counts = true
evidence = "slide"
depends_on = ["device", "place"]

[before]
position = ["supine"]
body = ["strapped"]

[after]
head = "secured"

[[role]]
id = "head"
does = "holds the head"
count = 2
least = 1
skill = "in-line hold"
source = "common-practice"

[[need]]
kind = "straps"
checks = ["present", "accessory"]
when = { device = ["scoop"] }
source = "common-practice"

[[limit]]
field = "surface"
values = ["ice"]
verdict = "caution"
reason = "slippery"
fixable_by = "venue"
source = "common-practice"

[[task]]
id = "slide"
does = "slides"
who = ["head"]
usual_s = 10
slow_s = 20
guess = true
"""

CONTRADICTIONS = {
    "file named otherwise": (
        'id = "slide"\ntitle', 'id = "glide"\ntitle',
        "id: is 'glide': name the file glide.toml",
    ),
    "unknown state before": (
        '["supine"]', '["supine", "sideways"]',
        "before.position: 'sideways' given, expected one of: supine, prone, side, sitting",
    ),
    "unknown state after": (
        'head = "secured"', 'head = "taped"',
        "after.head: 'taped' given, expected one of: free, held, held by crew, secured",
    ),
    "a change that changes nothing": (
        "[after]\n", '[after]\nposition = "supine"\n',
        "after.position: is 'supine' before and after: list only what changes",
    ),
    "head secured on a loose body": (
        'body = ["strapped"]\n', "",
        "after.head: secures the head while the body may be loose: ask for body strapped before (torso, then head)",
    ),
    "body loosened under a secured head": (
        'head = "secured"', 'body = "loose"',
        "after.body: loosens the body while the head may stay secured: release the head first (head = held)",
    ),
    "more people at least than usual": (
        "least = 1", "least = 3",
        "role.0.least: is 3, more than the usual 2: least is the fewest allowed",
    ),
    "role without task": (
        'who = ["head"]', "who = []",
        "role.0.id: 'head' has no task: give it one or leave the role out",
    ),
    "task of nobody known": (
        'who = ["head"]', 'who = ["head", "legs"]',
        "task.0.who: 'legs' given, expected one of: head",
    ),
    "task after none known": (
        'who = ["head"]', 'who = ["head"]\nafter = ["lift"]',
        "task.0.after: 'lift' given, expected one of: slide",
    ),
    "slow is quicker than usual": (
        "slow_s = 20", "slow_s = 5",
        "task.0.slow_s: is 5 s, quicker than the usual 10 s",
    ),
    "time without address": (
        "guess = true\n", "",
        "task.0.source: a time needs a source, or guess = true",
    ),
    "failure without fallback": (
        "guess = true\n", "guess = true\nfails_prob = 0.1\n",
        "task.0.otherwise: fails_prob and otherwise go together: what is done when it fails?",
    ),
    "fallback without failure": (
        "guess = true\n", "guess = true\notherwise = { usual_s = 5, slow_s = 9, guess = true }\n",
        "task.0.otherwise: fails_prob and otherwise go together: what is done when it fails?",
    ),
    "tasks in a circle": (
        'who = ["head"]', 'who = ["head"]\nafter = ["slide"]',
        "task: the tasks wait for each other in a circle: slide -> slide",
    ),
    "need in an unknown state": (
        '{ device = ["scoop"] }', '{ device = ["tray"] }',
        "need.0.when.device: 'tray' given, expected one of: none, long board, scoop, vacuum mattress",
    ),
    "need on a state the handling does not depend on": (
        '{ device = ["scoop"] }', '{ mask = ["screws"] }',
        "need.0.when.mask: add 'mask' to handling.depends_on: the need depends on it",
    ),
    "accessory on a place the handling does not depend on": (
        'depends_on = ["device", "place"]', 'depends_on = ["device"]',
        "handling.depends_on: add 'place': an accessory is checked against what the athlete lies on",
    ),
    "unknown way": (
        'field = "surface"\nvalues = ["ice"]', 'field = "way"\nvalues = ["ladder"]',
        f"limit.0.values: 'ladder' given, expected one of: {', '.join(WAYS)}",
    ),
    "unknown surface": (
        'values = ["ice"]', 'values = ["sand"]',
        f"limit.0.values: 'sand' given, expected one of: {', '.join(SURFACES)}",
    ),
}  # fmt: skip

WRONG_WORDS = {
    "field that does not exist": (
        "order = 10",
        "order = 10\ncolour = 1",
        "colour: is no field here: correct its spelling or take it out",
    ),
    "field left out": ('title = "Slide over"\n', "", "title: is missing: add it"),
    "unknown skill": (
        '"in-line hold"',
        '"juggling"',
        f"role.0.skill: expected one of: {', '.join(SKILLS)} ('juggling' given)",
    ),
    "unknown gear": (
        'kind = "straps"',
        'kind = "rope"',
        f"need.0.kind: expected one of: {', '.join((*GEAR_KINDS, 'cot'))} ('rope' given)",
    ),
    "unknown check": (
        '"accessory"',
        '"shiny"',
        "need.0.checks.1: Input should be 'present', 'in_service', 'rated_load', 'accessory' or 'lifts_itself' "
        "('shiny' given)",
    ),
    "unknown verdict": (
        '"caution"',
        '"never"',
        "limit.0.verdict: Input should be 'unsuitable' or 'caution' ('never' given)",
    ),
    "negative time": ("usual_s = 10", "usual_s = -1", "task.0.usual_s: Input should be greater than 0 (-1 given)"),
    "time that never ends": (
        "slow_s = 20",
        "slow_s = inf",
        "task.0.slow_s: Input should be less than or equal to 3600 (inf given)",
    ),
    "not TOML": ("order = 10", "order =", "the file: is not TOML: Invalid value (at line 3, column 8)"),
}


def problems_of(**texts: str) -> list[str]:
    """What reading the files (name without .toml to text) complains about, without the lines."""
    with pytest.raises(TechniqueFileError) as refused:
        read_library({f"{name}.toml": text for name, text in texts.items()})
    assert str(refused.value) == "\n".join(map(str, refused.value.problems))
    return [str(replace(problem, line=None)) for problem in refused.value.problems]


def changed(old: str, new: str) -> str:
    assert old in SLIDE
    return SLIDE.replace(old, new, 1)


def test_the_file_used_in_these_tests_is_right() -> None:
    assert read_library({"slide.toml": SLIDE})["slide"].title == "Slide over"


@pytest.mark.parametrize("name", [*CONTRADICTIONS, *WRONG_WORDS])
def test_a_wrong_file_is_refused_with_what_to_do(name: str) -> None:
    old, new, problem = {**CONTRADICTIONS, **WRONG_WORDS}[name]

    assert f"slide.toml: {problem}" in problems_of(slide=changed(old, new))


def test_a_role_that_stands_twice_is_refused() -> None:
    role = SLIDE[SLIDE.index("[[role]]") : SLIDE.index("[[need]]")]

    assert "slide.toml: role.1.id: 'head' stands twice: use count for several people" in problems_of(slide=SLIDE + role)


def test_all_problems_of_all_files_are_told_at_once() -> None:
    several = changed("least = 1", "least = 3").replace("slow_s = 20", "slow_s = 5")

    assert problems_of(broken="id = ?", slide=several, other=changed('["supine"]', '["upright"]')) == [
        "broken.toml: the file: is not TOML: Invalid value (at line 1, column 6)",
        "slide.toml: role.0.least: is 3, more than the usual 2: least is the fewest allowed",
        "slide.toml: task.0.slow_s: is 5 s, quicker than the usual 10 s",
        "other.toml: id: is 'slide': name the file slide.toml",
        "other.toml: before.position: 'upright' given, expected one of: supine, prone, side, sitting",
    ]


def test_the_bundled_techniques_load_in_their_usual_order() -> None:
    techniques = bundled_library().techniques

    assert len(techniques) == len(technique_texts()) == 40
    assert [technique.order for technique in techniques] == sorted(technique.order for technique in techniques)
    assert techniques[0].id == "manual_in_line_stabilization"


def test_only_taking_the_device_out_asks_for_an_agreement() -> None:
    asking = [technique.id for technique in bundled_library().techniques if technique.needs_agreement]

    assert asking == ["device_out_on_cot"]


def test_what_medical_direction_must_sign_and_what_never_enters_an_option() -> None:
    techniques = bundled_library().techniques
    unranked = {technique.id for technique in techniques if not technique.is_ranked}

    assert unranked == {"direct_lift_to_cot", "assisted_self_extrication"}
    assert all(technique.condition for technique in techniques if not technique.is_ranked)
    assert {technique.id for technique in techniques if technique.needs_order} == {
        *unranked,
        "equipment_removal_in_vehicle",
    }


def test_the_neuro_check_goes_with_every_handling_and_changes_nothing() -> None:
    library = bundled_library()
    check = library["neuro_check"]
    state = found("side", "screws", place="obstacle")

    assert [technique.id for technique in library.techniques if technique.accompanies] == ["neuro_check"]
    assert check.is_open_in(state) and check.leads_to(state) == state


def test_techniques_change_only_what_they_say() -> None:
    library: Library = bundled_library()
    start = found("prone", "screws")
    held = library["manual_in_line_stabilization"].leads_to(start)

    assert held == start._replace(head="held")
    assert not library["scoop_foot_end_first"].is_open_in(held)
    assert library["log_roll_push_long_board"].leads_to(held) == held._replace(position="supine", device="long board")


@pytest.mark.parametrize(
    ("mask", "tools"),
    [
        ("screws", {"powered screwdriver"}),
        ("quick release", {"quick-release tool"}),
        ("fastening not known", {"powered screwdriver", "quick-release tool"}),
    ],
)
def test_a_tool_that_opens_the_fastening_must_be_there_and_a_cutting_tool_in_reserve(
    mask: str, tools: set[str]
) -> None:
    opens, reserve = bundled_library()["face_mask_off"].needs_in(found("supine", mask))

    assert (opens.is_certain, set(opens.kinds)) == (True, {*tools, "cutting tool"})
    assert (reserve.is_certain, reserve.kinds) == (False, ("cutting tool",))


def test_a_found_athlete_is_in_nobodys_hands() -> None:
    for position in FOUND_POSITIONS:
        state = found(position, "screws")
        assert (state.place, state.device, state.head, state.body) == ("ground", "none", "free", "loose")


def test_the_schema_holds_every_word_a_file_may_use() -> None:
    schema = technique_schema()
    enums = {json.dumps(value) for value in _enums(schema)}

    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    for words in (list(SKILLS), [*GEAR_KINDS, "cot"], list(STATE_VALUES), ["unsuitable", "caution"]):
        assert json.dumps(words) in enums
    assert schema["additionalProperties"] is False


def test_the_schema_asks_for_what_every_bundled_file_has() -> None:
    required = set(technique_schema()["required"])

    for name, text in technique_texts().items():
        assert required <= tomllib.loads(text).keys(), name


def _enums(schema: object) -> list[object]:
    if isinstance(schema, dict):
        own = [schema["enum"]] if isinstance(schema.get("enum"), list) else []
        return own + [enum for value in schema.values() for enum in _enums(value)]
    return [enum for value in schema for enum in _enums(value)] if isinstance(schema, list) else []
