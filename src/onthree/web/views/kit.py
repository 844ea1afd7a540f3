"""The one-file kit of an event to download, and the answers it kept to upload."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_POST, require_safe

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import NotFoundError
from onthree.actions.kit import kit_html, take_kit_answers
from onthree.programme.roles import RIGHTS, Right
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.pages import page, refusal


@needs(Right.READ)
@require_safe
def kit(request: HttpRequest, code: str) -> HttpResponse:
    """One HTML file; it is saved and not shown, for it brings a script of its own."""
    asked = Asked(request.GET)
    if asked.errors:
        return refusal(request, 400, "The address cannot be read", *map(str, asked.errors.values()))
    try:
        answer = current_answer(code, asked.day, None, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    html = kit_html(answer, timezone.now().astimezone())
    name = f"kit-{slugify(answer.event.code)}.html"
    return HttpResponse(html, headers={"Content-Disposition": f'attachment; filename="{name}"'})


@needs(Right.ANSWER)
@require_POST
def kit_answers(request: HttpRequest) -> HttpResponse:
    """Take in a file of answers."""
    person, file = asking(request), request.FILES.get("answers")
    if file is None:
        return refusal(request, 400, "Nothing was taken", "No file was chosen: go back and choose the file of answers.")
    try:
        found = take_kit_answers(file.read(), person.name, RIGHTS[person.role], person.organisation_code)
    except ValueError as error:
        return refusal(request, 400, "Nothing was taken", str(error))
    return page(request, "kit_answers", leg="ready", found=found, status=400 if found.refused else 200)
