"""The phases file of a film: when it was still, which stretch is which technique, marked by hand. TOML or CSV.

    neutral = ["0:00.5", "0:02"]       # a still stretch in neutral; all angles count from there

    [[movement]]                       # a nod and a turn of the head alone show its axes; leave out both or none
    kind = "nod"
    start = 3
    end = 6.5

    [[movement]]
    kind = "turn"
    start = 7
    end = 10

    [[phase]]
    name = "log roll"
    technique = "log_roll_push_long_board"     # its id; may be left out
    start = "0:08"
    end = "0:14.250"

The same as CSV has the columns kind, name, technique, start, end, and kind is neutral, nod, turn or phase. Moments are
seconds, or m:ss.mmm, counted from the first frame of the film.
"""

import csv
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite
from pathlib import Path
from typing import Any

from onthree.capture.text_file import TextFileError, text_of
from onthree.kinematics.measures import Phase
from onthree.techniques.library import bundled_library

COLUMNS = ("kind", "name", "technique", "start", "end")
MOVEMENTS = ("nod", "turn")
MOST_NEAR = 4
EXAMPLE = "log_roll_supine_long_board"
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d(?:\.\d{1,6})?)")

Row = Mapping[str, Any]
Stretch = tuple[float, float]


class PhasesError(ValueError):
    """A phases file that cannot be used; says every problem at once."""

    def __init__(self, name: str, problems: list[str]) -> None:
        super().__init__(f"{name}: " + "; ".join(problems))
        self.problems = problems


@dataclass(frozen=True)
class MarkedPhases:
    """What a person marked on a film: neutral or None, movements that show axes by kind, phases, their techniques."""

    neutral_s: Stretch | None
    movements_s: Mapping[str, Stretch]
    phases: tuple[Phase, ...]
    techniques: Mapping[str, str]


NOTHING_MARKED = MarkedPhases(None, {}, (), {})


def read_phases(path: Path) -> MarkedPhases:
    """Read a phases file. Raises PhasesError with every problem and its row."""
    try:
        text = text_of(path)
        rows = list(_csv_rows(text) if path.suffix.lower() == ".csv" else _toml_rows(tomllib.loads(text)))
    except (tomllib.TOMLDecodeError, csv.Error) as error:
        raise PhasesError(path.name, [f"cannot be read: {error}"]) from None
    except (TextFileError, _NotAPhasesFileError) as error:
        raise PhasesError(path.name, [str(error)]) from None
    problems = [f"{place}: {problem}" for place, row in rows for problem in _problems_of(row)]
    problems += _problems_together(rows)
    if problems:
        raise PhasesError(path.name, problems)
    return _marked([row for _, row in rows])


def moment_s(written: object) -> float | None:
    """A moment in seconds, from a number or ``m:ss.mmm``; None for anything else."""
    if isinstance(written, bool):
        return None
    if isinstance(written, int | float):
        return float(written) if isfinite(written) and written >= 0 else None
    text = str(written).strip()
    if clock := _CLOCK.fullmatch(text):
        return 60 * int(clock[1]) + float(clock[2])
    return float(text) if re.fullmatch(r"\d+(?:\.\d+)?", text) else None


class _NotAPhasesFileError(ValueError):
    """A file of another shape."""


def _csv_rows(text: str) -> Iterator[tuple[str, Row]]:
    reader = csv.DictReader(text.splitlines())
    if missing := [name for name in ("kind", "start", "end") if name not in (reader.fieldnames or ())]:
        given = ", ".join(reader.fieldnames or ()) or "none"
        raise _NotAPhasesFileError(f"columns {given} given, {', '.join(COLUMNS)} expected: add {', '.join(missing)}")
    for row in reader:
        yield f"row {reader.line_num}", {name: value for name, value in row.items() if name and value}


