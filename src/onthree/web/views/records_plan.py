"""The drawn plan of a venue: marks are placed by tapping, by keys or by numbers; GeoJSON in and out."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from onthree.actions.records import ChangedMeanwhileError, FieldsError, NotFoundError, record_as_saved, save_one
from onthree.actions.venue_plan import MOST_MARKS, Plan, PlanFileError, geojson_of, local_plan_of, marks_sheet, plan_of
from onthree.actions.workbook_upload import MOST_BYTES, UploadError, upload_of
from onthree.programme.fields import fields_of
from onthree.programme.places import MARK_KINDS
from onthree.programme.records import PlanMark
from onthree.programme.roles import Right
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.forms.plan_drawing import plan_shown
from onthree.web.forms.record_form import told
from onthree.web.pages import refusal
from onthree.web.views.records_asked import may_edit, record_page
from onthree.web.views.records_workbook import preview_page

_SHEET = "Plan marks.csv"


@needs(Right.READ)
@require_http_methods(["GET", "HEAD"])
def plan(request: HttpRequest, code: str) -> HttpResponse:
    """The plan; with ``mark`` in the address that mark is in hand."""
    shown = _plan(request, code)
    chosen = request.GET.get("mark", "")
    values, version = {"venue": code}, ""
    if chosen:
        try:
            saved = record_as_saved(PlanMark, chosen, asking(request).organisation_code)
        except NotFoundError as error:
            raise Http404(str(error)) from None
        values, version = dict(saved.typed), saved.version
    return _page(request, shown, values, version)


@needs(Right.EDIT)
@require_POST
def save(request: HttpRequest, code: str) -> HttpResponse:
    """Save the mark in hand: a new one, or one that is moved or said otherwise."""
    shown, person, post = _plan(request, code), asking(request), request.POST
    values = {field.name: post.get(field.name, "") for field in fields_of(PlanMark)} | {"venue": code}
    version = post.get("version", "")
    if not values["code"].strip():
        values["code"] = _free_code(shown)
    try:
        save_one(PlanMark, values, version, Asked(request.GET).day, person.name, person.organisation_code)
    except FieldsError as error:
        return _page(request, shown, values, version, status=400, problems=told(error))
    except ChangedMeanwhileError as error:
        if error.saved is None:
            note = "It was taken back meanwhile: save it again, and it is there again."
            return _page(request, shown, values, "", status=409, note=note)
        note = (
            f"{error.saved.by} saved this mark meanwhile as {error.saved.typed['drawn']} "
            f"({error.saved.typed['kind']}, {error.saved.typed['label'] or 'no label'}). "
            "Yours is still in the form: save it to replace that, or leave it."
        )
        return _page(request, shown, values, error.saved.version, status=409, note=note)
    return redirect(f"{reverse('venue-plan', args=[code])}?saved#marks")


@needs(Right.READ)
@require_safe
def geojson(request: HttpRequest, code: str) -> HttpResponse:
    """The plan as GeoJSON, where it is tied to a map."""
    shown = _plan(request, code)
    if not shown.is_on_map:
        told = "GeoJSON needs latitude and longitude. Add them, and where the field points, to the venue first."
        return refusal(request, 409, "The plan is not tied to a map", told)
    return _file(geojson_of(shown), f"{code}.geojson", "application/geo+json")


@needs(Right.READ)
@require_safe
def local(request: HttpRequest, code: str) -> HttpResponse:
    """The plan in metres from the centre of the field."""
    return _file(local_plan_of(_plan(request, code)), f"{code}-local-metres.json", "application/json")


@needs(Right.EDIT)
@require_POST
def upload(request: HttpRequest, code: str) -> HttpResponse:
    """Marks from a GeoJSON file, previewed as a workbook is."""
    shown = _plan(request, code)
    files = request.FILES.getlist("plan")
    try:
        content = files[0].read(MOST_BYTES + 1) if files else b""
        return preview_page(request, upload_of([(_SHEET, marks_sheet(content, shown))]))
    except PlanFileError as error:
        problems = [("", "", text) for text in error.problems]
        return _page(request, shown, {"venue": code}, "", status=400, problems=problems)
    except UploadError as error:
        return _page(request, shown, {"venue": code}, "", status=400, problems=[("", "", str(error))])


def _plan(request: HttpRequest, code: str) -> Plan:
    try:
        return plan_of(code, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None


def _page(
    request: HttpRequest, shown: Plan, values: dict[str, str], version: str, *, status: int = 200, **more: Any
) -> HttpResponse:
    about = {
        "plan": shown,
        "drawing": plan_shown(shown),
        "kinds": MARK_KINDS,
        "values": values,
        "version": version,
        "code": shown.venue.code,
        "may_edit": may_edit(request),
        "is_just_saved": "saved" in request.GET,
        "most": MOST_MARKS,
    }
    return record_page(request, "plan", status=status, **about, **more)


def _free_code(shown: Plan) -> str:
    taken = {mark.code for mark, _ in shown.marks}
    return next(code for n in range(1, MOST_MARKS + 2) if (code := f"{shown.venue.code}-M{n}") not in taken)


def _file(document: dict[str, Any], file: str, content_type: str) -> HttpResponse:
    response = JsonResponse(document, json_dumps_params={"indent": 2, "ensure_ascii": False}, content_type=content_type)
    response["Content-Disposition"] = content_disposition_header(True, file)
    return response
