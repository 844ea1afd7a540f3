"""The API of records: list, read, save one as a person types it; saving names the version that was read."""

from datetime import date
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from ninja import Body, Router, Status
from ninja.errors import HttpError

from onthree.actions.event_answer import NotFoundError
from onthree.actions.records import (
    SHEET_OF,
    ChangedMeanwhileError,
    FieldsError,
    Saved,
    record_as_saved,
    save_one,
    typed_values,
)
from onthree.actions.records import NotFoundError as NoRecordError
from onthree.programme.fields import fields_of
from onthree.programme.records import Athlete, Measured, Record, Responder, Run
from onthree.programme.roles import Right
from onthree.store.listing import list_records
from onthree.web.api.calling import caller

router = Router(tags=["records"])

Document = dict[str, Any]
OF_BODIES: tuple[type[Record], ...] = (Athlete, Responder, Run, Measured)
"""Kinds that say what people weigh, measure or showed: for those who may see it."""

MOST_RECORDS = 500
_KIND_CALLED = {sheet.lower().replace(" ", "-"): kind for kind, sheet in SHEET_OF.items()}


@router.get("/{kind}", response=Document)
def listed(request: HttpRequest, kind: str, start: int = 0, most: int = 100) -> Document:
    """Records of a kind, such as gear or venues, in the order of their codes: fields as typed."""
    of_kind = _kind(kind)
    person = caller(request, _right_to_read(of_kind))
    count = max(1, min(most, MOST_RECORDS))
    found = list_records(of_kind, first=max(0, start), most=count, organisation_code=person.organisation_code)
    records = [typed_values(record) for record in found.records]
    return {
        "schema_version": 1,
        "kind": "records",
        "sheet": SHEET_OF[of_kind],
        "count": found.count,
        "records": records,
    }


@router.get("/{kind}/{code}", response=Document)
def one(request: HttpRequest, response: HttpResponse, kind: str, code: str) -> Document:
    """One record as it is saved; its version stands in the header ETag."""
    of_kind = _kind(kind)
    person = caller(request, _right_to_read(of_kind))
    try:
        saved = record_as_saved(of_kind, code, person.organisation_code)
    except NoRecordError as error:
        raise NotFoundError(str(error)) from None
    response["ETag"] = f'"{saved.version}"'
    return _document(of_kind, saved)


@router.put("/{kind}/{code}", response={200: Document, 201: Document, 412: Document, 422: Document})
def put(
    request: HttpRequest, response: HttpResponse, kind: str, code: str, fields: Body[dict[str, str]]
) -> Status[Document]:
    """Save one record, fields as typed; a field left out is blank.

    ``If-Match`` carries the version that was read; without it the record is new. 412 where somebody saved it
    meanwhile, with the record as it is now; 422 with every problem by field.
    """
    of_kind = _kind(kind)
    person = caller(request, Right.EDIT)
    if unknown := sorted(set(fields) - {field.name for field in fields_of(of_kind)}):
        raise HttpError(422, f"{', '.join(unknown)}: no such field of {SHEET_OF[of_kind]}")
    version = request.headers.get("If-Match", "").strip().removeprefix("W/").strip('"')
    today = settings.TODAY or timezone.now().astimezone().date()
    return _saved(response, of_kind, {**fields, "code": code}, version, today, person.name, person.organisation_code)


def _saved(
    response: HttpResponse,
    kind: type[Record],
    given: dict[str, str],
    version: str,
    today: date,
    by: str,
    organisation_code: str | None,
) -> Status[Document]:
    try:
        record = save_one(kind, given, version, today, by, organisation_code)
    except FieldsError as error:
        problems = {name: [str(each) for each in of_field] for name, of_field in error.problems.items()}
        return Status(422, {"detail": str(error), "problems": problems})
    except ChangedMeanwhileError as error:
        now = _document(kind, error.saved) if error.saved else None
        return Status(412, {"detail": str(error), "now": now})
    saved = record_as_saved(kind, record.code, organisation_code)
    response["ETag"] = f'"{saved.version}"'
    return Status(200 if version else 201, _document(kind, saved))


def _document(kind: type[Record], saved: Saved) -> Document:
    return {
        "schema_version": 1,
        "kind": "record",
        "sheet": SHEET_OF[kind],
        "version": saved.version,
        "saved_by": saved.by,
        "saved_at": saved.at.isoformat(),
        "record": dict(saved.typed),
    }


def _kind(called: str) -> type[Record]:
    kind = _KIND_CALLED.get(called.lower())
    if kind is None:
        raise NotFoundError(f"records {called!r} given, expected one of: {', '.join(_KIND_CALLED)}")
    return kind


def _right_to_read(kind: type[Record]) -> Right:
    return Right.SIZES if kind in OF_BODIES else Right.READ