def _toml_rows(written: Row) -> Iterator[tuple[str, Row]]:
    if unknown := set(written) - {"neutral", "movement", "phase"}:
        raise _NotAPhasesFileError(f"{', '.join(sorted(unknown))} not known, neutral, movement and phase expected")
    if "neutral" in written:
        ends = written["neutral"]
        if not isinstance(ends, list) or len(ends) != 2:
            raise _NotAPhasesFileError(f'neutral {ends!r} given, ["start", "end"] expected')
        yield "neutral", {"kind": "neutral", "start": ends[0], "end": ends[1]}
    for kind in ("movement", "phase"):
        rows = written.get(kind, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise _NotAPhasesFileError(f"{kind} is to be written as [[{kind}]], once for each")
        for number, row in enumerate(rows, start=1):
            yield f"{kind} {number}", {**row, **({"kind": "phase"} if kind == "phase" else {})}


def _problems_of(row: Row) -> Iterator[str]:
    kinds = ("neutral", *MOVEMENTS, "phase")
    if row.get("kind") not in kinds:
        yield f"kind {row.get('kind')!r} given, one of {', '.join(kinds)} expected"
    ends = [moment_s(row.get(end)) for end in ("start", "end")]
    for end, at_s in zip(("start", "end"), ends, strict=True):
        if at_s is None:
            yield f"{end} {row.get(end)!r} given, seconds or m:ss.mmm from the first frame expected"
    if ends[0] is not None and ends[1] is not None and ends[0] >= ends[1]:
        yield f"{row.get('start')} to {row.get('end')} given, a start before the end expected"
    if row.get("kind") == "phase":
        yield from _problems_of_phase(row)
    if unknown := set(row) - set(COLUMNS):
        yield f"{', '.join(sorted(unknown))} not known, {', '.join(COLUMNS)} expected"


def _problems_of_phase(row: Row) -> Iterator[str]:
    if not _name(row):
        yield "no name and no technique: say what was done"
    known = bundled_library().by_id
    if row.get("technique") and _technique(row) not in known:
        typed = _technique(row)
        near = [one for one in known if typed in one][:MOST_NEAR] or get_close_matches(typed, known, MOST_NEAR)
        fix = f"did you mean {', '.join(near)}?" if near else f"an id such as {EXAMPLE} expected, or leave it out"
        yield f"technique {row['technique']!r} given: {fix}"


def _problems_together(rows: list[tuple[str, Row]]) -> Iterator[str]:
    once = [row["kind"] for _, row in rows if row.get("kind") in ("neutral", *MOVEMENTS)]
    yield from (
        f"{kind} is marked {once.count(kind)} times: once expected" for kind in set(once) if once.count(kind) > 1
    )
    if len({kind for kind in once if kind in MOVEMENTS}) == 1:
        yield "nod and turn show the axes only together: mark both, or none"
    names = [_name(row) for _, row in rows if row.get("kind") == "phase"]
    yield from (
        f"two phases are called {name!r}: give each its own name"
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    )
    if not rows:
        yield "nothing is marked: add a [[phase]], or leave the file out"


def _name(row: Row) -> str:
    return str(row.get("name") or row.get("technique") or "")


def _technique(row: Row) -> str:
    """The identifier as typed, with blanks or hyphens for underscores."""
    return re.sub(r"[ -]", "_", str(row.get("technique") or "").strip().lower())


def _marked(rows: list[Row]) -> MarkedPhases:
    stretches = {row["kind"]: _stretch_s(row) for row in rows if row["kind"] != "phase"}
    phases = [row for row in rows if row["kind"] == "phase"]
    return MarkedPhases(
        stretches.pop("neutral", None),
        stretches,
        tuple(Phase(_name(row), *_stretch_s(row)) for row in phases),
        {_name(row): _technique(row) for row in phases if row.get("technique")},
    )


def _stretch_s(row: Row) -> Stretch:
    start_s, end_s = moment_s(row["start"]), moment_s(row["end"])
    assert start_s is not None and end_s is not None
    return start_s, end_s
