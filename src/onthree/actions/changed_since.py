"""What changed since somebody looked last."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from onthree.store.changes import Change

MOST_CHANGES = 10
USUAL = timedelta(days=7)
"""How far back home looks for somebody of whom no visit is known."""

ONE_VISIT = timedelta(minutes=30)
"""Looks that follow each other within this time are one visit."""


@dataclass(frozen=True)
class Changed:
    """The latest changes after a time; the time is that of the last visit, or a week ago."""

    since: datetime
    is_last_visit: bool
    changes: "tuple[Change, ...]"


def changed_since(last_visit: datetime | None, organisation_code: str | None = None) -> Changed:
    """What changed since the last visit, or in the last week. Raises LookupError for an unclear organisation."""
    from django.utils import timezone

    from onthree.store.calendar import find_organisation
    from onthree.store.changes import load_changes

    since = last_visit or timezone.now() - USUAL
    found = find_organisation(organisation_code)
    changes = load_changes(found[0], since, MOST_CHANGES) if found else ()
    return Changed(since.astimezone(), last_visit is not None, changes)


def note_visit(account_id: int) -> datetime | None:
    """Note that somebody looks now; the time of the visit before this one, None where there was none."""
    from django.utils import timezone

    from onthree.store.models import Account

    account, now = Account.objects.get(pk=account_id), timezone.now()
    if account.seen_at is None or now - account.seen_at > ONE_VISIT:
        account.seen_before, account.seen_at = account.seen_at, now
        account.save(update_fields=["seen_before", "seen_at"])
    return account.seen_before
