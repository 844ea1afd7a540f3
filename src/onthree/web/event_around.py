"""What stands around the answer on the page of an event: what may be done, late changes, and what they cost."""

from typing import Any

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import EventAnswer, WhatIf
from onthree.programme.events import TOLD_ANSWERS
from onthree.programme.presence import read_presence
from onthree.programme.roles import Right
from onthree.transfers.options import AthleteAnswer, by_kind
from onthree.web import shown
from onthree.web.access import Person
from onthree.web.asked import Asked
from onthree.web.shown_event import lost_between

Choice = tuple[str, str, bool]


def may_do(person: Person) -> dict[str, Any]:
    """What this person may do about a finding."""
    return {
        "may_answer": person.may(Right.ANSWER),
        "may_sign_gap": person.may(Right.SIGN) or person.may(Right.EDIT),
        "told_answers": TOLD_ANSWERS,
    }


def late_changes(answer: EventAnswer, what_if: WhatIf) -> dict[str, Any]:
    """Who and what may turn out not to be there, which units may come instead, and what is chosen."""
    programme, event, out = answer.programme, answer.event, what_if.without
    planned = {there.code for there in event.vehicles}
    chosen = read_presence(what_if.unit) if what_if.unit else None
    units = [(code, one.name) for code, one in programme.vehicles.items() if code not in planned]
    units += [(code, f"a unit of {one.name}, not known which") for code, one in programme.agencies.items()]
    people, gear, vehicles = programme.responders, programme.gear, programme.vehicles
    return {
        "late_people": [(there.code, people[there.code].name, there.code in out) for there in event.responders],
        "late_vehicles": [(there.code, vehicles[there.code].name, there.code in out) for there in event.vehicles],
        "late_gear": [(there.code, gear[there.code].name, there.code in out) for there in event.gear],
        "late_units": units,
        "late_unit": chosen.code if chosen else "",
        "late_unit_min": chosen.from_min if chosen else "",
    }


def changed_words(answer: EventAnswer, what_if: WhatIf) -> list[str]:
    """What was changed for the answer, in words: nobody at the field looks up a code."""
    programme = answer.programme
    kinds = (programme.responders, programme.gear, programme.vehicles, programme.agencies)
    named = {code: str(one.name) for kind in kinds for code, one in kind.items()}

    def spoken(code: str) -> str:
        return f"{named[code]} ({code})" if code in named else code

    unit = read_presence(what_if.unit) if what_if.unit else None
    changed = {
        "surface": what_if.surface,
        "hands": what_if.hands,
        "goal": what_if.goal and answer.goal.title,
        "without": ", ".join(spoken(code) for code in what_if.without),
        "another unit:": unit and f"{spoken(unit.code)}, {unit.from_min} min after the call",
    }
    return [f"{name} {value}" for name, value in changed.items() if value]


def lost_by(answer: EventAnswer, asked: Asked, organisation_code: str | None) -> dict[str, Any]:
    """What is lost compared with the event as planned; nothing where it is asked as planned."""
    if asked.what_if == WhatIf():
        return {}
    planned = current_answer(answer.event.code, asked.day, None, organisation_code)
    both = by_kind(each for one in (planned, answer) for found in one.answers.values() for each in found)
    lost = lost_between(planned, answer, {kind: _said(alike[0]) for kind, alike in both.items()})
    before = {(each.rule, each.subject) for each in planned.findings if each.is_open}
    return {
        "lost": lost,
        "lost_count": _losers_count(planned, answer),
        "roster_count": len(answer.programme.roster(answer.event)),
        "planned_hands": shown.hands_of(planned.engine.situation),
        "new_findings": [one for one in answer.findings if one.is_open and (one.rule, one.subject) not in before],
    }


def _losers_count(planned: EventAnswer, changed: EventAnswer) -> int:
    """Athletes whose status is worse than planned in some found position."""
    order = ("possible", "hold", "unknown", "not possible")
    return len(
        {
            one.athlete.code
            for position, before in planned.answers.items()
            for one, other in zip(before, changed.answers[position], strict=True)
            if order.index(other.status) > order.index(one.status)
        }
    )


def _said(answer: AthleteAnswer) -> str:
    """The planned option in a few words, or the status with one of the smallest fixes."""
    if answer.planned:
        return shown.short_of(answer).words
    do = " and ".join(dict.fromkeys(cause.do for cause in answer.fixes[0])) if answer.fixes else ""
    return f"{answer.status} ({do})" if do else answer.status
