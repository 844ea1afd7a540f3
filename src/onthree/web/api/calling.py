"""Who calls the API: a program with a key, or somebody signed in whose page sends the token against forged forms."""

from typing import Any

from django.http import HttpRequest
from ninja.errors import HttpError
from ninja.utils import check_csrf

from onthree.actions.accounts import account_of_token
from onthree.programme.roles import Right, who_may
from onthree.web.access import Person, person_of, person_with

_READING = ("GET", "HEAD", "OPTIONS")
_BEARER = "Bearer "


class Calling:
    """Finds out who calls; None, and so 401, for a stranger."""

    openapi_security_schema: dict[str, Any] = {"type": "http", "scheme": "bearer"}  # noqa: RUF012  ninja reads it so

    def __call__(self, request: HttpRequest) -> Person | None:
        """The person; a wrong key is never tried as anything else."""
        given = request.headers.get("Authorization", "")
        if given:
            account = account_of_token(given.removeprefix(_BEARER)) if given.startswith(_BEARER) else None
            return person_with(account) if account else None
        person = person_of(request)
        if person is not None and request.method not in _READING and check_csrf(request) is not None:
            raise HttpError(403, "the token against forged forms is missing or old: take a new one from /api/me")
        return person


def caller(request: HttpRequest, right: Right) -> Person:
    """Who calls, if they may. Raises HttpError 403 that names who may."""
    person: Person = request.auth  # type: ignore[attr-defined]
    if not person.may(right):
        raise HttpError(403, f"only these may {right}: {', '.join(who_may(right))}")
    return person
