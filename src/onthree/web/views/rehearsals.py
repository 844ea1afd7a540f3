"""Runs of rehearsals: the list by evening, one run, recording it live, its debrief, setting it aside."""

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from onthree.actions import run_pages, runs
from onthree.actions.debrief import debrief_run
from onthree.actions.film_queue import jobs_of
from onthree.actions.outbox import receive
from onthree.actions.run_taps import ASKED, RUN_PREFIX
from onthree.documents.debrief import Still
from onthree.programme.records import Organisation, Run
from onthree.programme.roles import Right
from onthree.rehearsals.debrief import CAUTIONS
from onthree.store.calendar import find_organisation
from onthree.web import typed
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.forms.record_form import FormField, form_of
from onthree.web.offline import kept_always
from onthree.web.pages import page

LEG = "measure"
KEPT = tuple(f"/static/onthree/{name}" for name in ("records.css", "rehearsals.css", "run.js", "run-sending.js"))
NEEDED = ("stand_in", "spotters", "consent", "stand_in_age_group", "permission", "device")
"""Fields that stand first: without most of them no run starts."""
MOST_STEPS, MOST_PEOPLE = 6, 8


@needs(Right.SIZES)
@require_safe
def rehearsals(request: HttpRequest) -> HttpResponse:
    """Every run, evening by evening."""
    asked = Asked(request.GET)
    try:
        found = run_pages.evenings(asked.day, _whose(request))
    except LookupError:
        return page(request, "empty_store", leg=LEG)
    return page(
        request, "rehearsals/list", leg=LEG, asked=asked, found=found, programme=found.programme, **_told(request)
    )


@needs(Right.SIZES)
@require_safe
def run(request: HttpRequest, code: str) -> HttpResponse:
    """One run: who did what, phases, incidents, films, what was measured, and what is being measured."""
    asked = Asked(request.GET)
    answer = found_run(request, code, asked.day)
    about: dict[str, Any] = {
        "asked": asked,
        "programme": answer.programme,
        "page": answer.page,
        "run": answer.run.run,
        "recorded": answer.run,
        "jobs": jobs_of(code, _whose(request)),
    }
    return page(request, "rehearsals/run", leg=LEG, **about, **_told(request))


