"""The API for programs and for the outbox of the pages; described in OpenAPI at /api/openapi.json."""

from importlib.metadata import version
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from ninja import NinjaAPI

from onthree.actions import as_json
from onthree.actions.event_answer import NotFoundError
from onthree.actions.life_first import life_first_answer
from onthree.actions.outbox import OtherContentError
from onthree.programme.roles import RIGHTS, Right
from onthree.store.place import StoreError
from onthree.web.api import events, films, outbox, records
from onthree.web.api.calling import Calling, caller

api = NinjaAPI(
    title="onthree",
    version=version("onthree"),
    description="Answers, findings and records of one programme; nothing here is clinical advice.",
    docs_url=None,  # a page that asks nobody else for its scripts does not come with it
    urls_namespace="api",
    auth=Calling(),
)
api.add_router("/events", events.router)
api.add_router("/films", films.router)
api.add_router("/outbox", outbox.router)
api.add_router("/records", records.router)


@api.get("/me", response=dict[str, Any], tags=["account"])
def me(request: HttpRequest) -> dict[str, Any]:
    """Who calls, what they may, and the token that pages send as X-CSRFToken."""
    person = caller(request, Right.READ)
    rights = [right.name.lower() for right in Right if right in RIGHTS[person.role]]
    return {"name": person.name, "role": person.role, "rights": rights, "csrf": get_token(request)}


@api.get("/life-first", response=dict[str, Any], auth=None, tags=["life first"])
def life_first(request: HttpRequest) -> dict[str, Any]:
    """What comes before every option; open to all."""
    return as_json.life_first(_pages())


@api.get("/life-first/{called}", response=dict[str, Any], auth=None, tags=["life first"])
def life_first_page(request: HttpRequest, called: str) -> dict[str, Any]:
    """One of these pages."""
    answer = _pages()
    return as_json.life_first(answer, answer.page(called))


def _pages() -> Any:
    return life_first_answer(settings.TODAY or timezone.now().astimezone().date(), is_open=True)


_STATUS = {OtherContentError: 409, NotFoundError: 404, LookupError: 404, ValueError: 422, StoreError: 503}


def _refusing(kind: type[Exception], status: int) -> None:
    def refused(request: HttpRequest, error: Exception | type[Exception]) -> HttpResponse:
        if isinstance(error, (KeyError, UnicodeError)):
            raise error  # a fault of the program
        return api.create_response(request, {"detail": str(error)}, status=status)

    api.add_exception_handler(kind, refused)


for _kind, _code in _STATUS.items():
    _refusing(_kind, _code)
