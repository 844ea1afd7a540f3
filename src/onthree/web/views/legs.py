"""The pages of the legs Measure and Be ready: what is due there, and the pages below each."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.actions.due import WITHIN_DAYS, due_on
from onthree.programme.roles import Right
from onthree.store.calendar import find_organisation
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.legs import LEG_OF
from onthree.web.pages import page


@needs(Right.READ)
@require_safe
def measure(request: HttpRequest) -> HttpResponse:
    """What a rehearsal would settle."""
    return _leg(request, "measure", is_measured=True)


@needs(Right.READ)
@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """What is to be settled at the desk."""
    return _leg(request, "ready", is_measured=False)


def _leg(request: HttpRequest, leg_id: str, *, is_measured: bool) -> HttpResponse:
    asked, whose = Asked(request.GET), asking(request).organisation_code
    found = find_organisation(whose)
    about: dict[str, Any] = {
        "asked": asked,
        "organisation": found[1] if found else None,
        "the_leg": LEG_OF[leg_id],
        "due": [each for each in due_on(asked.day, whose) if each.is_measured == is_measured],
        "within_days": WITHIN_DAYS,
    }
    return page(request, "leg", leg=leg_id, **about)
