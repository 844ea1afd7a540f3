"""People who sign in, and keys for their programs: add, list, change, remove."""

import secrets
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from onthree.programme.roles import Role

if TYPE_CHECKING:
    from onthree.store.account_models import Account

_TOKEN_BYTES = 32


@dataclass(frozen=True)
class Person:
    """Somebody with an account, as lists show them."""

    name: str
    role: Role
    organisation: str
    signed_in_on: date | None


@dataclass(frozen=True)
class Token:
    """A program's key, as lists show it: never the key itself."""

    name: str
    person: str
    made_on: date
    used_on: date | None


def add_person(name: str, role: Role, password: str, organisation_code: str | None = None) -> Person:
    """Make an account. Raises ValueError: name taken, weak password; LookupError: unknown organisation."""
    from django.contrib.auth.models import User
    from django.db import transaction

    from onthree.store.models import Account, Organisation

    name = name.strip()
    if not name:
        raise ValueError("no name given, the name to sign in with expected")
    organisation = None
    if organisation_code:
        organisation = Organisation.objects.filter(code=organisation_code).first()
        if organisation is None:
            known = ", ".join(Organisation.objects.values_list("code", flat=True)) or "none yet"
            raise LookupError(f"organisation {organisation_code!r} given, one of the store's expected: {known}")
    with transaction.atomic():
        if User.objects.filter(username__iexact=name).exists():
            raise ValueError(f"{name!r} has an account already: choose another name, or change its password")
        user = User(username=name)
        _take_password(user, password)
        user.save()
        Account.objects.create(user=user, role=role, organisation=organisation)
    return Person(name, role, organisation_code or "", None)


def list_people() -> tuple[Person, ...]:
    """Everybody with an account, by name."""
    from onthree.store.models import Account

    rows = Account.objects.select_related("user", "organisation").order_by("user__username")
    return tuple(
        Person(
            row.user.username,
            Role(row.role),
            row.organisation.code if row.organisation else "",
            row.user.last_login.date() if row.user.last_login else None,
        )
        for row in rows
    )


def set_password(name: str, password: str) -> None:
    """Give an account another password; whoever is signed in under it must sign in again. Raises as ``add_person``."""
    user = _account(name).user
    _take_password(user, password)
    user.save()


def remove_person(name: str) -> None:
    """Take an account away, with its tokens. What it wrote stays. Raises LookupError for an unknown name."""
    _account(name).user.delete()


def add_token(name: str, person: str) -> str:
    """Make a key with which a program acts for an account; it is told now and never again.

    Raises LookupError for an unknown account, ValueError for a name that is taken.
    """
    from django.utils import timezone

    from onthree.store.models import ApiToken

    if ApiToken.objects.filter(name=name).exists():
        raise ValueError(f"token {name!r} is there already: choose another name, or remove it first")
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    ApiToken.objects.create(account=_account(person), name=name, digest=_digest(token), made_at=timezone.now())
    return token


def list_tokens() -> tuple[Token, ...]:
    """Every key, by name."""
    from onthree.store.models import ApiToken

    rows = ApiToken.objects.select_related("account__user").order_by("name")
    return tuple(Token(row.name, row.account.user.username, row.made_at.date(), row.used_on) for row in rows)


def remove_token(name: str) -> None:
    """Revoke a key. Raises LookupError for an unknown name."""
    from onthree.store.models import ApiToken

    if not ApiToken.objects.filter(name=name).delete()[0]:
        known = ", ".join(ApiToken.objects.order_by("name").values_list("name", flat=True)) or "none"
        raise LookupError(f"token {name!r} given, one of these expected: {known}")


def account_of_token(token: str) -> "Account | None":
    """The account that a key acts for; None for a key that is unknown, revoked, or of an account that is closed."""
    from django.utils import timezone

    from onthree.store.models import ApiToken

    row = (
        ApiToken.objects.select_related("account__user", "account__organisation").filter(digest=_digest(token)).first()
    )
    if row is None or not row.account.user.is_active:
        return None
    today = timezone.now().date()
    if row.used_on != today:
        ApiToken.objects.filter(pk=row.pk).update(used_on=today)
    return row.account


def _digest(token: str) -> str:
    return sha256(token.encode()).hexdigest()  # the token is random and long: nothing slower is needed


def _account(name: str) -> "Account":
    from onthree.store.models import Account

    found = Account.objects.select_related("user").filter(user__username__iexact=name.strip()).first()
    if found is None:
        known = ", ".join(Account.objects.order_by("user__username").values_list("user__username", flat=True)) or "none"
        raise LookupError(f"account {name!r} given, one of these expected: {known}")
    return found


def _take_password(user: object, password: str) -> None:
    from django.contrib.auth.models import User
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    assert isinstance(user, User)
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise ValueError(f"this password will not do: {' '.join(error.messages)} Choose a longer one") from None
    user.set_password(password)
