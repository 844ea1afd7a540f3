"""The films of one evening, and how far two runs of the same technique differ on it anyway.

[[film]]
file = "hold-1.mp4"                # beside this file, or with its folder
kind = "hold"                      # nobody moves anything: two of them

[[film]]
file = "roll-1.mp4"
kind = "repeat"                    # one of three runs of one technique
phases = "roll-1.phases.toml"

[[film]]
file = ["lift-left.mp4", "lift-right.mp4"]   # two phones, one run
kind = "run"                       # anything else; may be left out
"""

import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from onthree.actions.measure import FilmResult, PhaseResult
from onthree.capture.phases_file import NOTHING_MARKED, MarkedPhases, read_phases
from onthree.capture.text_file import TextFileError, text_of
from onthree.kinematics.measures import NAMES
from onthree.kinematics.repeatability import Repeatability, beside_difference_deg, repeatability

KINDS = ("hold", "repeat", "run")
COMPARED = "peak_total_deg"


class EveningError(ValueError):
    """A list of films that cannot be used; says every problem at once."""

    def __init__(self, name: str, problems: list[str]) -> None:
        super().__init__(f"{name}: " + "; ".join(problems))


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """One run to be measured: its film, or those of two phones, what was marked, and what it is for."""

    paths: tuple[Path, ...]
    marked: MarkedPhases = NOTHING_MARKED
    kind: str = "run"


@dataclass(frozen=True, eq=False)
class Tonight:
    """How far two runs of one technique differ anyway, None with ``why_not`` if the films do not tell; differences."""

    noise: Repeatability | None
    why_not: str
    differences: tuple[str, ...]


def read_evening(path: Path) -> tuple[Wanted, ...]:
    """Read a list of films. Raises EveningError with every problem."""
    try:
        rows = tomllib.loads(text_of(path)).get("film", [])
    except tomllib.TOMLDecodeError as error:
        raise EveningError(path.name, [f"cannot be read: {error}"]) from None
    except TextFileError as error:
        raise EveningError(path.name, [str(error)]) from None
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        raise EveningError(path.name, ["no films: add a [[film]] for each"])
    problems = [f"film {number}: {problem}" for number, row in enumerate(rows, 1) for problem in _problems_of(row)]
    wanted = []
    for number, row in enumerate(rows, 1):
        try:
            wanted.append(_wanted(path.parent, row))
        except ValueError as error:
            problems.append(f"film {number}: {error}")
    if problems:
        raise EveningError(path.name, problems)
    return tuple(wanted)


def tonight(results: Sequence[tuple[Wanted, FilmResult]]) -> Tonight:
    """What the holds and repeats among the films say, and each film's largest turn beside the first one's."""
    holds = [one.measures.values for wanted, film in results if wanted.kind == "hold" for one in film.phases]
    repeats = defaultdict(list)
    for wanted, film in results:
        if wanted.kind == "repeat":
            for one in film.phases:
                repeats[one.technique or one.phase.name].append(one.measures.values)
    noise, why_not = None, ""
    try:
        _check_each_once([film for wanted, film in results if wanted.kind != "run"])
        noise = repeatability(holds or np.empty((0, len(NAMES))), [np.array(group) for group in repeats.values()])
    except ValueError as error:
        why_not = f"how far two runs differ anyway is not known, {error}"
    return Tonight(noise, why_not, tuple(_differences(results, noise)))


def _check_each_once(films: Sequence[FilmResult]) -> None:
    """A film listed twice differs from itself by nothing. Raises ValueError."""
    first: dict[str, FilmResult] = {}
    for film in films:
        if before := first.get(film.read.motion.source_sha256):
            raise ValueError(f"{film.name} is the film {before.name} once more: list each film once")
        first[film.read.motion.source_sha256] = film


def _differences(results: Sequence[tuple[Wanted, FilmResult]], noise: Repeatability | None) -> Iterator[str]:
    """Each phase's largest turn against that phase of an earlier run, with what two runs differ by anyway.

    A phase that no earlier run has is set against the first phase of the first run; phases of one film never meet.
    """
    place = NAMES.index(COMPARED)
    figure_deg = np.nan if noise is None else float(noise.figure[place])
    films = [film for wanted, film in results if wanted.kind != "hold"]
    runs = [(number, one) for number, film in enumerate(films) for one in film.phases]
    first: dict[str, tuple[int, PhaseResult]] = {}
    for number, one in runs:
        before = first.setdefault(one.technique or one.phase.name, (number, one))
        before_number, other = before if before[0] < number else runs[0]
        if before_number == number:
            continue
        difference_deg = float(one.measures.values[place] - other.measures.values[place])
        said = beside_difference_deg(difference_deg, figure_deg)
        yield f"{_called(films[number], one)} against {_called(films[before_number], other)}, largest turn: {said}"


def _called(film: FilmResult, one: PhaseResult) -> str:
    return f"{one.phase.name} in {film.name}"


def _problems_of(row: Mapping[str, Any]) -> Iterator[str]:
    if not _files(row):
        yield f"file {row.get('file')!r} given, the name of a film, or of two of one run, expected"
    if row.get("kind", "run") not in KINDS:
        yield f"kind {row.get('kind')!r} given, one of {', '.join(KINDS)} expected"
    if unknown := set(row) - {"file", "kind", "phases"}:
        yield f"{', '.join(sorted(unknown))} not known, file, kind and phases expected"


def _files(row: Mapping[str, Any]) -> list[str]:
    files = row.get("file")
    files = [files] if isinstance(files, str) else files
    is_right = isinstance(files, list) and 1 <= len(files) <= 2 and all(isinstance(file, str) for file in files)
    return list(files) if is_right and files else []


def _wanted(folder: Path, row: Mapping[str, Any]) -> Wanted:
    marked = read_phases(folder / str(row["phases"])) if "phases" in row else NOTHING_MARKED
    return Wanted(paths=tuple(folder / file for file in _files(row)), marked=marked, kind=str(row.get("kind", "run")))
