"""What is coming: the events from a day on, or the latest ones when none is left."""

from datetime import date
from typing import TYPE_CHECKING

from onthree.actions.event_answer import NotFoundError

if TYPE_CHECKING:
    from onthree.store.calendar import Calendar


def coming_events(on: date, most: int, organisation_code: str | None = None) -> "Calendar | None":
    """At most so many events on or after a day, else of all the past ones; None where the store is empty.

    Raises NotFoundError for an unknown organisation, and where the store holds several and none is named.
    """
    from onthree.store.calendar import load_calendar

    try:
        return load_calendar(on, most, organisation_code)
    except LookupError as error:
        raise NotFoundError(str(error)) from None
