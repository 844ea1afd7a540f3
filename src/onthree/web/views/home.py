"""Home: the next event, how the coming ones stand, what is due, what changed; and the calendar."""

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.actions.changed_since import changed_since, note_visit
from onthree.actions.coming_events import coming_events
from onthree.actions.current_answer import current_answer
from onthree.actions.due import WITHIN_DAYS, due_on
from onthree.actions.event_answer import NotFoundError
from onthree.actions.records import SHEET_OF
from onthree.programme.roles import Right
from onthree.store.calendar import Calendar
from onthree.store.histories import TAKEN_BACK
from onthree.web import shown
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.forms.kinds import KIND_AT
from onthree.web.pages import page, refusal
from onthree.web.views.events import answered

HOME_EVENTS, CALENDAR_EVENTS = 8, 400
_SLUGS = {SHEET_OF[kind]: slug for slug, kind in KIND_AT.items()}


@needs(Right.READ)
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """The next event answered first, or the latest one when none is coming any more; then everything else."""
    asked = Asked(request.GET)
    if asked.errors:
        return _unreadable(request, asked)
    found = _calendar(request, asked, HOME_EVENTS)
    if found is None:
        return page(request, "empty_store")
    about: dict[str, Any] = {"asked": asked, "organisation": found.organisation, "found": found}
    if found.entries:
        answer = current_answer(found.entries[0].code, asked.day, organisation_code=found.organisation.code)
        about |= answered(answer, asked) | {"stands": shown.standing_of(answer)}
    about["changed"] = _changed(request, found.organisation.code)
    return page(request, "home", due=due_on(asked.day, found.organisation.code), within_days=WITHIN_DAYS, **about)


def _changed(request: HttpRequest, organisation_code: str) -> dict[str, Any]:
    """What changed since the last visit, times as text: the clock is this computer's."""
    account = asking(request).account
    found = changed_since(note_visit(account.pk) if account else None, organisation_code)
    return {
        "is_last_visit": found.is_last_visit,
        "when": f"{found.since.day} {found.since:%B, %H:%M}" if found.is_last_visit else "",
        "savings": [_saving(when, by, changes) for (when, by), changes in groupby(found.changes, _when_and_by)],
    }


def _when_and_by(change: Any) -> tuple[str, str]:
    return f"{change.at.day} {change.at:%b %H:%M}", change.by


def _saving(when: str, by: str, changes: Iterable[Any]) -> dict[str, Any]:
    """What one person saved at one time; each change with what stands in the address of its kind, if it is there."""
    listed = [(each, "" if each.way == TAKEN_BACK else _SLUGS.get(each.sheet, "")) for each in changes]
    return {"when": when, "by": by, "changes": listed}


@needs(Right.READ)
@require_safe
def choose(request: HttpRequest) -> HttpResponse:
    """Every coming event; the latest ones when none is coming any more."""
    asked = Asked(request.GET)
    if asked.errors:
        return _unreadable(request, asked)
    found = _calendar(request, asked, CALENDAR_EVENTS)
    if found is None:
        return page(request, "empty_store", leg="choose")
    return page(request, "choose", leg="choose", asked=asked, organisation=found.organisation, found=found)


def _calendar(request: HttpRequest, asked: Asked, most: int) -> Calendar | None:
    try:
        return coming_events(asked.day, most, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None


def _unreadable(request: HttpRequest, asked: Asked) -> HttpResponse:
    told = [str(text) for texts in asked.errors.values() for text in texts]
    return refusal(request, 400, "The address cannot be read", *told)
