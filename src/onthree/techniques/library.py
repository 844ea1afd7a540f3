"""Technique files to a checked library; every problem of every file in one report."""

import json
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from graphlib import CycleError, TopologicalSorter
from hashlib import sha256
from typing import Any

from pydantic import TypeAdapter, ValidationError

from onthree.sources import all_sources, parameter_names, technique_texts
from onthree.techniques.lines import line_of
from onthree.techniques.state import STATE_VALUES, State, found_states
from onthree.techniques.technique import LIMIT_VALUES, Technique

SCHEMA_VERSION = 1
_FILE = TypeAdapter(Technique)


@dataclass(frozen=True)
class FileProblem:
    """One thing wrong in a file: where, what was found, and what to do; ``line`` None where it is on no line."""

    file: str
    field: str
    problem: str
    line: int | None = None

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.field}: {self.problem}"


class TechniqueFileError(ValueError):
    """Technique files that cannot be used; carries every problem found."""

    def __init__(self, problems: tuple[FileProblem, ...]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = problems


@dataclass(frozen=True, eq=False)
class Library:
    """Techniques in the order in which they are usually done, with unique identifiers."""

    techniques: tuple[Technique, ...]

    @cached_property
    def content_hash(self) -> str:
        """A hash of everything the techniques say: libraries with the same one are the same library."""
        return sha256(repr(self.techniques).encode()).hexdigest()

    def __hash__(self) -> int:
        return hash(self.content_hash)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Library) and self.content_hash == other.content_hash

    def __getitem__(self, technique_id: str) -> Technique:
        return self.by_id[technique_id]

    @property
    def moves(self) -> tuple[Technique, ...]:
        """The techniques that options are made of: neither done beside every handling nor kept for local protocol."""
        return tuple(one for one in self.techniques if one.is_ranked and not one.accompanies)

    def on_way(self, way: str) -> "Library":
        """The library without what is unsuitable on this way of the cot; the same object each time."""
        return _on_way(self, way)

    @property
    def by_id(self) -> Mapping[str, Technique]:
        """The techniques by identifier."""
        return {technique.id: technique for technique in self.techniques}


@cache
def _on_way(library: Library, way: str) -> Library:
    return Library(
        tuple(
            technique
            for technique in library.techniques
            if not any(
                limit.field == "way" and limit.verdict == "unsuitable" and way in limit.values
                for limit in technique.limit
            )
        )
    )


