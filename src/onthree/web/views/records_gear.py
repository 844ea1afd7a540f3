"""Gear: an upkeep entry with one tap, and a sheet of labels whose QR codes open the pages of the items."""

from datetime import date
from secrets import token_hex
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from onthree.actions.gear_upkeep import add_upkeep, upkeep_state
from onthree.actions.records import FieldsError, NotFoundError
from onthree.documents.gear_labels import GearLabel, gear_labels_pdf
from onthree.documents.tag_sheets import PAPERS_MM
from onthree.programme.equipment import UPKEEP
from onthree.programme.records import Gear
from onthree.programme.roles import Right
from onthree.store.calendar import find_organisation
from onthree.store.listing import list_records
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.pages import refusal
from onthree.web.views.records_asked import may_edit, record_page

MOST_LABELS = 2400
_LONGEST_ADDRESS = 120


def upkeep_of(request: HttpRequest, code: str) -> dict[str, Any]:
    """What the page of an item shows of its upkeep."""
    person, day = asking(request), Asked(request.GET).day
    about = {"upkeep": upkeep_state(code, day, person.organisation_code), "today": day, "upkeep_words": UPKEEP}
    just_done = request.GET.get("done", "")
    return about | {"key": token_hex(6), "just_done": just_done if just_done in UPKEEP else ""}


@needs(Right.RECORD)
@require_POST
def add(request: HttpRequest, code: str) -> HttpResponse:
    """Add an upkeep entry, then show the item again."""
    person, post = asking(request), request.POST
    done = post.get("done", "")
    try:
        day = date.fromisoformat(post.get("day", ""))
        note, key = post.get("note", ""), post.get("key", "")
        add_upkeep(code, done, day, person.name, key, note, person.organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    except FieldsError as error:
        return refusal(
            request, 400, "Nothing was saved", *(str(each) for all in error.problems.values() for each in all)
        )
    except ValueError as error:
        return refusal(request, 400, "Nothing was saved", f"{error}: open the page of the item again")
    return redirect(f"{reverse('record', args=['gear', code])}?{urlencode({'done': done})}#upkeep")


@needs(Right.READ)
@require_safe
def labels(request: HttpRequest) -> HttpResponse:
    """Which labels to print, and under which address the pages are reached."""
    person = asking(request)
    found = list_records(Gear, order=("place", "kind"), most=MOST_LABELS, organisation_code=person.organisation_code)
    here = request.build_absolute_uri("/")
    is_loopback = request.get_host().partition(":")[0] in ("localhost", "127.0.0.1", "[")
    about: dict[str, Any] = {
        "items": found.records,
        "here": here,
        "is_loopback": is_loopback,
        "papers": tuple(PAPERS_MM),
    }
    return record_page(request, "labels", may_edit=may_edit(request), **about)


@needs(Right.READ)
@require_safe
def labels_pdf(request: HttpRequest) -> HttpResponse:
    """The sheet of labels."""
    person, given = asking(request), request.GET
    base, paper = given.get("base", "").strip().rstrip("/"), given.get("paper", "a4")
    if not base.startswith(("http://", "https://")) or len(base) > _LONGEST_ADDRESS or any(map(str.isspace, base)):
        told = f"{base!r} given, an address such as http://192.168.1.20:8000 expected: correct it"
        return refusal(request, 400, "The labels cannot be made", told)
    wanted = set(given.getlist("code"))
    found = list_records(Gear, order=("place", "kind"), most=MOST_LABELS, organisation_code=person.organisation_code)
    chosen = [each for each in found.records if isinstance(each, Gear) and each.code in wanted]
    if not chosen or paper not in PAPERS_MM:
        return refusal(request, 400, "The labels cannot be made", "No item is ticked: go back and tick those to label.")
    made = [
        GearLabel(each.code, each.name, each.kind, f"{base}{reverse('record', args=['gear', each.code])}")
        for each in chosen
    ]
    organisation = find_organisation(person.organisation_code)
    is_invented = bool(organisation and organisation[1].is_invented)
    content = gear_labels_pdf(made, paper, Asked(request.GET).day, is_invented=is_invented)
    headers = {"Content-Disposition": 'inline; filename="gear-labels.pdf"'}
    return HttpResponse(content, content_type="application/pdf", headers=headers)
