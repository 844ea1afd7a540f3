"""The API of the outbox: what is typed without a network is sent until it arrives, and arrives once."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.http import HttpRequest
from ninja import Router, Schema, Status
from ninja.errors import HttpError

from onthree.actions.event_answer import NotFoundError
from onthree.actions.outbox import Receipt, receipt_of, receive
from onthree.actions.outbox_kinds import KINDS
from onthree.programme.roles import Right
from onthree.web.api.calling import caller

router = Router(tags=["outbox"])


class Item(Schema):
    """One thing sent: what kind, its content, the clock where it was typed, then and when it is sent (with zone)."""

    kind: str
    body: dict[str, Any]
    at_client: datetime | None = None
    at_sending: datetime | None = None


class Taken(Schema):
    """The receipt: what came of it, and whether it was taken just now or had been before."""

    key: UUID
    kind: str
    result: dict[str, Any]
    at_server: datetime
    is_new: bool


class Refused(Schema):
    """Why nothing was done."""

    detail: str


@router.put("/{key}", response={200: Taken, 201: Taken, 403: Refused, 404: Refused, 409: Refused, 422: Refused})
def put(request: HttpRequest, key: UUID, item: Item) -> Status[Taken]:
    """Take in one thing exactly once: 201 when new, 200 when it had arrived before."""
    if item.kind not in KINDS:
        raise HttpError(422, f"kind {item.kind!r} given, expected one of: {', '.join(sorted(KINDS))}")
    for name in ("at_client", "at_sending"):
        at = getattr(item, name)
        if at is not None and at.tzinfo is None:
            raise HttpError(422, f"{name}: a time without a zone given, one with a zone expected")
    person = caller(request, KINDS[item.kind].right)
    receipt = receive(key, item.kind, item.body, person.name, item.at_client, person.organisation_code, item.at_sending)
    return Status(201 if receipt.is_new else 200, _taken(receipt))


@router.get("/{key}", response={200: Taken, 404: Refused, 409: Refused})
def get(request: HttpRequest, key: UUID) -> Taken:
    """The receipt of something that arrived."""
    receipt = receipt_of(key, caller(request, Right.READ).organisation_code)
    if receipt is None:
        raise NotFoundError(f"nothing with the key {key} has arrived")
    return _taken(receipt)


def _taken(receipt: Receipt) -> Taken:
    return Taken(
        key=receipt.key,
        kind=receipt.kind,
        result=dict(receipt.result),
        at_server=receipt.at_server,
        is_new=receipt.is_new,
    )
