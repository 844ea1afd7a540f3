"""The life-first pages: they need no store, and an address that cannot be read in full takes none of them away."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.actions.event_answer import NotFoundError
from onthree.actions.life_first import life_first_answer
from onthree.techniques.life_first import UNMARKED
from onthree.web import shown
from onthree.web.access import open_to_all, person_of
from onthree.web.asked import Asked
from onthree.web.pages import page


@open_to_all
@require_safe
def life_first(request: HttpRequest) -> HttpResponse:
    """The life-first pages, each with its signs."""
    asked = Asked(request.GET)
    answer = life_first_answer(asked.day, is_open=True, organisation_code=_organisation(request))
    return page(request, "life_first", asked=asked, found=answer, programme=answer.programme)


@open_to_all
@require_safe
def life_first_page(request: HttpRequest, called: str) -> HttpResponse:
    """One life-first page: what to do, then what it rests on."""
    asked = Asked(request.GET)
    answer = life_first_answer(asked.day, is_open=True, organisation_code=_organisation(request))
    try:
        approved = answer.page(called)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    about: dict[str, Any] = {
        "approved": approved,
        "actions": [(action.does, approved.page.mark(action)) for action in approved.page.action],
        "parts": shown.life_first_parts(approved.page),
        "unmarked": UNMARKED,
    }
    return page(request, "life_first_page", asked=asked, found=answer, programme=answer.programme, **about)


def _organisation(request: HttpRequest) -> str | None:
    person = person_of(request)
    return person.organisation_code if person else None
