"""A workbook is uploaded: every problem or every change is shown before anything is saved; and it is downloaded."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from onthree.actions.workbook_upload import (
    MOST_BYTES,
    MovedOnError,
    Upload,
    UploadError,
    digest_of,
    import_previewed,
    keep,
    kept,
    preview_of,
    throw_away,
    upload_of,
    workbook_bytes,
)
from onthree.programme.roles import Right
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.views.records_asked import record_page
from onthree.workbook.changes import Changes
from onthree.workbook.problems import WorkbookError
from onthree.workbook.write import write_template

MOST_SHOWN = 500
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def _folder() -> Path:
    return Path(settings.FOLDER) / "uploads"


@needs(Right.EDIT)
@require_http_methods(["GET", "HEAD", "POST"])
def workbook(request: HttpRequest) -> HttpResponse:
    """Choose a workbook; sent, it is checked and its changes are shown."""
    if request.method != "POST":
        return _page(request)
    try:
        upload = upload_of([(str(file.name), _content(file)) for file in request.FILES.getlist("workbook")])
        return preview_page(request, upload)
    except UploadError as error:
        return _page(request, status=400, refused=str(error))


@needs(Right.EDIT)
@require_POST
def confirm(request: HttpRequest) -> HttpResponse:
    """Import the workbook that was previewed, if it is the same and still does the same."""
    person, digest = asking(request), request.POST.get("digest", "")
    try:
        upload = kept(digest, _folder())
        seen, on = request.POST.get("seen", ""), Asked(request.GET).day
        result = import_previewed(upload, seen, on, person.name, person.organisation_code)
    except UploadError as error:
        return _page(request, status=400, refused=str(error))
    except MovedOnError as error:
        return _changes(request, upload, error.changes, status=409, note=str(error))
    except WorkbookError as error:
        return _problems(request, upload, error)
    except (LookupError, ValueError) as error:
        return _page(request, status=400, refused=str(error))
    throw_away(digest, _folder())
    return _page(request, done=f"{upload.name} is imported: {result.changes.summary}")


@needs(Right.SIZES)
@require_safe
def download(request: HttpRequest) -> HttpResponse:
    """Everything of the programme as a workbook."""
    on = Asked(request.GET).day
    content = workbook_bytes(on, asking(request).organisation_code)
    return _file(content, f"onthree-{on.isoformat()}.xlsx")


@needs(Right.READ)
@require_safe
def template(request: HttpRequest) -> HttpResponse:
    """The blank workbook with its guide."""
    return _file(write_template(), "onthree-blank.xlsx")


def _content(file: Any) -> bytes:
    """The bytes of an upload; of one that is too large only as many as show it."""
    return bytes(file.read(MOST_BYTES + 1))


def preview_page(request: HttpRequest, upload: Upload) -> HttpResponse:
    """What an upload would change, or every problem of it; nothing is saved."""
    try:
        changes = preview_of(upload, Asked(request.GET).day, asking(request).organisation_code)
    except WorkbookError as error:
        return _problems(request, upload, error)
    except (LookupError, ValueError) as error:
        return _page(request, status=400, refused=str(error))
    keep(upload, _folder(), datetime.now(UTC))
    return _changes(request, upload, changes)


def _problems(request: HttpRequest, upload: Upload, error: WorkbookError) -> HttpResponse:
    return _page(
        request, status=400, file=upload.name, problems=error.problems[:MOST_SHOWN], problem_count=len(error.problems)
    )


def _changes(
    request: HttpRequest, upload: Upload, changes: Changes, *, status: int = 200, note: str = ""
) -> HttpResponse:
    lines = list(changes.lines())
    about = {
        "file": upload.name,
        "changes": changes,
        "lines": lines[:MOST_SHOWN],
        "line_count": len(lines),
        "digest": upload.digest,
        "seen": digest_of(changes),
        "note": note,
    }
    return record_page(request, "workbook_changes", status=status, **about)


def _page(request: HttpRequest, *, status: int = 200, **about: Any) -> HttpResponse:
    most_mb = MOST_BYTES // 1_000_000
    return record_page(request, "workbook", status=status, most_mb=most_mb, **about)


def _file(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(content, content_type=_XLSX, headers={"Content-Disposition": f'attachment; filename="{name}"'})
