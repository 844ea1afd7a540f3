"""Rows that cannot be right as they stand: alone, such as an end before its start, or beside others, such as one
jersey number on two athletes.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, time
from typing import Any

from onthree.programme.drawn_plan import DrawnError, read_drawn
from onthree.programme.fields import fields_of
from onthree.programme.records import SHEETS, Athlete, JerseyNumber, PlanMark, PreAgreement, Record, Venue
from onthree.techniques.state import ARRIVALS
from onthree.workbook.problems import Problem
from onthree.workbook.rows import Row
from onthree.workbook.stored import Stored

_SHEET_OF = {kind: title for title, kind in SHEETS.items()}
_NUMBER_OF_THEIR_OWN = "a number of their own"
_PERIODS = (
    ("start", "end", "correct one of them; if it ends after midnight, leave End blank"),
    ("signed_on", "until", "correct one of them"),
    ("settled_on", "valid_until", "correct one of them"),
)
"""Fields between which something holds, on any sheet that has both, and what to do."""


def contradictions(rows: Sequence[Row], current: Stored | None) -> Iterator[Problem]:
    """Problems of rows that contradict themselves, each other, or what is stored and stays."""
    for row in rows:
        yield from _ends_before_it_begins(row)
        yield from _replaced_by_itself(row)
        yield from _narrower_in_pads(row)
        yield from _required_or_answered(row)
        yield from _not_drawn(row)
        yield from _half_on_the_map(row)
    if not any(row.kind in (Athlete, JerseyNumber) for row in rows):
        return
    athletes = after_import(Athlete, rows, current)
    yield from _shared_numbers(athletes)
    yield from _numbers_at_events(athletes, after_import(JerseyNumber, rows, current))


def after_import(kind: type[Record], rows: Iterable[Row], current: Stored | None) -> tuple[Row, ...]:
    """Every row of a kind as it would be after the import, those that are stored and stay first."""
    given = [row for row in rows if row.kind is kind]
    codes = {row.code for row in given}
    stored = current.table(kind).values() if current else ()
    kept = [Row(_SHEET_OF[kind], 0, kind, vars(record)) for record in stored if record.code not in codes]
    return (*kept, *given)


def _ends_before_it_begins(row: Row) -> Iterator[Problem]:
    for first, last, fix in _PERIODS:
        begins, ends = row.values.get(first), row.values.get(last)
        if begins is not None and ends is not None and ends < begins:
            header = next(field.header for field in fields_of(row.kind) if field.name == first)
            expected = f"nothing before {header}, {_shown(begins)},"
            yield row.problem(last, _shown(ends), expected, fix)


def _replaced_by_itself(row: Row) -> Iterator[Problem]:
    agency = row.values.get("agency")
    if agency and agency == row.values.get("replacement"):
        yield row.problem("replacement", agency, "the code of another agency", "write which agency comes in its place")


def _narrower_in_pads(row: Row) -> Iterator[Problem]:
    bare, padded = row.values.get("shoulder_breadth"), row.values.get("padded_shoulder_breadth")
    if bare and padded and padded.m < bare.m:
        fix = "measure again, over the pads; pads only widen"
        yield row.problem("padded_shoulder_breadth", str(padded), f"at least Shoulder breadth, {bare},", fix)


def _required_or_answered(row: Row) -> Iterator[Problem]:
    """How the athlete arrives is required, and nothing else is; techniques are answered."""
    answer, about = row.values.get("answer"), row.values.get("technique")
    if row.kind is not PreAgreement or answer is None or not about:
        return
    if answer == "required" and about not in ARRIVALS:
        fix = f"in Technique write how the athlete must arrive: {', '.join(ARRIVALS)}"
        yield row.problem("answer", answer, f"agreed, undecided or refused for {about}", fix)
    if answer != "required" and about in ARRIVALS:
        fix = "leave the row out while nothing is required, or name the technique that was answered"
        yield row.problem("answer", answer, f"required for {about}", fix)


def _not_drawn(row: Row) -> Iterator[Problem]:
    """What is drawn on a plan can be read."""
    if row.kind is PlanMark and row.values.get("drawn"):
        try:
            read_drawn(row.values["drawn"])
        except DrawnError as error:
            yield row.problem("drawn", error.given, error.expected, error.fix)


def _half_on_the_map(row: Row) -> Iterator[Problem]:
    """Where a plan is tied to a map, latitude, longitude and the way the field points are all known."""
    names = ("latitude_deg", "longitude_deg", "bearing_deg")
    if row.kind is not Venue or not all(name in row.values for name in names):
        return
    blank = [name for name in names if row.values[name] is None]
    for name in blank if 0 < len(blank) < len(names) else ():
        yield row.problem(
            name, "", "latitude, longitude and where the field points, or none of them", "add what is blank"
        )


def _shared_numbers(athletes: Iterable[Row]) -> Iterator[Problem]:
    wearers: dict[tuple[Any, Any], Row] = {}
    for row in athletes:
        team, number = row.values.get("team"), row.values.get("number")
        if team is None or number is None:
            continue
        other = wearers.setdefault((team, number), row)
        if other is not row and row.number:
            fix = f"{_named(other)} has the same number in team {team}: correct one of them"
            yield row.problem("number", str(number), _NUMBER_OF_THEIR_OWN, fix)


def _numbers_at_events(athletes: Iterable[Row], worn: Iterable[Row]) -> Iterator[Problem]:
    """Each athlete once at an event, and there a number of their own within the team."""
    athlete_of = {row.code: row for row in athletes}
    usual = {(row.values.get("team"), row.values.get("number")): row for row in athlete_of.values()}
    changed: dict[tuple[Any, Any], Row] = {}
    taken: dict[tuple[Any, Any, Any], Row] = {}
    known = [row for row in worn if None not in (row.values.get("event"), row.values.get("athlete"))]
    for row in known:
        event, athlete = row.values["event"], row.values["athlete"]
        other = changed.setdefault((event, athlete), row)
        if other is not row and row.number:
            fix = f"{_named(other)} has a number for this athlete at {event}: keep one of the two"
            yield row.problem("athlete", athlete, "each athlete once at an event", fix)
    for (event, athlete), row in changed.items():
        wearer = athlete_of.get(athlete)
        team, number = wearer.values.get("team") if wearer else None, row.values.get("number")
        if team is not None and number is not None:
            mate = usual.get((team, number))
            is_worn = mate is not None and mate is not wearer and (event, mate.code) not in changed
            other = taken.setdefault((event, team, number), mate if mate and is_worn else row)
            if other is not row:
                yield from _number_taken(row, other, f"the same number in team {team} at {event}")


def _number_taken(row: Row, other: Row, what: str) -> Iterator[Problem]:
    if not row.number:  # told at the row that a person can correct in this file
        row, other = other, row
    if row.number:
        fix = f"{_named(other, row)} has {what}: correct one of them"
        yield row.problem("number", str(row.values["number"]), _NUMBER_OF_THEIR_OWN, fix)


def _named(other: Row, row: Row | None = None) -> str:
    sheet = f" of the sheet {other.sheet}" if row and row.kind is not other.kind else ""
    if other.number:
        return f"row {other.number}{sheet}"
    return f"{'athlete ' if other.kind is Athlete else ''}{other.code}{sheet}, already stored,"


def _shown(value: date | time) -> str:
    return f"{value:%H:%M}" if isinstance(value, time) else value.isoformat()
