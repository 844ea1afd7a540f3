"""Slows down whoever guesses passwords: failed logins are counted by name and address, and by address alone."""

from datetime import timedelta

WINDOW = timedelta(minutes=15)
"""How long a failed login counts."""

MOST_PER_NAME, MOST_PER_ADDRESS, MOST_OF_NAME = 5, 30, 50
"""Failures within the window after which a name from one address, an address, and a name from anywhere must wait."""


def must_wait(name: str, address: str) -> bool:
    """Whether a login is not even tried any more for now."""
    from django.db.models import Q
    from django.utils import timezone

    from onthree.store.models import FailedLogin

    lately = FailedLogin.objects.filter(at__gt=timezone.now() - WINDOW)
    rows = lately.filter(Q(name=_known_as(name)) | Q(address=address)).values_list("name", "address")
    failed = list(rows[: MOST_PER_ADDRESS + MOST_OF_NAME])
    both = sum(row == (_known_as(name), address) for row in failed)
    from_there = sum(row[1] == address for row in failed)
    of_name = sum(row[0] == _known_as(name) for row in failed)
    return both >= MOST_PER_NAME or from_there >= MOST_PER_ADDRESS or of_name >= MOST_OF_NAME


def note_failure(name: str, address: str) -> None:
    """Count a failed login, and forget those that count no longer."""
    from django.utils import timezone

    from onthree.store.models import FailedLogin

    now = timezone.now()
    FailedLogin.objects.filter(at__lte=now - WINDOW).delete()
    FailedLogin.objects.create(name=_known_as(name), address=address, at=now)


def forget_failures(name: str, address: str) -> None:
    """Somebody got in: what they mistyped before counts no longer."""
    from onthree.store.models import FailedLogin

    FailedLogin.objects.filter(name=_known_as(name), address=address).delete()


def _known_as(name: str) -> str:
    return name.strip().casefold()[:150]
