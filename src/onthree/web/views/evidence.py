"""The published evidence: what drives a ranking, every value and contrast, and what one's own rehearsals measured."""

from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from onthree.actions import evidence_pages
from onthree.actions.event_answer import NotFoundError
from onthree.actions.own_measured import own_measured
from onthree.evidence.contrast import evidence_hash
from onthree.evidence.measured import QUANTITY_WORDS
from onthree.programme.roles import Right
from onthree.rehearsals.own import NOT_RANKED
from onthree.techniques.library import bundled_library
from onthree.web import evidence_shown
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.pages import page, refusal

LEG = "choose"
AT_ONCE = 40
RUNS_SHOWN = 12
_LONGEST = 100


@needs(Right.READ)
@require_safe
def overview(request: HttpRequest) -> HttpResponse:
    """Which evidence drives a ranking, where sources disagree, every technique and every source."""
    used = evidence_pages.evidence_used()
    about: dict[str, Any] = {
        "stands": evidence_shown.stands(used.driving),
        "disagreements": evidence_shown.disagreements(used.disagreements),
        "kinds": [each for each in used.kinds if each.techniques],
        "sources": evidence_pages.sources_counted(),
        "hash": evidence_hash(),
    }
    return _page(request, "overview", evidence_pages.Asked(), **about)


@needs(Right.READ)
@require_safe
def lines(request: HttpRequest) -> HttpResponse:
    """The values and contrasts that are asked for, so many at once."""
    asked = evidence_pages.Asked(
        request.GET.get("q", "")[:_LONGEST].strip(), request.GET.get("technique", ""), request.GET.get("quantity", "")
    )
    try:
        found = evidence_pages.find_lines(asked)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    part = Paginator([*found.contrasts, *found.values], AT_ONCE).get_page(request.GET.get("page"))
    shown = set(part.object_list)
    about: dict[str, Any] = {
        "found": found,
        "part": part,
        "contrasts": [each for each in found.contrasts if each in shown],
        "values": [each for each in found.values if each in shown],
        "before": _query(request, part.previous_page_number()) if part.has_previous() else "",
        "after": _query(request, part.next_page_number()) if part.has_next() else "",
    }
    return _page(request, "lines", asked, **about)


@needs(Right.READ)
@require_safe
def technique(request: HttpRequest, called: str) -> HttpResponse:
    """What is published on the kind of handling of one technique, and beside it what one's own runs measured."""
    try:
        found = evidence_pages.technique_evidence(called)
        answer = own_measured([called], Asked(request.GET).day, asking(request).organisation_code)
    except LookupError as error:
        raise Http404(str(error)) from None
    about: dict[str, Any] = {
        "found": found,
        "stands": evidence_shown.stands(found.driving),
        "disagreements": evidence_shown.disagreements(found.disagreements),
        "organisation": answer.organisation,
        "own": answer.of[called],
        "own_runs": answer.of[called].runs[:RUNS_SHOWN],
        "not_ranked": NOT_RANKED,
    }
    return _page(request, "technique", evidence_pages.Asked(technique=called), **about)


@needs(Right.READ)
@require_safe
def source(request: HttpRequest, key: str) -> HttpResponse:
    """One source: what it is, whether it was read, and every value and contrast of it."""
    try:
        found = evidence_pages.source_evidence(key)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    stands = evidence_shown.stands(found.driving)
    return _page(request, "source", evidence_pages.Asked(), found=found, stands=stands)


def _page(request: HttpRequest, name: str, looked_for: evidence_pages.Asked, **about: Any) -> HttpResponse:
    asked = Asked(request.GET)
    if asked.errors:
        told = [str(text) for texts in asked.errors.values() for text in texts]
        return refusal(request, 400, "The address cannot be read", *told)
    offered: dict[str, Any] = {
        "looked_for": looked_for,
        "techniques": [(each.id, each.title) for each in bundled_library().techniques],
        "quantities": QUANTITY_WORDS.items(),
        "driving_ids": evidence_pages.evidence_used().driving_ids,
    }
    return page(request, f"evidence/{name}", leg=LEG, asked=asked, **offered, **about)


def _query(request: HttpRequest, number: int) -> str:
    asked = {name: str(value) for name, value in request.GET.items() if value}
    return f"?{urlencode({**asked, 'page': str(number)})}"
