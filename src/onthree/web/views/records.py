"""Records: all kinds, the list of one, one record with what belongs to it, and codes to choose from."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from onthree.actions.gear_upkeep import InspectionDue, inspections_due
from onthree.actions.records import SHEET_OF
from onthree.programme.fields import FieldDescription, fields_of
from onthree.programme.records import Athlete, Gear, Record, Team, Venue
from onthree.programme.roles import Right
from onthree.store.listing import codes_of, counts_of, list_records
from onthree.web.access import Person, asking, needs
from onthree.web.asked import Asked
from onthree.web.forms.kinds import (
    ADDRESS_OF,
    GROUPS,
    KIND_NAMED,
    belonging,
    beside_code,
    listed_fields,
    order_of,
    referring_to,
)
from onthree.web.forms.shown_values import Value, moment, shown_value
from onthree.web.views.records_asked import about_kind, found, kind_at, may_edit, name_of, record_page, seen
from onthree.web.views.records_gear import upkeep_of

AT_ONCE = 50
MOST_GEAR = 10_000
NEXT_INSPECTION = "Next inspection"
RELATED, OFFERED = 20, 30
SIX = 6


@dataclass(frozen=True)
class Line:
    """A record in a list: its code, and its columns."""

    code: str
    values: tuple[Value, ...]


@dataclass(frozen=True)
class Related:
    """Records that refer to the one shown, the first of them, and how many there are."""

    title: str
    slug: str
    field: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    count: int


@needs(Right.READ)
@require_safe
def index(request: HttpRequest) -> HttpResponse:
    """Every kind of record, with how many there are."""
    counts = counts_of(asking(request).organisation_code)
    groups = [
        (title, [(SHEET_OF[each], ADDRESS_OF[each], counts[each]) for each in kinds]) for title, kinds in GROUPS.items()
    ]
    return record_page(request, "index", groups=groups, may_edit=may_edit(request))


@needs(Right.READ)
@require_safe
def listed(request: HttpRequest, slug: str) -> HttpResponse:
    """The records of one kind, searched and narrowed, so many at once."""
    kind, person = kind_at(slug), asking(request)
    search = request.GET.get("q", "").strip()
    asked = {field.name: code for field in belonging(kind) if (code := request.GET.get(field.name, "").strip())}
    number = _number(request.GET.get("page", ""))
    first = (number - 1) * AT_ONCE
    about_found: dict[str, Any] = {"search": search, "where": asked, "organisation_code": person.organisation_code}
    fields = seen(person, kind, listed_fields(kind))
    if kind is Gear:
        lines, count = _gear_by_due(request, fields, first, **about_found)
    else:
        found = list_records(kind, order=order_of(kind), first=first, most=AT_ONCE, **about_found)
        lines, count = [_line(record, fields) for record in found.records], found.count
    query = {name: value for name, value in {"q": search, **asked}.items() if value}
    about: dict[str, Any] = {
        "search": search,
        "narrowed": [(field.name, field.header, asked.get(field.name, "")) for field in belonging(kind)],
        "columns": [*([NEXT_INSPECTION] if kind is Gear else []), *(field.header for field in fields)],
        "lines": lines,
        "count": count,
        "first": first + 1,
        "last": first + len(lines),
        "order_said": "what is due first stands first" if kind is Gear else "",
        "before": _page_query(query, number - 1) if number > 1 else "",
        "after": _page_query(query, number + 1) if number * AT_ONCE < count else "",
        "add_query": f"?{urlencode(asked)}" if asked else "",
    }
    return record_page(request, "list", **about_kind(request, kind), **about)


@needs(Right.READ)
@require_safe
def show(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """One record: every field as typed, and what belongs to it."""
    kind, person = kind_at(slug), asking(request)
    saved = found(kind, code, person)
    fields = seen(person, kind, fields_of(kind))
    about: dict[str, Any] = {
        "saved": saved,
        "when": moment(saved.at),
        "code": code,
        "spoken": name_of(saved.record),
        "values": [(field, shown_value(field, getattr(saved.record, field.name))) for field in fields],
        "related": related_to(person, kind, code),
        "is_just_saved": "saved" in request.GET,
        "is_gear": kind is Gear,
        "is_venue": kind is Venue,
        "may_record": person.may(Right.RECORD),
    }
    if kind is Gear:
        about |= upkeep_of(request, code)
    if kind is Team and person.may(Right.SIZES):
        about["widest"] = _widest(code, person)
    return record_page(request, "show", **about_kind(request, kind), **about)


@needs(Right.READ)
@require_safe
def options(request: HttpRequest, slug: str) -> HttpResponse:
    """Codes of a kind that hold what is typed, as a part of a form."""
    kind, person = kind_at(slug), asking(request)
    search = request.GET.get("look-for", "").strip()
    listed, count = codes_of(
        kind.__name__, beside_code(kind), search=search, most=OFFERED, organisation_code=person.organisation_code
    )
    offered = [(code, " ".join(filter(None, words))) for code, *words in listed]
    return record_page(request, "options", offered=offered, more=count - len(offered), search=search)


def related_to(person: Person, kind: type[Record], code: str) -> list[Related]:
    """What refers to a record, kind by kind, in a fixed number of queries."""
    made = []
    for other, field in referring_to(kind):
        part = list_records(
            other,
            where={field.name: code},
            order=order_of(other),
            most=RELATED,
            organisation_code=person.organisation_code,
        )
        fields = tuple(each for each in seen(person, other, listed_fields(other)) if each is not field)
        if part.count:
            title = (
                SHEET_OF[other] if field.header.casefold() == KIND_NAMED[field.refers_to].__name__.casefold() else ""
            )
            lines = tuple(_line(record, fields) for record in part.records)
            columns = tuple(each.header for each in fields)
            title = title or f"{SHEET_OF[other]}: {field.header.lower()}"
            can_narrow = field.name if field in belonging(other) else ""
            made.append(Related(title, ADDRESS_OF[other], can_narrow, columns, lines, part.count))
    return made


def _widest(team: str, person: Person) -> list[tuple[Athlete, bool]]:
    """The six athletes to measure first: the widest over the pads as measured, then the heaviest not measured."""
    roster = list_records(
        Athlete, where={"team": team}, most=10_000, organisation_code=person.organisation_code
    ).records
    athletes = [each for each in roster if isinstance(each, Athlete)]
    measured = [each for each in athletes if each.padded_shoulder_breadth]
    others = [each for each in athletes if not each.padded_shoulder_breadth and each.mass]
    heaviest = sorted(others, key=lambda each: each.mass.kg if each.mass else 0, reverse=True)
    widest = sorted(measured, key=lambda each: _breadth_m(each), reverse=True)
    return [
        *((each, True) for each in widest[:SIX]),
        *((each, False) for each in heaviest[: max(0, SIX - len(widest))]),
    ]


def _breadth_m(athlete: Athlete) -> float:
    return float(athlete.padded_shoulder_breadth.m) if athlete.padded_shoulder_breadth else 0.0


def _gear_by_due(
    request: HttpRequest, fields: tuple[FieldDescription, ...], first: int, **about_found: Any
) -> tuple[list[Line], int]:
    """The items of gear, each with its next inspection; what is due first stands first, what is out of service last."""
    due = inspections_due(Asked(request.GET).day, about_found["organisation_code"])
    found = list_records(Gear, order=order_of(Gear), most=MOST_GEAR, **about_found)
    out_of_service = InspectionDue("out of service", (3, 0))
    listed = sorted(found.records, key=lambda each: due.get(each.code, out_of_service).urgency)
    lines = []
    for record in listed[first : first + AT_ONCE]:
        line, said = _line(record, fields), due.get(record.code, out_of_service).words
        lines.append(Line(line.code, (Value(NEXT_INSPECTION, said), *line.values)))
    return lines, found.count


def _line(record: Record, fields: tuple[FieldDescription, ...]) -> Line:
    return Line(record.code, tuple(shown_value(field, getattr(record, field.name)) for field in fields))


def _number(text: str) -> int:
    return max(1, int(text)) if text.isdecimal() and len(text) <= 6 else 1


def _page_query(query: dict[str, str], number: int) -> str:
    return f"?{urlencode(query | {'page': str(number)})}"
