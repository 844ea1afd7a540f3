"""An event to carry along: its cards, and everything about it on paper."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import NotFoundError
from onthree.actions.time_out import items_of
from onthree.programme.roles import Right
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.offline import kept_for
from onthree.web.pages import page, refusal
from onthree.web.shown_event import cards_of
from onthree.web.views.events import answered


@needs(Right.READ)
@require_safe
def cards(request: HttpRequest, code: str) -> HttpResponse:
    """The planned options by jersey number, filtered by found position and surface."""
    return _carried(request, code, everything=False)


@needs(Right.READ)
@require_safe
def everything(request: HttpRequest, code: str) -> HttpResponse:
    """All of it on one page, for paper."""
    return _carried(request, code, everything=True)


def _carried(request: HttpRequest, code: str, *, everything: bool) -> HttpResponse:
    asked = Asked(request.GET)
    if asked.errors:
        return refusal(request, 400, "The address cannot be read", *map(str, asked.errors.values()))
    try:
        answer = current_answer(code, asked.day, asked.what_if, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    about: dict[str, Any] = {
        "cards": (cards := cards_of(answer, asked.positions)),
        "cautions": list(dict.fromkeys(text for card in cards if card.option for text in card.option.cautions)),
        "everything": everything,
        "items": items_of(answer, shows_sizes=asking(request).may(Right.SIZES)) if everything else (),
        "kept": kept_for(answer.event.code),
    }
    return page(request, "event_cards", leg="choose", **about, **answered(answer, asked))
