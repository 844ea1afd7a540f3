"""What the outbox of a page sends, from the same page where its script does not run."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from onthree.actions.outbox import receive
from onthree.actions.outbox_kinds import KINDS
from onthree.programme.roles import Right, who_may
from onthree.web.access import asking, needs
from onthree.web.pages import refusal

_NOT_CONTENT = ("csrfmiddlewaretoken", "key", "next")
_LISTS = ("told",)


@needs(Right.READ)
@require_POST
def send(request: HttpRequest, kind: str) -> HttpResponse:
    """Take in one thing exactly once, and go back to where it was typed."""
    if kind not in KINDS:
        raise Http404(f"kind {kind!r} given, expected one of: {', '.join(sorted(KINDS))}")
    person, right = asking(request), KINDS[kind].right
    if not person.may(right):
        return refusal(request, 403, "Not for your role", f"Only these may {right}: {', '.join(who_may(right))}.")
    body: dict[str, Any] = {name: value for name, value in request.POST.items() if name not in _NOT_CONTENT}
    body |= {name: request.POST.getlist(name) for name in _LISTS if name in body}
    try:
        receive(UUID(request.POST.get("key", "")), kind, body, person.name, None, person.organisation_code)
    except LookupError as error:
        raise Http404(str(error)) from None
    except ValueError as error:
        return refusal(request, 400, "Nothing was saved", str(error), "Go back and say it again.")
    after = request.POST.get("next", "/")
    return redirect(after if url_has_allowed_host_and_scheme(after, None) else "/")
