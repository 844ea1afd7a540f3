"""The answer for an event as the store stands now; one worked out before is shown again until a row changes."""

from datetime import date
from functools import lru_cache

from onthree.actions.coming_events import coming_events
from onthree.actions.event_answer import NEXT, EventAnswer, NotFoundError, WhatIf, answer_for, event_programme
from onthree.programme.programme import Programme
from onthree.programme.records import Event

KEPT_ANSWERS = 24
"""Answers kept in memory, those asked for last."""

KEPT_PROGRAMMES = 4
"""Events kept as they were read."""


def current_answer(
    event_code: str, on: date, what_if: WhatIf | None = None, organisation_code: str | None = None
) -> EventAnswer:
    """The answer for an event by code, or for the next one; the same as ``answer_event`` gives.

    Raises NotFoundError for an unknown event, surface or goal, PresenceError for hands that cannot be read.
    """
    from onthree.store.version import store_version

    if event_code == NEXT:
        calendar = coming_events(on, 1, organisation_code)
        if calendar is None or calendar.are_past or not calendar.entries:
            raise NotFoundError(f"no event on or after {on.isoformat()}: name an event, or another day")
        event_code = calendar.entries[0].code
    return _answer(store_version(), event_code, on, what_if or WhatIf(), organisation_code)


@lru_cache(maxsize=KEPT_ANSWERS)
def _answer(
    version: tuple[object, ...], event_code: str, on: date, what_if: WhatIf, organisation_code: str | None
) -> EventAnswer:
    return answer_for(*_programme(version, event_code, on, organisation_code), what_if)


@lru_cache(maxsize=KEPT_PROGRAMMES)
def _programme(
    version: tuple[object, ...], event_code: str, on: date, organisation_code: str | None
) -> tuple[Programme, Event]:
    """What is known of an event: a late change and the event as planned are answered from one reading."""
    return event_programme(event_code, on, organisation_code)
