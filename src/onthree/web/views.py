"""The pages: parse the address, call an action, show the answer. They only read."""

from datetime import date
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from onthree.actions.coming_events import coming_events
from onthree.actions.event_answer import (
    EventAnswer,
    NotFoundError,
    WhatIf,
    answer_for,
    answers_of,
    athlete_at,
    event_programme,
)
from onthree.actions.life_first import life_first_answer
from onthree.actions.lift_answer import lift_answer
from onthree.programme.programme import Programme
from onthree.programme.records import Event
from onthree.techniques.life_first import UNMARKED, life_first_pages
from onthree.transfers.beside import beside_options
from onthree.transfers.shared_lift import MEANING
from onthree.transfers.standing import DEFER, LIFE_FIRST, NOT_KNOWN, PLANNED, rests_on
from onthree.web import shown
from onthree.web.asked import Asked

_PAST_COUNT = 10


@require_safe
def coming(request: HttpRequest) -> HttpResponse:
    """The coming events, the next one answered first; the latest ones when none is coming any more."""
    asked = Asked(request.GET)
    if asked.errors:
        told = [str(text) for texts in asked.errors.values() for text in texts]
        return _refusal(request, 400, "The address cannot be read", *told)
    try:
        found = coming_events(asked.day)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    if found is None:
        return _page(request, "empty_store")
    events = found.events[:_PAST_COUNT] if found.are_past else found.events
    listed = [{"event": each, "venue": found.programme.venues[each.venue]} for each in events]
    answered = _answered(answer_for(found.programme, events[0], WhatIf()), asked) if events else {}
    about = {"programme": found.programme, "asked": asked, **answered}
    return _page(request, "coming", found=found, listed=listed, **about)


@require_safe
def event(request: HttpRequest, code: str) -> HttpResponse:
    """The answer for one event: sentences, findings, then athlete by athlete."""
    asked = Asked(request.GET)
    programme, the_event = _found(code, asked.day)
    if asked.errors:
        return _unanswered(request, programme, the_event, asked)
    answer = answer_for(programme, the_event, asked.what_if)
    tables = shown.tables_of(answer, asked.positions)
    return _page(request, "event", tables=tables, **_answered(answer, asked))


@require_safe
def athlete(request: HttpRequest, code: str, called: str) -> HttpResponse:
    """Every option of one athlete, what stands against each, what blocks and the smallest fixes."""
    asked = Asked(request.GET)
    programme, the_event = _found(code, asked.day)
    if asked.errors:
        return _unanswered(request, programme, the_event, asked)
    answer = answer_for(programme, the_event, asked.what_if)
    try:
        who = athlete_at(answer, called)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    answers = [each for each in answers_of(answer, who) if each.position in asked.positions]
    lift = lift_answer(answer, who)
    about: dict[str, Any] = {
        "athlete": who,
        "called": who.code if who.number is None else who.number,
        "team": answer.programme.teams[who.team],
        "load": shown.load_of(answers[0]),
        "worn": shown.worn_parts(answers[0]),
        "found": [shown.position_of(each) for each in answers],
        "beside": beside_options(answer.engine),
        "lifts": shown.lifts_of(lift),
        "lift_meaning": MEANING,
        "roll": lift.roll,
        "lift_reference": lift.reference.sentence,
    }
    return _page(request, "athlete", **about, **_answered(answer, asked))


@require_safe
def life_first(request: HttpRequest) -> HttpResponse:
    """The life-first pages. An address that cannot be read in full takes none of them away."""
    asked = Asked(request.GET)
    answer = life_first_answer(asked.day, is_open=True)
    return _page(request, "life_first", asked=asked, found=answer, programme=answer.programme)


@require_safe
def life_first_page(request: HttpRequest, called: str) -> HttpResponse:
    """One life-first page: what to do, then what it rests on."""
    asked = Asked(request.GET)
    answer = life_first_answer(asked.day, is_open=True)
    try:
        approved = answer.page(called)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    about: dict[str, Any] = {
        "approved": approved,
        "actions": [(action.does, approved.page.mark(action)) for action in approved.page.action],
        "parts": shown.life_first_parts(approved.page),
        "unmarked": UNMARKED,
    }
    return _page(request, "life_first_page", asked=asked, found=answer, programme=answer.programme, **about)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request refused before any page saw it, such as one that calls this computer by another name."""
    told = "The pages are for this computer only: open them under the address that onthree serve prints."
    return _refusal(request, 400, "Nothing is served under this address", told)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Something asked for that is not there, with what to do."""
    reason = exception.args[0] if exception.args and isinstance(exception.args[0], str) else ""
    return _refusal(request, 404, "Not found", reason or f"There is no page {request.path}")


def fault(request: HttpRequest) -> HttpResponse:
    """A fault of the program itself."""
    told = "This is a fault of the program, not of your data. What failed is printed where onthree serve runs."
    return _refusal(request, 500, "No answer", told)


def _refusal(request: HttpRequest, status: int, title: str, *told: str) -> HttpResponse:
    return _page(request, "refused", status=status, title=title, told=told)


def _unanswered(request: HttpRequest, programme: Programme, event: Event, asked: Asked) -> HttpResponse:
    """The event with the form and what is wrong in it, and no answer that could be taken for the one asked for."""
    venue = programme.venues[event.venue]
    return _page(request, "event", status=400, programme=programme, event=event, venue=venue, asked=asked)


def _found(code: str, on: date) -> tuple[Programme, Event]:
    try:
        return event_programme(code, on)
    except NotFoundError as error:
        raise Http404(str(error)) from None


def _answered(answer: EventAnswer, asked: Asked) -> dict[str, Any]:
    """What the templates show of an answer, wherever it stands."""
    situation = answer.engine.situation
    return {
        "asked": asked,
        "answer": answer,
        "programme": answer.programme,
        "event": answer.event,
        "venue": (venue := answer.programme.venues[answer.event.venue]),
        "hospital": answer.programme.hospitals.get(venue.hospital or ""),
        "what_if": _words(answer, asked.what_if),
        "sentences": [answer.sentences[position] for position in asked.positions],
        "levels": shown.levels_of(answer),
        "surface": situation.surface,
        "hands": shown.hands_of(situation),
        "gear": shown.gear_of(situation),
        "vehicles": shown.vehicles_of(situation),
    }


def _words(answer: EventAnswer, what_if: WhatIf) -> list[str]:
    """What was changed for the answer, in words."""
    changed = {"surface": what_if.surface, "hands": what_if.hands, "goal": what_if.goal and answer.goal.title}
    return [f"{name} {value}" for name, value in changed.items() if value]


def _page(request: HttpRequest, name: str, *, status: int = 200, **content: Any) -> HttpResponse:
    standing = {
        "life_first": LIFE_FIRST,
        "planned": PLANNED,
        "defer": DEFER,
        "not_known": NOT_KNOWN,
        "rests_on_files": rests_on(),
    }
    titles = [(page.id, page.title) for page in life_first_pages()]
    return render(request, f"onthree/{name}.html", {**standing, "life_first_titles": titles, **content}, status=status)
