"""Checks across the rows of a workbook and what is stored already: codes, jersey numbers, references, techniques."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.programme import Programme
from onthree.programme.records import RECORD_TYPES, SHEETS, Athlete, Organisation, PreAgreement, Record
from onthree.workbook.problems import Problem, nearest
from onthree.workbook.rows import Row

_MOST_SUGGESTIONS = 200  # looking for the nearest of many codes is slow
_REFERRING = (Kind.REFERENCE, Kind.REFERENCES, Kind.PRESENCES)
_SHEET_OF = {kind.__name__: title for title, kind in SHEETS.items()}
_KIND_OF = {kind.__name__: kind for kind in RECORD_TYPES}


def check_rows(
    rows: Sequence[Row], unsure: Collection[str], known_techniques: Collection[str], current: Programme | None
) -> Iterator[Problem]:
    """Problems between rows; references to the sheets in ``unsure`` are not judged, for these could not be read."""
    yield from _second_organisations(rows, current)
    yield from _repeated_codes(rows)
    yield from _shared_numbers(rows, current)
    yield from _unknown_references(rows, unsure, current)
    yield from _unknown_techniques(rows, known_techniques)


def _second_organisations(rows: Sequence[Row], current: Programme | None) -> Iterator[Problem]:
    given = [row for row in rows if row.kind is Organisation]
    for row in given[1:]:
        yield row.problem("code", row.code, "one organisation", f"row {given[0].number} has one: keep one row")
    for row in given[:1]:
        if current and row.code and row.code != current.organisation.code:
            expected = f"the stored code {current.organisation.code!r}"
            yield row.problem("code", row.code, expected, "keep it, or start a new programme in another folder")


def _repeated_codes(rows: Iterable[Row]) -> Iterator[Problem]:
    seen: dict[tuple[str, str], Row] = {}
    for row in rows:
        if row.code and row.kind is not Organisation:
            first = seen.setdefault((row.sheet, row.code), row)
            if first is not row:
                fix = f"row {first.number} has the same code: give one of them another"
                yield row.problem("code", row.code, "a code of its own", fix)


def _shared_numbers(rows: Sequence[Row], current: Programme | None) -> Iterator[Problem]:
    given = [row for row in rows if row.kind is Athlete]
    codes = {row.code for row in given}
    stored = [athlete for athlete in current.athletes.values() if athlete.code not in codes] if current else []
    wearer = {(who.team, who.number): f"athlete {who.code}, already stored," for who in stored}
    for row in given:
        team, number = row.values.get("team"), row.values.get("number")
        if team is None or number is None:
            continue
        other = wearer.setdefault((team, number), f"row {row.number}")
        if other != f"row {row.number}":
            fix = f"{other} has the same number in team {team}: correct one of them"
            yield row.problem("number", str(number), "a number of their own", fix)


def _unknown_references(rows: Sequence[Row], unsure: Collection[str], current: Programme | None) -> Iterator[Problem]:
    known = {name: _known_codes(kind, rows, current) for name, kind in _KIND_OF.items()}
    suggestions: dict[tuple[str, str], str] = {}
    for row in rows:
        for field in fields_of(row.kind):
            if field.kind not in _REFERRING or field.refers_to in unsure:
                continue
            for code in _codes(field, row.values):
                if code not in known[field.refers_to]:
                    asked = (field.refers_to, code)
                    if asked not in suggestions and len(suggestions) < _MOST_SUGGESTIONS:
                        suggestions[asked] = nearest(code, known[field.refers_to])
                    yield _unknown_reference(row, field, code, suggestions.get(asked, ""))


def _unknown_reference(row: Row, field: FieldDescription, code: str, suggestion: str) -> Problem:
    sheet = _SHEET_OF[field.refers_to]
    fix = f"did you mean {suggestion!r}?" if suggestion else f"add a row to the sheet {sheet}"
    return row.problem(field.name, code, f"a code of the sheet {sheet}", fix)


def _known_codes(kind: type[Record], rows: Iterable[Row], current: Programme | None) -> set[str]:
    stored = set(current.table(kind)) if current else set()
    return stored | {row.code for row in rows if row.kind is kind}


def _codes(field: FieldDescription, values: Mapping[str, Any]) -> Iterator[str]:
    value = values.get(field.name)
    if field.kind is Kind.REFERENCE:
        yield from [] if value is None else [value]
    else:
        yield from (item.code if field.kind is Kind.PRESENCES else item for item in value or ())


def _unknown_techniques(rows: Iterable[Row], known: Collection[str]) -> Iterator[Problem]:
    for row in rows:
        technique = row.values.get("technique") if row.kind is PreAgreement else None
        if technique and technique not in known:
            found = nearest(technique, known)
            fix = f"did you mean {found!r}?" if found else f"known are {', '.join(sorted(known)) or 'none'}"
            yield row.problem("technique", technique, "the identifier of a technique", fix)
