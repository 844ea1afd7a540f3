"""That somebody was told what a rule found, and what they answered: one record, from a page or a program."""

from collections.abc import Mapping
from typing import Any

from onthree.actions.arrived import Arrived
from onthree.programme.events import TOLD_ANSWERS
from onthree.programme.records import Told
from onthree.readiness.rules import RULES


def take_told(arrived: Arrived) -> Mapping[str, Any]:
    """Save a Told record. Content: event, rule, who, answer; subject and note may be left out.

    Day and time are those of the sender's clock, in the time zone of this computer. Raises ValueError and LookupError
    that name the field.
    """
    from onthree.store.records import save_records

    at = arrived.at.astimezone()
    told = Told(
        code=arrived.record_code("TOLD"),
        event=arrived.text("event"),
        rule=arrived.one_of("rule", tuple(rule.id for rule in RULES)),
        subject=arrived.text("subject", is_required=False),
        who=arrived.text("who"),
        day=at.date(),
        at=at.time().replace(second=0, microsecond=0),
        answer=arrived.one_of("answer", TOLD_ANSWERS),
        note=arrived.text("note", longest=2000, is_required=False),
    )
    save_records([told], by=arrived.by, organisation_code=arrived.organisation_code)
    return {"code": told.code}
