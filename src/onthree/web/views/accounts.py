"""Signing in and out, and one's own account."""

from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from onthree.actions.failed_logins import WINDOW, forget_failures, must_wait, note_failure
from onthree.programme.roles import RIGHTS, Right
from onthree.web.access import asking, needs, open_to_all
from onthree.web.pages import page, refusal


@open_to_all
@sensitive_post_parameters("password")
@never_cache
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password; back to where one wanted to go. Who fails too often waits."""
    after = request.POST.get("next") or request.GET.get("next") or "/"
    if not url_has_allowed_host_and_scheme(after, {request.get_host()}, require_https=request.is_secure()):
        after = "/"
    if request.method != "POST":
        return page(request, "sign_in", form=AuthenticationForm(request), after=after)
    name, address = request.POST.get("username", ""), request.META.get("REMOTE_ADDR", "")
    if must_wait(name, address):
        minutes = int(WINDOW.total_seconds() // 60)
        told = f"Too many failed logins. Wait {minutes} minutes, or ask the lead to give you another password."
        return refusal(request, 429, "Wait before you try again", told)
    form = AuthenticationForm(request, data=request.POST)
    if not form.is_valid() or not hasattr(form.get_user(), "account"):
        note_failure(name, address)
        return page(request, "sign_in", status=400, form=form, after=after, is_refused=True)
    forget_failures(name, address)
    login(request, form.get_user())
    return redirect(after)


@open_to_all
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session."""
    logout(request)
    return redirect("sign-in")


@needs(Right.READ)
@sensitive_post_parameters()
def account(request: HttpRequest) -> HttpResponse:
    """Who one is, what one may do, and another password."""
    person = asking(request)
    form = None
    is_changed = False
    if person.account is not None:
        user = person.account.user
        form = PasswordChangeForm(user, request.POST or None)
        if request.method == "POST" and form.is_valid():
            update_session_auth_hash(request, form.save())
            is_changed, form = True, PasswordChangeForm(user)
    status = 400 if form is not None and form.errors else 200
    rights = [right for right in Right if right in RIGHTS[person.role]]
    return page(request, "account", status=status, form=form, rights=rights, is_changed=is_changed)
