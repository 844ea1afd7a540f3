"""Who asks, and whether they may: every page is closed unless it says otherwise."""

from collections.abc import Callable
from dataclasses import dataclass
from ipaddress import ip_address
from typing import Any, TypeVar

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase

from onthree.programme.roles import Right, Role, may, who_may
from onthree.store.models import Account
from onthree.web import typed
from onthree.web.pages import refusal

View = TypeVar("View", bound=Callable[..., HttpResponseBase])


@dataclass(frozen=True)
class Person:
    """Who asks: name, role, whose programme; the account is None for whoever sits at this computer."""

    name: str
    role: Role
    organisation_code: str | None = None
    account: Account | None = None

    def may(self, right: Right) -> bool:
        """Whether their role has the right."""
        return may(self.role, right)


AT_THIS_COMPUTER = Person("You, at this computer", Role.LEAD)


def needs(right: Right) -> Callable[[View], View]:
    """Marks a view as one for people with a right."""

    def marked(view: View) -> View:
        view.needs = right  # type: ignore[attr-defined]
        return view

    return marked


def open_to_all(view: View) -> View:
    """Marks a view that needs no account: life first, signing in, a visitor's own request."""
    view.needs = None  # type: ignore[attr-defined]
    return view


def person_of(request: HttpRequest) -> Person | None:
    """Who asks, None for a stranger."""
    return request.person  # type: ignore[attr-defined, no-any-return]


def asking(request: HttpRequest) -> Person:
    """Who asks, in a view that strangers never reach."""
    person = person_of(request)
    assert person is not None
    return person


def person_with(account: Account) -> Person:
    """The person of an account."""
    organisation = account.organisation.code if account.organisation else None
    return Person(account.user.username, Role(account.role), organisation, account)


class WhoAsks:
    """Django middleware: finds out who asks, sends strangers to sign in, refuses what a role may not do."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Say who asks, then answer."""
        request.person = _found(request)  # type: ignore[attr-defined]
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """None where the view may answer. The JSON API asks by itself, for it knows tokens too."""
        right = getattr(view, "needs", Right.ACCOUNTS)
        if right is None or (request.resolver_match and "api" in request.resolver_match.namespaces):
            return None
        person = person_of(request)
        if person is None:
            return _to_sign_in(request)
        if not person.may(right):
            able = ", ".join(who_may(right))
            told = f"You are signed in as {person.name}, {person.role}. Only these may {right}: {able}."
            return refusal(request, 403, "Not for your role", told)
        return None


def _found(request: HttpRequest) -> Person | None:
    user = request.user
    if user.is_authenticated:
        account = Account.objects.select_related("organisation", "user").filter(user_id=user.pk).first()
        return person_with(account) if account and user.is_active else None
    return AT_THIS_COMPUTER if _is_at_this_computer(request) else None


def _is_at_this_computer(request: HttpRequest) -> bool:
    """Only where nothing but this computer can reach the server; what a proxy passes on is from somewhere else."""
    if not settings.LOOPBACK_ONLY or "Forwarded" in request.headers or "X-Forwarded-For" in request.headers:
        return False
    try:
        return ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    """To the sign-in page and back; what was typed waits there."""
    if request.headers.get("HX-Request"):
        return HttpResponse("Sign in again.", status=401, headers={"HX-Redirect": f"/sign-in/?next={request.path}"})
    if "application/json" in request.headers.get("Accept", ""):
        return JsonResponse({"detail": "sign in"}, status=401)
    if request.method == "POST":
        typed.keep(request)
    return redirect_to_login(request.get_full_path())
