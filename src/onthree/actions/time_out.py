"""The medical time-out of an event: what is read, and an answer to one item with what was told by it."""

from collections.abc import Iterator, Mapping
from typing import Any

from onthree.actions.arrived import Arrived
from onthree.actions.event_answer import EventAnswer
from onthree.programme.records import TimeOutAnswer, Told
from onthree.programme.time_out import TIME_OUT_ANSWERS, TIME_OUT_ITEMS
from onthree.readiness.rules import RULES
from onthree.readiness.time_out import CONFIRMED, ItemRead, time_out, visitor_answer
from onthree.readiness.time_out_lines import Heard

KIND = "time-out"
_MOST_TOLD = 100
_TOLD_ANSWER = {CONFIRMED: "confirmed"}


def items_of(answer: EventAnswer, *, shows_sizes: bool) -> tuple[ItemRead, ...]:
    """Every item of the time-out of an answered event, in the order in which it is read."""
    visitors = visitor_answer(answer.programme, answer.event)
    return time_out(Heard(answer.engine, answer.findings, answer.sentences, visitors, shows_sizes))


def take_time_out(arrived: Arrived) -> Mapping[str, Any]:
    """Save what somebody answered to one item, and that they were told what stood with it.

    Content: event, item, who, answer; note, and told, a list of "rule subject" as they stood on the page, may be left
    out. Raises ValueError and LookupError that name the field.
    """
    from onthree.store.records import save_records

    at = arrived.at.astimezone()
    answer = TimeOutAnswer(
        code=arrived.record_code("TO"),
        event=arrived.text("event"),
        item=arrived.one_of("item", TIME_OUT_ITEMS),
        who=arrived.text("who"),
        day=at.date(),
        at=at.time().replace(second=0, microsecond=0),
        answer=arrived.one_of("answer", TIME_OUT_ANSWERS),
        note=arrived.text("note", longest=2000, is_required=False),
    )
    told = tuple(_told(arrived, answer))
    save_records([answer, *told], by=arrived.by, organisation_code=arrived.organisation_code)
    return {"code": answer.code, "told": [row.code for row in told]}


def _told(arrived: Arrived, answer: TimeOutAnswer) -> Iterator[Told]:
    """A row for each finding that was read aloud with the item."""
    given = arrived.body.get("told", [])
    known = {rule.id for rule in RULES}
    if not isinstance(given, list) or len(given) > _MOST_TOLD or not all(isinstance(one, str) for one in given):
        raise ValueError(f"told: {str(given)[:40]!r} given, a list of at most {_MOST_TOLD} rules with subject expected")
    for place, one in enumerate(dict.fromkeys(given), 1):
        rule, _, subject = one.partition(" ")
        if rule not in known:
            raise ValueError(f"told: {one[:40]!r} given, the identifier of a rule and its subject expected")
        yield Told(
            code=f"{arrived.record_code('TOLD')}-{place}",
            event=answer.event,
            rule=rule,
            subject=subject.strip(),
            who=answer.who,
            day=answer.day,
            at=answer.at,
            answer=_TOLD_ANSWER.get(answer.answer, "cannot"),
            note=answer.note,
        )
