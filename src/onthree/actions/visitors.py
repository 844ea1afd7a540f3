"""What the visiting side is asked before an event: a signed link that ends, five lines, and what was answered."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from onthree.actions.arrived import Arrived
from onthree.programme.records import Event, VisitorAnswer
from onthree.programme.time_out import read_largest

KIND = "visitor answer"
MOST_ANSWERS = 40
"""Answers that one event takes: a link that was passed on cannot fill the store."""

LINES: Mapping[str, str] = {
    "largest": "Your largest athletes: number and weight with equipment, such as 72: 310 lb, 55: 140 kg",
    "helmets": "Helmets and face masks: model, and how the mask is fastened",
    "leads": "Who leads your medical team, and where they stand",
    "reach": "How we reach them before and during the event",
    "brings": "What you bring, and what we should know",
}
"""The five lines, by the name under which each is kept."""

_SALT = "onthree.visitor-request"


class LinkError(ValueError):
    """A visitor's link that opens nothing; the message says why and what to do."""


@dataclass(frozen=True)
class VisitorLink:
    """What a link opens: the request of one event, until a time."""

    organisation: str
    event: str
    until: datetime


def visitor_link(organisation_code: str, event: Event) -> str:
    """The text of a link that opens the request of an event until the morning after it."""
    from django.core import signing

    until = datetime.combine(event.day + timedelta(days=1), time(12)).astimezone()
    return signing.dumps([organisation_code, event.code, int(until.timestamp())], salt=_SALT)


def read_visitor_link(text: str, now: datetime) -> VisitorLink:
    """What a link opens. Raises LinkError for one that was changed, or has ended."""
    from django.core import signing

    try:
        organisation, event, until = signing.loads(text, salt=_SALT)
    except signing.BadSignature:
        raise LinkError("This link is not whole: copy all of it, or ask who sent it for a new one.") from None
    link = VisitorLink(organisation, event, datetime.fromtimestamp(until).astimezone())
    if now >= link.until:
        raise LinkError("This link has ended with its event: ask who sent it for a new one.")
    return link


def take_visitor_answer(arrived: Arrived) -> Mapping[str, Any]:
    """Save an answer to the five lines. Content: event, name, and the lines answered.

    Raises ValueError that names the field, or where the event has enough answers; LookupError for an unknown event.
    """
    from onthree.store import models
    from onthree.store.records import save_records

    event, name = arrived.text("event", 40), arrived.text("name", 120)
    lines = {line: arrived.text(line, 1000, is_required=False) for line in LINES}
    if not any(lines.values()):
        raise ValueError("nothing answered: fill in at least one of the five lines")
    read_largest(lines["largest"])
    rows = models.VisitorAnswer.objects.filter(organisation__code=arrived.organisation_code, event__code=event)
    if rows.count() >= MOST_ANSWERS:
        raise ValueError("this event has many answers already: call whoever sent the link")
    at = arrived.at.astimezone()
    clock = at.time().replace(second=0, microsecond=0)
    row = VisitorAnswer(code=arrived.record_code("VA"), event=event, side=name, day=at.date(), at=clock, **lines)
    save_records([row], by=arrived.by, organisation_code=arrived.organisation_code)
    return {"code": row.code}


def answered_lines(row: VisitorAnswer) -> tuple[tuple[str, str], ...]:
    """What was asked and answered, lines left blank left out."""
    return tuple((asked, value) for line, asked in LINES.items() if (value := getattr(row, line)))
