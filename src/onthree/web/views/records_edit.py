"""Records are added, edited and taken back; two people who edit one are shown both versions; who changed what when."""

from collections.abc import Mapping
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from onthree.actions.records import (
    ChangedMeanwhileError,
    FieldsError,
    Saved,
    save_one,
    take_back,
)
from onthree.programme.fields import fields_of
from onthree.programme.records import Organisation, Record
from onthree.programme.roles import Right
from onthree.store.histories import history_of
from onthree.web import typed
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.forms.kinds import ADDRESS_OF, is_size
from onthree.web.forms.record_form import decisions, form_of, told, typed_in, were
from onthree.web.forms.shown_values import moment, shown_value
from onthree.web.views.records_asked import about_kind, found, kind_at, name_of, record_page

_GONE = "It was taken back meanwhile. What you typed is still here: save it, and it is there again."


@needs(Right.EDIT)
@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest, slug: str) -> HttpResponse:
    """A form for a new record; what the address says stands in it already."""
    kind = kind_at(slug)
    if request.method == "POST":
        return _save(request, kind, "")
    waiting = typed.take(request) or request.GET
    values = {field.name: waiting.get(field.name, "") for field in fields_of(kind)}
    return _form(request, kind, values, was={}, version="")


@needs(Right.EDIT)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """A form with the record as it is saved."""
    kind, person = kind_at(slug), asking(request)
    if request.method == "POST":
        return _save(request, kind, code)
    saved = found(kind, code, person)
    waiting = typed.take(request)
    if waiting:
        was, version = were(kind, waiting), waiting.get("version", saved.version)
        return _form(request, kind, typed_in(kind, waiting) | {"code": code}, was, version, code=code)
    return _form(request, kind, saved.typed, saved.typed, saved.version, code=code)


@needs(Right.EDIT)
@require_http_methods(["GET", "HEAD", "POST"])
def take_back_record(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Asks before a record is taken back, and takes it back."""
    kind, person = kind_at(slug), asking(request)
    saved = found(kind, code, person)
    problem = ""
    if kind is Organisation:
        raise Http404("the organisation owns every other record and stays")
    if request.method == "POST":
        try:
            take_back(saved.record, request.POST.get("version", ""), person.name, person.organisation_code)
            return redirect("records-list", slug)
        except ChangedMeanwhileError:
            problem = (
                f"{saved.by} saved it meanwhile, at {moment(saved.at).clock}: look at it again before you take it back."
            )
        except ValueError as error:
            problem = str(error)
    about = {"saved": saved, "code": code, "spoken": name_of(saved.record), "problem": problem}
    return record_page(request, "take_back", status=409 if problem else 200, **about_kind(request, kind), **about)


@needs(Right.READ)
@require_safe
def history(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Who changed what and when, old and new beside each other."""
    kind, person = kind_at(slug), asking(request)
    writings = history_of(kind, code, person.organisation_code)
    if not writings:
        raise Http404(f"{slug}: there never was a record {code!r}")
    shown = [
        (
            (moment(writing.at), writing.way, writing.by),
            [
                (field.header, shown_value(field, old).text, shown_value(field, new).text)
                for field, old, new in writing.changed
                if person.may(Right.SIZES) or not is_size(kind, field)
            ],
        )
        for writing in writings
    ]
    is_there = writings[0].way != "taken back"
    return record_page(request, "history", **about_kind(request, kind), code=code, writings=shown, is_there=is_there)


def _save(request: HttpRequest, kind: type[Record], code: str) -> HttpResponse:
    """Save what was typed, or show it again with what is wrong, or beside what somebody else saved."""
    person, post = asking(request), request.POST
    given, was, version = typed_in(kind, post), were(kind, post), post.get("version", "")
    given |= {"code": code} if code else {}
    if "decided" in post:
        given, open_fields = _with_decisions(kind, post, given)
        saved = found(kind, code, person) if open_fields else None
        if saved:
            return _both(request, kind, given, was, saved, open_fields)
        if post.get("then") == "form":
            return _form(request, kind, given, was, version, code=code)
    try:
        record = save_one(kind, given, version, Asked(request.GET).day, person.name, person.organisation_code)
    except FieldsError as error:
        return _form(request, kind, given, was, version, code=code, error=error)
    except ChangedMeanwhileError as error:
        if error.saved is None:
            return _form(request, kind, given, {}, "", code="", note=_GONE)
        return _both(request, kind, given, was, error.saved)
    return redirect(f"{reverse('record', args=[ADDRESS_OF[kind], record.code])}?saved")


def _with_decisions(kind: type[Record], post: Any, given: dict[str, str]) -> tuple[dict[str, str], frozenset[str]]:
    """What was decided; a field that two people changed and nobody decided keeps mine, and is named."""
    undecided = frozenset(
        field.name for field in fields_of(kind) if f"mine-{field.name}" in post and field.name not in post
    )
    return given | {name: post[f"mine-{name}"] for name in undecided}, undecided


def _both(
    request: HttpRequest,
    kind: type[Record],
    mine: Mapping[str, str],
    was: Mapping[str, str],
    saved: Saved,
    undecided: frozenset[str] = frozenset(),
) -> HttpResponse:
    """Both versions, field by field."""
    differing = decisions(kind, mine, saved.typed, was)
    names = {each.field.name for each in differing}
    about = {
        "code": saved.record.code,
        "saved": saved,
        "when": moment(saved.at),
        "differing": differing,
        "undecided": undecided & names,
        "same": [(name, text) for name, text in mine.items() if name not in names and name != "code"],
        "were": saved.typed.items(),
    }
    return record_page(request, "both", status=409, **about_kind(request, kind), **about)


def _form(
    request: HttpRequest,
    kind: type[Record],
    values: Mapping[str, str],
    was: Mapping[str, str],
    version: str,
    *,
    code: str = "",
    error: FieldsError | None = None,
    note: str = "",
) -> HttpResponse:
    problems = error.problems if error else {}
    about = {
        "fields": form_of(kind, values, was if code else {}, problems, asking(request).organisation_code),
        "told": told(error) if error else [],
        "version": version,
        "code": code,
        "note": note,
    }
    status = 400 if error else 409 if note else 200
    return record_page(request, "form", status=status, **about_kind(request, kind), **about)
