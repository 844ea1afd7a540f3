"""The answer for an event and for one athlete of it: parse the address, call an action, show the answer."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from onthree.actions.current_answer import current_answer
from onthree.actions.event_answer import (
    EventAnswer,
    NotFoundError,
    answers_of,
    athlete_at,
    event_programme,
)
from onthree.actions.lift_answer import lift_answer
from onthree.actions.own_measured import own_measured
from onthree.actions.visitors import answered_lines
from onthree.programme.roles import Right
from onthree.transfers.beside import beside_options
from onthree.transfers.shared_lift import MEANING
from onthree.web import shown
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.event_around import changed_words, late_changes, lost_by, may_do
from onthree.web.pages import page
from onthree.web.shown_event import fixable_of, minutes_of

LEG = "choose"


@needs(Right.READ)
@require_safe
def event(request: HttpRequest, code: str) -> HttpResponse:
    """The answer for one event: sentences, findings, then athlete by athlete."""
    asked = Asked(request.GET)
    if asked.errors:
        return _unanswered(request, code, asked)
    answer = _answer(request, code, asked)
    tables = shown.tables_of(answer, asked.positions)
    person = asking(request)
    about = late_changes(answer, asked.what_if) | lost_by(answer, asked, person.organisation_code) | may_do(person)
    return page(
        request, "event", leg=LEG, tables=tables, **about, **_visitors(request, answer), **answered(answer, asked)
    )


@needs(Right.READ)
@require_safe
def standing(request: HttpRequest, code: str) -> HttpResponse:
    """How one event stands, as a part of a page that lists many."""
    asked = Asked(request.GET)
    if asked.errors:
        return _unanswered(request, code, asked)
    return page(request, "event_standing", stands=shown.standing_of(_answer(request, code, asked)))


@needs(Right.READ)
@require_safe
def athlete(request: HttpRequest, code: str, called: str) -> HttpResponse:
    """Every option of one athlete, what stands against each, what blocks and the smallest fixes."""
    asked = Asked(request.GET)
    if asked.errors:
        return _unanswered(request, code, asked)
    answer = _answer(request, code, asked)
    try:
        who = athlete_at(answer, called)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    answers = [each for each in answers_of(answer, who) if each.position in asked.positions]
    lift = lift_answer(answer, who)
    own = own_measured(shown.planned_techniques(answers), asked.day, asking(request).organisation_code).of
    about: dict[str, Any] = {
        "athlete": who,
        "called": who.code if who.number is None else who.number,
        "team": answer.programme.teams[who.team],
        "load": shown.load_of(answers[0]),
        "worn": shown.worn_parts(answers[0]),
        "found": [shown.position_of(each, own) for each in answers],
        "beside": beside_options(answer.engine),
        "lifts": shown.lifts_of(lift),
        "lift_meaning": MEANING,
        "roll": lift.roll,
        "lift_reference": lift.reference.sentence,
    }
    return page(request, "athlete", leg=LEG, **about, **answered(answer, asked))


def _unanswered(request: HttpRequest, code: str, asked: Asked) -> HttpResponse:
    """The event with the form and what is wrong in it, and no answer that could be taken for the one asked for."""
    try:
        programme, event = event_programme(code, asked.day, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None
    venue = programme.venues[event.venue]
    return page(request, "event", leg=LEG, status=400, programme=programme, event=event, venue=venue, asked=asked)


def _visitors(request: HttpRequest, answer: EventAnswer) -> dict[str, Any]:
    """What the visitors answered, for those who may see what athletes weigh; and whether they may be asked."""
    person = asking(request)
    rows = [row for row in answer.programme.visitor_answers.values() if row.event == answer.event.code]
    listed = [(row, answered_lines(row)) for row in reversed(rows)] if person.may(Right.SIZES) else []
    return {"visitor_answers": listed, "may_invite": person.may(Right.ACCOUNTS)}


def _answer(request: HttpRequest, code: str, asked: Asked) -> EventAnswer:
    try:
        return current_answer(code, asked.day, asked.what_if, asking(request).organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None


def answered(answer: EventAnswer, asked: Asked) -> dict[str, Any]:
    """What the templates show of an answer, wherever it stands."""
    situation = answer.engine.situation
    return {
        "asked": asked,
        "answer": answer,
        "programme": answer.programme,
        "event": answer.event,
        "venue": (venue := answer.programme.venues[answer.event.venue]),
        "hospital": answer.programme.hospitals.get(venue.hospital or ""),
        "what_if": changed_words(answer, asked.what_if),
        "sentences": [answer.sentences[position] for position in asked.positions],
        "fixable": fixable_of(answer.findings),
        "level_meanings": shown.level_meanings(),
        "minutes": minutes_of(situation, {code: one.name for code, one in answer.programme.responders.items()}),
        "surface": situation.surface,
        "loaded_at": f"{timezone.now().astimezone():%H:%M}",
        "hands": shown.hands_of(situation),
        "gear": shown.gear_of(situation),
        "vehicles": shown.vehicles_of(situation),
    }
