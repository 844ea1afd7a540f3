"""Signing a known gap: by medical direction in their own name, or recorded as signed on paper."""

from typing import Any
from uuid import uuid4

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import EventAnswer, NotFoundError
from onthree.actions.sign_gap import finding_called, sign_gap
from onthree.programme.events import SIGNERS
from onthree.programme.roles import Right, who_may
from onthree.readiness.finding import Finding
from onthree.web import typed
from onthree.web.access import Person, asking, needs
from onthree.web.asked import Asked
from onthree.web.pages import page, refusal


class GapForm(forms.Form):
    """Why the gap stays, until when; on paper also who signed."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Why it stays for now", max_length=1000)
    until = forms.DateField(label="Last day it holds", widget=forms.DateInput(attrs={"type": "date"}))
    signed_by = forms.ChoiceField(label="Signed on paper by", choices=[(word, word) for word in SIGNERS])
    signer = forms.CharField(label="Who, as a role or name", max_length=200)

    def __init__(self, person: Person, data: QueryDict | None) -> None:
        super().__init__(data, initial={"key": uuid4()}, auto_id="gap-%s", label_suffix="")
        if person.may(Right.SIGN):
            del self.fields["signed_by"], self.fields["signer"]


@needs(Right.READ)
def known_gap(request: HttpRequest, code: str) -> HttpResponse:
    """The form for one finding, and saving it."""
    person, asked = asking(request), Asked(request.GET)
    if not (person.may(Right.SIGN) or person.may(Right.EDIT)):
        told = (
            f"Only these may {Right.SIGN}: {', '.join(who_may(Right.SIGN))}. The lead records what was signed on paper."
        )
        return refusal(request, 403, "Not for your role", told)
    answer, finding = _found(request, code, asked, person)
    form = GapForm(person, request.POST if request.method == "POST" else typed.take(request))
    if request.method == "POST" and form.is_valid():
        given: dict[str, Any] = {"signed_by": SIGNERS[0], "signer": person.name, **form.cleaned_data}
        try:
            sign_gap(answer, finding, by=person.name, **given)
            return redirect(f"/events/{code}/{asked.query_of_day}")
        except ValueError as error:
            form.add_error("until", str(error))
    about: dict[str, Any] = {"form": form, "finding": finding, "signs_alone": person.may(Right.SIGN)}
    about |= {"event": answer.event, "venue": answer.programme.venues[answer.event.venue]}
    status = 400 if form.errors else 200
    return page(request, "known_gap", leg="ready", status=status, asked=asked, programme=answer.programme, **about)


def _found(request: HttpRequest, code: str, asked: Asked, person: Person) -> tuple[EventAnswer, Finding]:
    try:
        answer = current_answer(code, asked.day, None, person.organisation_code)
        return answer, finding_called(answer, request.GET.get("rule", ""), request.GET.get("subject", ""))
    except NotFoundError as error:
        raise Http404(str(error)) from None
