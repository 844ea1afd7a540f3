"""Life-first pages: what stands outside every ranking, what is done then, and what is known about the equipment."""

import json
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Annotated, Any

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass

from onthree.sources import all_sources, life_first_texts, source
from onthree.techniques.library import FileProblem, as_problem, not_toml, problem_in
from onthree.techniques.technique import Fact

NO_SOURCE = "common-practice"
DECIDED_LOCALLY = "Decided locally, with medical direction."
UNMARKED = "Lines without a number are common practice, no source."
_STRICT = ConfigDict(extra="forbid")
_SCORES = ("degree", "°", " deg ")

Speakable = Annotated[str, Field(min_length=1, max_length=90)]


class LifeFirstFileError(ValueError):
    """Life-first pages that cannot be used; carries every problem found."""

    def __init__(self, problems: tuple[FileProblem, ...]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = problems


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Line(Fact):
    """What one sees, or one side of a conflict."""

    says: str


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Action(Fact):
    """One thing to do, short enough to be called out."""

    does: Speakable


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Afterwards(Fact):
    """What is reassessed or recorded once the first minutes are over."""

    does: str


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Known(Fact):
    """What is known about equipment in one sport, with the value as its source prints it."""

    sport: str
    says: str
    printed: str = ""

    def __str__(self) -> str:
        return ": ".join(part for part in (self.sport, self.says.rstrip("."), self.printed) if part)


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class Conflict:
    """A question that the sources answer differently: both sides are shown, and it is decided locally."""

    about: str
    one: Line
    other: Line


@dataclass(frozen=True, config=_STRICT, kw_only=True)
class LifeFirstPage:
    """One page: signs, at most seven actions in their order, what is known, conflicts, and what comes afterwards."""

    id: str
    title: str
    order: int
    sign: Annotated[tuple[Line, ...], Field(min_length=1)]
    action: Annotated[tuple[Action, ...], Field(min_length=1, max_length=7)]
    known: tuple[Known, ...] = ()
    conflict: tuple[Conflict, ...] = ()
    afterwards: Annotated[tuple[Afterwards, ...], Field(min_length=1)]

    @property
    def about(self) -> str:
        """What an order of medical direction names to approve this page."""
        return f"life_first/{self.id}"

    def facts(self) -> Iterator[tuple[str, Fact]]:
        """Every statement with the place where it stands."""
        for part in ("sign", "action", "known", "afterwards"):
            yield from ((f"{part}.{number}", fact) for number, fact in enumerate(getattr(self, part)))
        for number, conflict in enumerate(self.conflict):
            yield f"conflict.{number}.one", conflict.one
            yield f"conflict.{number}.other", conflict.other

    @property
    def sources(self) -> tuple[str, ...]:
        """Every source of the page with the places in it, in the order of the numbers that ``mark`` gives."""
        facts = [fact for _, fact in self.facts()]
        return tuple(_cited(key, [fact for fact in facts if fact.source == key]) for key in self._keys())

    def mark(self, fact: Fact) -> str:
        """The number of the fact's source, such as ``[2]``; nothing for common practice."""
        return "" if fact.source == NO_SOURCE else f"[{self._keys().index(fact.source) + 1}]"

    def _keys(self) -> list[str]:
        return list(dict.fromkeys(fact.source for _, fact in self.facts() if fact.source != NO_SOURCE))


def _cited(key: str, facts: list[Fact]) -> str:
    cited = source(key)
    places = "; ".join(dict.fromkeys(fact.where for fact in facts))
    memory = "" if not cited.is_read or all(fact.read for fact in facts) else " [from memory, not checked]"
    return f"{cited}: {places}{memory}"


_FILE = TypeAdapter(LifeFirstPage)


def read_life_first(texts: Mapping[str, str]) -> tuple[LifeFirstPage, ...]:
    """Read life-first pages (file name to TOML text), in their order.

    Raises LifeFirstFileError with all problems of all files.
    """
    pages: list[LifeFirstPage] = []
    problems: list[FileProblem] = []
    for file, text in texts.items():
        try:
            page = _FILE.validate_json(json.dumps(tomllib.loads(text), default=str))
        except tomllib.TOMLDecodeError as error:
            problems.append(not_toml(file, text, error))
        except ValidationError as error:
            problems.extend(as_problem(file, text, found) for found in error.errors())
        else:
            pages.append(page)
            problems.extend(problem_in(file, text, *found) for found in _contradictions(file, page))
            problems.extend(problem_in(file, text, *found) for found in _scores(tomllib.loads(text)))
    if problems:
        raise LifeFirstFileError(tuple(problems))
    return tuple(sorted(pages, key=lambda page: (page.order, page.id)))


def _contradictions(file: str, page: LifeFirstPage) -> Iterator[tuple[str, str]]:
    if file.removesuffix(".toml") != page.id:
        yield "id", f"is {page.id!r}: name the file {page.id}.toml"
    for place, fact in page.facts():
        if fact.source not in all_sources():
            yield f"{place}.source", f"{fact.source!r} is not listed in data/sources.toml: add it, or say {NO_SOURCE!r}"
        elif fact.source != NO_SOURCE and not fact.where:
            yield f"{place}.where", "is missing: say where in the source it stands"


def _scores(value: Any, place: str = "") -> Iterator[tuple[str, str]]:
    """Texts that speak of degrees."""
    if isinstance(value, str):
        if any(word in f"{value} ".casefold() for word in _SCORES):
            yield place, f"{value!r}: nothing here is scored in degrees; leave them out"
    else:
        for name, inner in value.items() if isinstance(value, dict) else enumerate(value):
            if isinstance(inner, str | dict | list):
                yield from _scores(inner, f"{place}.{name}" if place else str(name))


@cache
def life_first_pages() -> tuple[LifeFirstPage, ...]:
    """The life-first pages that come with onthree, in their order."""
    return read_life_first(life_first_texts())
