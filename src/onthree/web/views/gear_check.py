"""The look at what is brought, before an event."""

from typing import Any
from uuid import uuid4

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import NotFoundError
from onthree.actions.gear_check import gear_to_check
from onthree.programme.roles import Right
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.offline import kept_for
from onthree.web.pages import page, refusal


@needs(Right.READ)
@require_safe
def gear_check(request: HttpRequest, code: str) -> HttpResponse:
    """Every item of an event with what to look at, and two taps."""
    asked = Asked(request.GET)
    if asked.errors:
        return refusal(request, 400, "The address cannot be read", *map(str, asked.errors.values()))
    person = asking(request)
    try:
        answer = current_answer(code, asked.day, None, person.organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    about: dict[str, Any] = {
        "programme": answer.programme,
        "event": answer.event,
        "venue": answer.programme.venues[answer.event.venue],
        "items": [(each, uuid4()) for each in gear_to_check(answer)],
        "may_record": person.may(Right.RECORD),
        "kept": kept_for(answer.event.code),
        "loaded_at": f"{timezone.now().astimezone():%H:%M}",
    }
    return page(request, "gear_check", leg="ready", asked=asked, **about)
