"""The medical time-out of an event: one page read aloud from top to bottom, answered item by item."""

from typing import Any
from uuid import uuid4

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import EventAnswer, NotFoundError
from onthree.actions.time_out import items_of
from onthree.programme.roles import Right
from onthree.readiness.time_out import ITEM_OF, NOT_AGREED, NOT_ASKED, ItemRead
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.offline import kept_for
from onthree.web.pages import page, refusal
from onthree.web.views.events import answered


@needs(Right.READ)
@require_safe
def time_out(request: HttpRequest, code: str) -> HttpResponse:
    """What is read, in order; a form at each item for those who may answer."""
    asked = Asked(request.GET)
    if asked.errors:
        return refusal(request, 400, "The address cannot be read", *map(str, asked.errors.values()))
    answer = _answer(request, code, asked)
    person = asking(request)
    items = items_of(answer, shows_sizes=person.may(Right.SIZES))
    given = sorted((row for each in items for row in each.answers), key=lambda row: (row.day, str(row.at)))
    about: dict[str, Any] = {
        "items": [(each, uuid4()) for each in items],
        "given": [(row, ITEM_OF[row.item].title) for row in given],
        "standing": _standing(items),
        "may_answer": person.may(Right.ANSWER),
        "names": _names(answer),
        "kept": kept_for(answer.event.code),
    }
    return page(request, "time_out", leg="ready", **about, **answered(answer, asked))


def _answer(request: HttpRequest, code: str, asked: Asked) -> EventAnswer:
    try:
        return current_answer(code, asked.day, None, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None


def _standing(items: tuple[ItemRead, ...]) -> str:
    """How many items are confirmed, not agreed and not asked, in words."""
    counts = [(sum(each.standing == word for each in items), word) for word in (NOT_AGREED, NOT_ASKED)]
    open_ones = ", ".join(f"{count} {word}" for count, word in counts if count)
    return f"{len(items)} items: {open_ones or 'all confirmed'}"


def _names(answer: EventAnswer) -> list[str]:
    """Who may answer, as they were named for the event."""
    event, programme = answer.event, answer.programme
    team = [programme.responders[there.code].name for there in event.responders]
    named = (event.tell, "ambulance crew lead", "referee", "visiting athletic trainer", event.pauses_play, *team)
    return list(dict.fromkeys(name for name in named if name))
