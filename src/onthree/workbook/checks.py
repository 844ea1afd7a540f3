"""Checks across the rows of a workbook and what is stored already: codes, references, identifiers."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.records import (
    RECORD_TYPES,
    SHEETS,
    Gear,
    Incident,
    KnownGap,
    Organisation,
    PreAgreement,
    Record,
    RunPhase,
    RunRole,
    Told,
)
from onthree.techniques.state import ARRIVALS
from onthree.workbook.problems import Problem, did_you_mean, nearest
from onthree.workbook.rows import Row
from onthree.workbook.stored import Stored

_MOST_SUGGESTIONS = 200  # looking for the nearest of many codes is slow
_REFERRING = (Kind.REFERENCE, Kind.REFERENCES, Kind.PRESENCES)
_SHEET_OF = {kind.__name__: title for title, kind in SHEETS.items()}
_KIND_OF = {kind.__name__: kind for kind in RECORD_TYPES}


def check_rows(
    rows: Sequence[Row],
    unsure: Collection[str],
    known_techniques: Collection[str],
    known_rules: Collection[str] | None,
    current: Stored | None,
) -> Iterator[Problem]:
    """Problems between rows; references to the sheets in ``unsure`` are not judged, for these could not be read."""
    yield from _second_organisations(rows, current)
    yield from _repeated_codes(rows)
    yield from _unknown_references(rows, unsure, current)
    yield from _unknown_items(rows, unsure, current)
    yield from _unknown_identifiers(rows, PreAgreement, "technique", {*known_techniques, *ARRIVALS})
    for of_run in (RunRole, RunPhase, Incident):
        yield from _unknown_identifiers(rows, of_run, "technique", known_techniques)
    for kind in (Told, KnownGap) if known_rules is not None else ():
        yield from _unknown_identifiers(rows, kind, "rule", known_rules or ())


def _second_organisations(rows: Sequence[Row], current: Stored | None) -> Iterator[Problem]:
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


def _unknown_references(rows: Sequence[Row], unsure: Collection[str], current: Stored | None) -> Iterator[Problem]:
    known = cache(lambda name: _known_codes(_KIND_OF[name], rows, current))
    suggestions: dict[tuple[str, str], str] = {}
    for row in rows:
        for field in fields_of(row.kind):
            if field.kind not in _REFERRING or field.refers_to in unsure:
                continue
            for code in _codes(field, row.values):
                if code not in known(field.refers_to):
                    asked = (field.refers_to, code)
                    if asked not in suggestions and len(suggestions) < _MOST_SUGGESTIONS:
                        suggestions[asked] = nearest(code, known(field.refers_to))
                    yield _unknown_reference(row, field, code, suggestions.get(asked, ""))


def _unknown_reference(row: Row, field: FieldDescription, code: str, suggestion: str) -> Problem:
    sheet = _SHEET_OF[field.refers_to]
    fix = f"did you mean {suggestion!r}?" if suggestion else f"add a row to the sheet {sheet}"
    return row.problem(field.name, code, f"a code of the sheet {sheet}", fix)


def _known_codes(kind: type[Record], rows: Iterable[Row], current: Stored | None) -> set[str]:
    stored = set(current.codes(kind)) if current else set()
    return stored | {row.code for row in rows if row.kind is kind}


def _codes(field: FieldDescription, values: Mapping[str, Any]) -> Iterator[str]:
    value = values.get(field.name)
    if field.kind is Kind.REFERENCE:
        yield from [] if value is None else [value]
    else:
        yield from (item.code if field.kind is Kind.PRESENCES else item for item in value or ())


def _unknown_identifiers(
    rows: Iterable[Row], kind: type[Record], name: str, known: Collection[str]
) -> Iterator[Problem]:
    """Identifiers that this programme itself gives, of techniques and rules."""
    for row in rows:
        given = row.values.get(name) if row.kind is kind else None
        if given and given not in known:
            fix = did_you_mean(given, known, f"known are {', '.join(sorted(known)) or 'none'}")
            yield row.problem(name, given, f"the identifier of a {name}", fix)


def _unknown_items(rows: Iterable[Row], unsure: Collection[str], current: Stored | None) -> Iterator[Problem]:
    """Items that straps and head blocks are said to fit: words in the record, codes of the same sheet all the same."""
    if Gear.__name__ in unsure:
        return
    known = _known_codes(Gear, rows, current)
    for row in rows:
        for code in row.values.get("fits_items", ()) if row.kind is Gear else ():
            if code not in known:
                fix = did_you_mean(code, known, "add a row to this sheet")
                yield row.problem("fits_items", code, "a code of the sheet Gear", fix)