@needs(Right.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """The form before a run, and from then on the run itself: the page records it with or without a network."""
    given = request.POST if request.method == "POST" else typed.take(request)
    problems: list[str] = []
    if request.method == "POST":
        key = uuid4()
        try:
            receive(key, "run-start", _start_body(request), asking(request).name, timezone.now(), _whose(request))
        except (ValueError, LookupError) as error:
            problems = str(error).split("; ")
        else:
            return redirect("run-record", f"{RUN_PREFIX}-{key.hex[:12].upper()}")
    values = {name: given.get(name, "") for name in ASKED} if given else {"day": _today().isoformat()}
    return _recording(request, None, values, problems)


@needs(Right.RECORD)
@require_safe
def record(request: HttpRequest, code: str) -> HttpResponse:
    """A run that was begun: go on recording it."""
    return _recording(request, code, {}, [])


@needs(Right.RECORD)
@require_POST
def put_aside(request: HttpRequest, code: str) -> HttpResponse:
    """The run no longer counts, with the reason; without one it counts again."""
    try:
        runs.set_aside(code, request.POST.get("reason", ""), asking(request).name, _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    return redirect("run", code)


@needs(Right.SIZES)
@require_safe
def debrief(request: HttpRequest, code: str) -> HttpResponse:
    """One screen while the team still kneels: three sentences, the lag, the pictures, the incidents."""
    asked = Asked(request.GET)
    answer = _debrief(request, code, asked.day)
    about = {"asked": asked, "page": answer.page, "run": answer.page.run.run, "answer": answer}
    about["organisation"] = organisation_of(request)
    return page(request, "rehearsals/debrief", leg=LEG, stills=_shown(answer.stills), **about)


@needs(Right.SIZES)
@require_safe
def debrief_pdf(request: HttpRequest, code: str) -> HttpResponse:
    """The same as a page to print."""
    answer = _debrief(request, code, _asked(request).day)
    headers = {
        "Content-Disposition": f'inline; filename="debrief-{"".join(c for c in code if c.isalnum() or c == "-")}.pdf"'
    }
    return HttpResponse(answer.pdf(), content_type="application/pdf", headers=headers)


def found_run(request: HttpRequest, code: str, on: date) -> Any:
    """The run asked for. Raises Http404."""
    try:
        return run_pages.run_page(code, on, _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None


def organisation_of(request: HttpRequest) -> Organisation | None:
    """The organisation whose pages are asked for, None in an empty store."""
    found = find_organisation(_whose(request))
    return found[1] if found else None


def _shown(stills: Sequence[Still]) -> list[tuple[Still, str]]:
    """Pictures with their content as an address, so that the page is whole as it is."""
    return [(one, f"data:image/jpeg;base64,{b64encode(one.jpeg).decode()}") for one in stills]


def _debrief(request: HttpRequest, code: str, on: date) -> Any:
    try:
        return debrief_run(code, on, organisation_code=_whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None


def _recording(request: HttpRequest, code: str | None, values: dict[str, str], problems: list[str]) -> HttpResponse:
    try:
        data = run_pages.recording_data(code, _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    fields = _fields(values, _whose(request)) if code is None else ()
    about: dict[str, Any] = {
        "code": code,
        "problems": problems,
        "needed": [each for name in NEEDED for each in fields if each.field.name == name],
        "more": [each for each in fields if each.field.name in ASKED and each.field.name not in NEEDED],
        "data": {**data, "address": reverse("rehearsals"), "made_on": _clock_day().isoformat()},
        "techniques": run_pages.technique_titles(),
        "roles": run_pages.role_names(),
        "responders": run_pages.responders(_whose(request)) if code is None else (),
        "steps": range(1, MOST_STEPS + 1),
        "people": range(1, MOST_PEOPLE + 1),
        "incidents": list(enumerate(data["incidents"], start=1)),
        "planes": data["planes"],
        "keep": " ".join((reverse("run-start"), *KEPT, *kept_always())),
        "organisation": organisation_of(request),
    }
    status = 400 if problems else 200
    return page(request, "rehearsals/record", leg=LEG, status=status, asked=_asked(request), **about, **_told(request))


def _fields(values: dict[str, str], whose: str | None) -> tuple[FormField, ...]:
    """The fields of a run; of the gear only what a run may be carried on."""
    fields = form_of(Run, values, {}, organisation_code=whose)
    offered = run_pages.devices(whose)
    value = values.get("device", "")
    options = offered if not value or value in dict(offered) else ((value, value), *offered)
    return tuple(
        replace(each, widget="select", searches="", options=options) if each.field.name == "device" else each
        for each in fields
    )


def _start_body(request: HttpRequest) -> dict[str, Any]:
    """What the form says, as a device would send it."""
    post = request.POST
    people = [
        {name: post.get(f"{name}-{number}", "") for name in ("role", "responder", "somebody")}
        for number in range(1, MOST_PEOPLE + 1)
    ]
    sequence = [post.get(f"step-{number}", "") for number in range(1, MOST_STEPS + 1)]
    return {
        "fields": {name: post.get(name, "") for name in ASKED},
        "roles": [person for person in people if person["role"]],
        "sequence": [each for each in sequence if each],
    }


def _told(request: HttpRequest) -> dict[str, Any]:
    return {
        "may_record": asking(request).may(Right.RECORD),
        "may_edit": asking(request).may(Right.EDIT),
        "cautions": CAUTIONS,
    }


def _asked(request: HttpRequest) -> Asked:
    asked = Asked(request.GET)
    asked.full_clean()
    return asked


def _whose(request: HttpRequest) -> str | None:
    return asking(request).organisation_code


def _today() -> date:
    return settings.TODAY or _clock_day()


def _clock_day() -> date:
    return timezone.now().astimezone().date()