def technique_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a technique file."""
    described = _FILE.json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "schema_version": SCHEMA_VERSION, **described}


def read_library(texts: Mapping[str, str], *, must_be_reachable: bool = False) -> Library:
    """Read technique files (file name to TOML text); all of them together must be reachable where that is asked.

    Raises TechniqueFileError with all problems of all files.
    """
    techniques: list[Technique] = []
    problems: list[FileProblem] = []
    for file, text in texts.items():
        try:
            techniques.append(_read(file, text))
        except TechniqueFileError as error:
            problems.extend(error.problems)
    library = Library(tuple(sorted(techniques, key=lambda technique: (technique.order, technique.id))))
    if must_be_reachable and not problems:
        problems.extend(unreachable(library, texts))
    if problems:
        raise TechniqueFileError(tuple(problems))
    return library


def unreachable(library: Library, texts: Mapping[str, str]) -> tuple[FileProblem, ...]:
    """Techniques that can never begin, however an athlete is found, that change nothing, or that lead nowhere.

    ``texts`` are the files of the library, for the lines.
    """
    states = _reached(library.moves)
    arriving = _arriving(_reached(library.techniques))
    found = ((f"{one.id}.toml", _dead_end(one, states, arriving)) for one in library.techniques)
    return tuple(problem_in(file, texts.get(file, ""), *problem) for file, problem in found if problem)


def _reached(techniques: Collection[Technique]) -> dict[State, set[State]]:
    """Every state that techniques lead to from a found state, and the states one technique further."""
    following: dict[State, set[State]] = {}
    waiting = list(found_states())
    while waiting:
        state = waiting.pop()
        if state not in following:
            following[state] = {one.leads_to(state) for one in techniques if one.is_open_in(state)}
            waiting.extend(following[state])
    return following


def _arriving(following: Mapping[State, set[State]]) -> set[State]:
    """The states from which some chain of techniques leads to the hospital stretcher."""
    before: dict[State, list[State]] = {}
    for state, after in following.items():
        for one in after:
            before.setdefault(one, []).append(state)
    arriving: set[State] = set()
    waiting = [state for state in following if state.place == "hospital stretcher"]
    while waiting:
        state = waiting.pop()
        if state not in arriving:
            arriving.add(state)
            waiting.extend(before.get(state, ()))
    return arriving


def _dead_end(technique: Technique, states: Collection[State], arriving: set[State]) -> tuple[str, str] | None:
    """The field and what is wrong with it, None if options can go on from the technique."""
    open_in = [state for state in states if technique.is_open_in(state)]
    if not open_in:
        unmet = min((_unmet(technique, state) for state in states), key=len)
        words = " and ".join(f"{name} {' or '.join(technique.before[name])}" for name in unmet)
        return f"before.{unmet[0]}", f"never begins: nothing leads to {words} together with the rest of before"
    if technique.accompanies:
        return None
    if all(technique.leads_to(state) == state for state in open_in):
        return "after", "changes nothing wherever it may begin: say what it changes, or accompanies = true"
    if arriving.isdisjoint(map(technique.leads_to, open_in)):
        return "after", "leads nowhere: after it no chain of techniques reaches the hospital stretcher"
    return None


def _unmet(technique: Technique, state: State) -> list[str]:
    return [name for name, allowed in technique.before.items() if getattr(state, name) not in allowed]


def _read(file: str, text: str) -> Technique:
    try:
        technique = _FILE.validate_json(json.dumps(tomllib.loads(text), default=str))
    except tomllib.TOMLDecodeError as error:
        raise TechniqueFileError((not_toml(file, text, error),)) from None
    except ValidationError as error:
        raise TechniqueFileError(tuple(as_problem(file, text, found) for found in error.errors())) from None
    if problems := tuple(problem_in(file, text, *found) for found in _contradictions(file, technique)):
        raise TechniqueFileError(problems)
    return technique


def problem_in(file: str, text: str, field: str, problem: str) -> FileProblem:
    """A problem with a field of a file, and the line on which the field stands."""
    return FileProblem(file, field, problem, line_of(text, field))


def not_toml(file: str, text: str, error: tomllib.TOMLDecodeError) -> FileProblem:
    """A file that cannot be read at all, and where reading stopped."""
    stopped = re.search(r"at line (\d+)", str(error))
    line = int(stopped[1]) if stopped else len(text.splitlines())
    return FileProblem(file, "the file", f"is not TOML: {error}", line)


_PLAIN = {
    "missing": "is missing: add it",
    "unexpected_keyword_argument": "is no field here: correct its spelling or take it out",
    "extra_forbidden": "is no field here: correct its spelling or take it out",
}
"""What the schema calls a problem to what a person would say."""


def as_problem(file: str, text: str, found: Any) -> FileProblem:
    """One thing that the schema of a file refused, as a problem to show."""
    place = ".".join(str(part) for part in found["loc"]) or "the file"
    plain = _PLAIN.get(found["type"])
    given = "" if plain else f" ({found['input']!r} given)"
    return problem_in(file, text, place, plain or found["msg"].removeprefix("Value error, ") + given)


def _contradictions(file: str, technique: Technique) -> Iterator[tuple[str, str]]:
    if file.removesuffix(".toml") != technique.id:
        yield "id", f"is {technique.id!r}: name the file {technique.id}.toml"
    yield from _unlisted_sources(technique)
    yield from _state_contradictions(technique)
    yield from _role_contradictions(technique)
    yield from _task_contradictions(technique)
    yield from _need_and_limit_contradictions(technique)


def _unlisted_sources(technique: Technique) -> Iterator[tuple[str, str]]:
    """Sources that are cited and stand in no list of sources."""
    cited = {"source": technique.source}
    for name in ("role", "need", "limit", "caution", "condition", "task"):
        cited |= {f"{name}.{place}.source": one.source for place, one in enumerate(getattr(technique, name))}
    for field, key in cited.items():
        if key and key not in all_sources():
            yield field, f"{key!r} given, the key of a source in data/sources.toml expected: add its citation there"


def _state_contradictions(technique: Technique) -> Iterator[tuple[str, str]]:
    for name, allowed in technique.before.items():
        yield from _unknown_values(f"before.{name}", allowed, STATE_VALUES[name])
        if technique.after.get(name, "") in allowed and len(allowed) == 1:
            yield f"after.{name}", f"is {allowed[0]!r} before and after: list only what changes"
    for name, value in technique.after.items():
        yield from _unknown_values(f"after.{name}", (value,), STATE_VALUES[name])
    if technique.after.get("head") == "secured" and technique.before.get("body") != ("strapped",):
        yield (
            "after.head",
            "secures the head while the body may be loose: ask for body strapped before (torso, then head)",
        )
    if technique.after.get("body") == "loose" and "secured" in _head_after(technique):
        yield "after.body", "loosens the body while the head may stay secured: release the head first (head = held)"


def _head_after(technique: Technique) -> tuple[str, ...]:
    if "head" in technique.after:
        return (technique.after["head"],)
    return technique.before.get("head", STATE_VALUES["head"])


def _role_contradictions(technique: Technique) -> Iterator[tuple[str, str]]:
    used = {role for task in technique.task for role in task.who}
    names = [role.id for role in technique.role]
    for number, role in enumerate(technique.role):
        if role.least > role.count:
            yield (
                f"role.{number}.least",
                f"is {role.least}, more than the usual {role.count}: least is the fewest allowed",
            )
        if role.id not in used:
            yield f"role.{number}.id", f"{role.id!r} has no task: give it one or leave the role out"
        if role.count_by_load and role.count_by_load not in parameter_names():
            yield f"role.{number}.count_by_load", f"no parameter is called {role.count_by_load!r}: see data/parameters"
        if names.count(role.id) > 1:
            yield f"role.{number}.id", f"{role.id!r} stands twice: use count for several people"


def _task_contradictions(technique: Technique) -> Iterator[tuple[str, str]]:
    roles = {role.id for role in technique.role}
    tasks = {task.id for task in technique.task}
    for number, task in enumerate(technique.task):
        place = f"task.{number}"
        yield from _unknown_values(f"{place}.who", task.who, tuple(sorted(roles)))
        yield from _unknown_values(f"{place}.after", task.after, tuple(sorted(tasks)))
        if task.slow_s < task.usual_s:
            yield f"{place}.slow_s", f"is {task.slow_s:g} s, quicker than the usual {task.usual_s:g} s"
        if not task.guess and not task.source:
            yield f"{place}.source", "a time needs a source, or guess = true"
        if (task.fails_prob > 0) != (task.otherwise is not None):
            yield f"{place}.otherwise", "fails_prob and otherwise go together: what is done when it fails?"
    try:
        TopologicalSorter({task.id: task.after for task in technique.task}).prepare()
    except CycleError as error:
        yield "task", f"the tasks wait for each other in a circle: {' -> '.join(error.args[1])}"


def _need_and_limit_contradictions(technique: Technique) -> Iterator[tuple[str, str]]:
    for number, need in enumerate(technique.need):
        for name, allowed in need.when.items():
            yield from _unknown_values(f"need.{number}.when.{name}", allowed, STATE_VALUES[name])
            if name not in technique.handling.depends_on:
                yield f"need.{number}.when.{name}", f"add {name!r} to handling.depends_on: the need depends on it"
    if "accessory" in {check for need in technique.need for check in need.checks}:
        for name in sorted({"device", "place"} - set(technique.handling.depends_on)):
            yield "handling.depends_on", f"add {name!r}: an accessory is checked against what the athlete lies on"
    for number, limit in enumerate(technique.limit):
        yield from _unknown_values(f"limit.{number}.values", limit.values, LIMIT_VALUES[limit.field])


def _unknown_values(place: str, given: tuple[str, ...], known: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for value in given:
        if value not in known:
            yield place, f"{value!r} given, expected one of: {', '.join(known)}"


@cache
def library_hash() -> str:
    """A short hash of the bundled technique files: two answers with the same one rest on the same techniques."""
    digest = sha256()
    for name, text in sorted(technique_texts().items()):
        digest.update(f"{name}\0{text}\0".encode())
    return digest.hexdigest()[:8]


@cache
def bundled_library() -> Library:
    """The techniques that come with onthree."""
    return read_library(technique_texts())
