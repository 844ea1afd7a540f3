"""The request to the visiting side: a link made by the lead, answered from a phone without an account."""

from typing import Any
from uuid import uuid4

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from onthree.actions.event_answer import NotFoundError, event_programme
from onthree.actions.outbox import receive
from onthree.actions.visitors import KIND, LINES, LinkError, VisitorLink, read_visitor_link, visitor_link
from onthree.programme.programme import Programme
from onthree.programme.records import Event
from onthree.programme.roles import Right
from onthree.programme.time_out import read_largest
from onthree.web.access import asking, needs, open_to_all
from onthree.web.pages import page, refusal


class FiveLines(forms.Form):
    """The five lines, who answers, and the key under which the answer arrives once."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    name = forms.CharField(label="Your name and role", max_length=120)

    def __init__(self, *args: object, **options: object) -> None:
        super().__init__(*args, auto_id="line-%s", label_suffix="", **options)  # type: ignore[arg-type, misc]
        for name, asked in LINES.items():
            widget = forms.Textarea(attrs={"rows": 2})
            self.fields[name] = forms.CharField(label=asked, max_length=1000, required=False, widget=widget)

    def clean_largest(self) -> str:
        """Numbers and weights that can be read, so that they count."""
        given: str = self.cleaned_data["largest"]
        try:
            read_largest(given)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        return given

    def clean(self) -> dict[str, object]:
        """At least one line."""
        given: dict[str, object] = super().clean() or {}
        if not self.errors and not any(given.get(name) for name in LINES):
            raise forms.ValidationError("Fill in at least one of the five lines.")
        return given


@needs(Right.ACCOUNTS)
@require_POST
def make_link(request: HttpRequest, code: str) -> HttpResponse:
    """Make the link of an event, to be sent to the visiting side."""
    programme, event = _event(code, asking(request).organisation_code)
    path = f"/visit/{visitor_link(programme.organisation.code, event)}/"
    link = request.build_absolute_uri(path)
    return page(request, "visitor_link", leg="ready", programme=programme, event=event, link=link)


@open_to_all
def visit(request: HttpRequest, text: str) -> HttpResponse:
    """The request of one event, and nothing else."""
    try:
        link = read_visitor_link(text, timezone.now())
    except LinkError as error:
        return refusal(request, 404, "This link opens nothing", str(error))
    programme, event = _event(link.event, link.organisation)
    about: dict[str, Any] = {"event": event, "venue": programme.venues[event.venue], "asking": programme.organisation}
    form = FiveLines(request.POST) if request.method == "POST" else FiveLines(initial={"key": uuid4()})
    if request.method != "POST" or not form.is_valid():
        return page(request, "visit", status=400 if form.errors else 200, form=form, **about)
    try:
        _keep(form, link)
    except ValueError as error:
        form.add_error(None, str(error))
        return page(request, "visit", status=400, form=form, **about)
    given = [(asked, form.cleaned_data[name]) for name, asked in LINES.items() if form.cleaned_data[name]]
    return page(request, "visit", is_sent=True, given=given, **about)


def _keep(form: FiveLines, link: VisitorLink) -> None:
    given = dict(form.cleaned_data)
    key = given.pop("key")
    receive(key, KIND, {**given, "event": link.event}, f"visitor: {given['name']}", None, link.organisation)


def _event(code: str, organisation_code: str | None) -> tuple[Programme, Event]:
    try:
        return event_programme(code, timezone.now().astimezone().date(), organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None
