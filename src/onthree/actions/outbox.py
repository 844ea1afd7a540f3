"""What pages and programs send once, however often they try: kept with its effect in one transaction, or not at all."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from onthree.actions.arrived import Arrived
from onthree.actions.outbox_kinds import KINDS


@dataclass(frozen=True)
class Receipt:
    """What came of something that arrived; ``is_new`` is False where it had arrived before."""

    key: UUID
    kind: str
    result: Mapping[str, Any]
    at_server: datetime
    is_new: bool


class OtherContentError(ValueError):
    """The key was used before, for something else."""


def receive(
    key: UUID,
    kind: str,
    body: Mapping[str, Any],
    by: str,
    at_client: datetime | None,
    organisation_code: str | None = None,
    at_sending: datetime | None = None,
    not_before: datetime | None = None,
) -> Receipt:
    """Take in one thing and do what it asks, exactly once; whoever sends the same again gets the same receipt.

    ``key`` is made where it was typed. ``at_client`` is the clock there then, ``at_sending`` the same clock when it is
    sent: where both are given, a clock that is wrong there moves nothing. ``not_before`` is a moment before which it
    cannot have been typed, by our clock. Raises ValueError for an
    unknown kind and for what its handler refuses, LookupError for what it does not find, OtherContentError for a key
    that came with something else, StoreError where the store fails. Then nothing is kept.
    """
    from django.utils import timezone

    from onthree.store.calendar import find_organisation
    from onthree.store.connection import one_saving
    from onthree.store.models import Received

    if kind not in KINDS:
        raise ValueError(f"kind {kind!r} given, expected one of: {', '.join(sorted(KINDS))}")
    with one_saving():
        if there := _receipt(key, organisation_code, kind, body):
            return there
        found = find_organisation(organisation_code)
        if found is None:
            raise LookupError("the store is empty: import a workbook first")
        organisation_id, organisation = found
        now = timezone.now()
        arrived = Arrived(key, body, by, typed_at(at_client, at_sending, now, not_before), organisation.code)
        result = dict(KINDS[kind].take(arrived))
        Received.objects.create(
            key=key,
            organisation_id=organisation_id,
            kind=kind,
            body=dict(body),
            by=by,
            at_client=at_client,
            at_server=now,
            result=result,
        )
    return Receipt(key, kind, result, now, is_new=True)


def typed_at(
    at_client: datetime | None, at_sending: datetime | None, now: datetime, not_before: datetime | None = None
) -> datetime:
    """When something was typed, by the clock of this computer as far as can be told; never later than now."""
    if at_client is None:
        return now
    at = at_client + (now - at_sending) if at_sending else at_client
    return min(max(at, not_before or at), now)


def receipt_of(key: UUID, organisation_code: str | None = None) -> Receipt | None:
    """The receipt of something that has arrived; None where nothing with this key has."""
    return _receipt(key, organisation_code)


def _receipt(
    key: UUID, organisation_code: str | None, kind: str | None = None, body: Mapping[str, Any] | None = None
) -> Receipt | None:
    from onthree.store.models import Received

    row = Received.objects.select_related("organisation").filter(key=key).first()
    if row is None:
        return None
    is_same = kind in (None, row.kind) and (body is None or dict(body) == row.body)
    if not is_same or organisation_code not in (None, row.organisation.code):
        raise OtherContentError(
            f"key {key} came before with something else: make a new key for each thing that is sent"
        )
    return Receipt(key, row.kind, row.result, row.at_server, is_new=False)
