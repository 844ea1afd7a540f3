"""What is coming: the events from a day on, or the latest ones when none is left."""

from dataclasses import dataclass
from datetime import date

from onthree.actions.event_answer import NotFoundError
from onthree.actions.workbooks import current_programme
from onthree.programme.programme import Programme
from onthree.programme.records import Event


@dataclass(frozen=True)
class ComingEvents:
    """Events with the next one first; ``are_past`` when none is coming any more, then with the latest one first."""

    programme: Programme
    events: tuple[Event, ...]
    are_past: bool


def coming_events(on: date) -> ComingEvents | None:
    """The events on or after a day, else all the past ones; None where the store is empty.

    Raises NotFoundError where the store holds several organisations.
    """
    try:
        programme = current_programme(on)
    except LookupError as error:
        raise NotFoundError(str(error)) from None
    if programme is None:
        return None
    if coming := programme.coming_events():
        return ComingEvents(programme, coming, are_past=False)
    past = sorted(programme.events.values(), key=lambda event: (event.day, str(event.start or "")), reverse=True)
    return ComingEvents(programme, tuple(past), are_past=True)
