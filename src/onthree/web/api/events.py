"""The API about events: the calendar, the answer, the findings, an athlete, who was told."""

from datetime import date
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone
from ninja import Router

from onthree.actions import as_json
from onthree.actions.coming_events import coming_events
from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import EventAnswer, NotFoundError, WhatIf, answers_of, athlete_at
from onthree.programme.roles import Right
from onthree.web.access import Person
from onthree.web.api.calling import caller

router = Router(tags=["events"])

Document = dict[str, Any]
MOST_EVENTS = 400


@router.get("", response=Document)
def events(request: HttpRequest, on: date | None = None, most: int = 50) -> Document:
    """The events on or after a day, the next one first; where none is left the past ones, the latest first."""
    person = caller(request, Right.READ)
    found = coming_events(on or _today(), max(1, min(most, MOST_EVENTS)), person.organisation_code)
    if found is None:
        raise NotFoundError("the store is empty: import a workbook first")
    rows = [
        {
            "code": one.code,
            "name": one.name,
            "kind": one.kind,
            "day": one.day.isoformat(),
            "start": f"{one.start:%H:%M}" if one.start else None,
            "venue": one.venue,
        }
        for one in found.entries
    ]
    return {"schema_version": as_json.SCHEMA_VERSION, "kind": "events", "are_past": found.are_past, "events": rows}


@router.get("/{code}", response=Document)
def event(
    request: HttpRequest,
    code: str,
    on: date | None = None,
    surface: str | None = None,
    hands: str | None = None,
    goal: str | None = None,
) -> Document:
    """The answer for an event, or for the next one: findings and sentences; with what-if."""
    person = caller(request, Right.READ)
    answer = _answer(person, code, on, WhatIf(surface, hands, goal))
    return {**as_json.event_check(answer), "findings": _findings(answer, person)}


@router.get("/{code}/findings", response=Document)
def findings(request: HttpRequest, code: str, on: date | None = None) -> Document:
    """What must be told, fixed or found out, and what was done about it."""
    person = caller(request, Right.READ)
    answer = _answer(person, code, on)
    return as_json.document(answer, "findings", findings=_findings(answer, person))


@router.get("/{code}/told", response=Document)
def told(request: HttpRequest, code: str, on: date | None = None) -> Document:
    """Who was told what, and what they answered. A new one is sent through the outbox, kind told."""
    answer = _answer(caller(request, Right.READ), code, on)
    rows = [
        {"code": row.code, "rule": row.rule, "subject": row.subject, **as_json.told_data(row)}
        for row in answer.programme.told.values()
    ]
    return as_json.document(answer, "told", told=rows)


@router.get("/{code}/athletes/{called}", response=Document)
def athlete(request: HttpRequest, code: str, called: str, on: date | None = None) -> Document:
    """Every option of one athlete, by code or jersey number; for those who may see what athletes weigh."""
    answer = _answer(caller(request, Right.SIZES), code, on)
    return as_json.event_options(answer, answers_of(answer, athlete_at(answer, called)))


def _answer(person: Person, code: str, on: date | None, what_if: WhatIf | None = None) -> EventAnswer:
    return current_answer(code, on or _today(), what_if, person.organisation_code)


def _findings(answer: EventAnswer, person: Person) -> list[Document]:
    """The findings; without the numbers behind them for those who may not see what athletes weigh."""
    listed = [as_json.finding_data(finding) for finding in answer.findings]
    return listed if person.may(Right.SIZES) else [{**each, "evidence": {}} for each in listed]


def _today() -> date:
    return settings.TODAY or timezone.now().astimezone().date()
