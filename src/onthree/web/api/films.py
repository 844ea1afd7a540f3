"""The API of films: sent in pieces, each with its place and checksum; and the traces of what was measured.

``Upload-Offset`` and the media type of a piece are those of the IETF draft on resumable uploads (from memory), the
checksum of a piece is ``Content-Digest`` of RFC 9530, section 2, with sha-256.
"""

import base64
import binascii
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from ninja import Body, Router, Status
from ninja.errors import HttpError

from onthree.actions import film_upload
from onthree.actions.event_answer import NotFoundError
from onthree.actions.measured_traces import TRACES_FILE, traces_path
from onthree.actions.records import record_as_saved
from onthree.actions.run_pages import running_s
from onthree.programme.records import Run
from onthree.programme.roles import Right
from onthree.web.api.calling import caller

router = Router(tags=["films"])

Document = dict[str, Any]
PIECE = "application/partial-upload"
_DIGEST = "sha-256=:"


@router.put("/uploads/{key}", response={200: Document, 201: Document, 507: Document})
def declare(request: HttpRequest, key: UUID, film: Body[Document]) -> Status[Document]:
    """Say that a film of a run will come: run, name, size_bytes, kind; taken_by, offset_s, offset_sd_s."""
    person = caller(request, Right.RECORD)
    given = dict(film)
    run = given.pop("run", None)
    if not isinstance(run, str):
        raise HttpError(422, f"run: {run!r} given, the code of a run expected")
    try:
        there, is_new = film_upload.declare(key, run, given, person.name, person.organisation_code)
    except film_upload.NoSpaceError as error:
        return Status(507, {"detail": str(error)})
    return Status(201 if is_new else 200, _document(there))


@router.api_operation(["GET", "HEAD"], "/uploads/{key}", response=Document)
def how_far(request: HttpRequest, response: HttpResponse, key: UUID) -> Document:
    """How much of a film is there; also as Upload-Offset."""
    there = film_upload.arriving(key, caller(request, Right.RECORD).organisation_code)
    if there is None:
        raise NotFoundError(f"no film with the key {key} was declared")
    response["Upload-Offset"] = str(there.offset_bytes)
    return _document(there)


@router.patch("/uploads/{key}", response={200: Document, 409: Document, 422: Document, 507: Document})
def add(request: HttpRequest, response: HttpResponse, key: UUID) -> Status[Document]:
    """Add the next piece: Upload-Offset says where it begins, Content-Digest what it is. 409 says where to go on."""
    person = caller(request, Right.RECORD)
    at_bytes, digest = _offset(request), _digest(request)
    if int(request.headers.get("Content-Length") or 0) > film_upload.LARGEST_PIECE_BYTES:
        raise HttpError(413, f"at most {film_upload.LARGEST_PIECE_BYTES} bytes in a piece expected")
    try:
        there = film_upload.add_piece(key, at_bytes, request.body, digest, person.name, person.organisation_code)
    except film_upload.OffsetError as error:
        response["Upload-Offset"] = str(error.offset_bytes)
        return Status(409, {"detail": str(error), "offset_bytes": error.offset_bytes})
    except film_upload.NoSpaceError as error:
        return Status(507, {"detail": str(error)})
    response["Upload-Offset"] = str(there.offset_bytes)
    return Status(422 if there.problem else 200, {**_document(there), "detail": there.problem})


@router.delete("/uploads/{key}", response={200: Document, 404: Document, 409: Document})
def call_off(request: HttpRequest, key: UUID) -> Status[Document]:
    """Call a film off that has not arrived as a whole: what is there of it is thrown away. 409: it is whole."""
    whose = caller(request, Right.RECORD).organisation_code
    try:
        film_upload.call_off(key, whose)
    except LookupError as error:
        return Status(404, {"detail": str(error)})
    except ValueError as error:
        return Status(409, {"detail": str(error)})
    return Status(200, {"key": str(key), "detail": "called off"})


@router.get("/runs/{code}/clock", response={200: Document, 404: Document})
def clock(request: HttpRequest, code: str) -> Document:
    """How long the clock of a run has run by this computer [s], null where it was not started."""
    whose = caller(request, Right.RECORD).organisation_code
    record_as_saved(Run, code, whose)
    return {"run": code, "running_s": running_s(code, timezone.now(), whose)}


@router.get("/runs/{code}/angles.f32", response={200: None, 404: Document}, include_in_schema=True)
def angles(request: HttpRequest, code: str) -> HttpResponse:
    """The traces of the last measuring of a run: columns of 32-bit numbers, little end first, NaN where not seen."""
    path = traces_path(code, caller(request, Right.SIZES).organisation_code)
    if path is None:
        raise NotFoundError(f"no film of {code} was measured here")
    return HttpResponse(path.read_bytes(), content_type="application/octet-stream", headers={"X-File": TRACES_FILE})


def _offset(request: HttpRequest) -> int:
    given = request.headers.get("Upload-Offset", "")
    if not given.isascii() or not given.isdecimal():
        raise HttpError(422, f"Upload-Offset: {given!r} given, a number of bytes expected")
    return int(given)


def _digest(request: HttpRequest) -> bytes:
    given = request.headers.get("Content-Digest", "")
    try:
        if not given.startswith(_DIGEST) or not given.endswith(":"):
            raise ValueError
        return base64.b64decode(given.removeprefix(_DIGEST).removesuffix(":"), validate=True)
    except (ValueError, binascii.Error):
        raise HttpError(422, f"Content-Digest: {given!r} given, sha-256=:…: expected") from None


def _document(there: film_upload.Arriving) -> Document:
    return {
        "key": str(there.key),
        "run": there.run,
        "name": there.name,
        "offset_bytes": there.offset_bytes,
        "size_bytes": there.size_bytes,
        "recording": there.recording,
        "problem": there.problem,
    }
