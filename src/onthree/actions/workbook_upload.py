"""A workbook sent to the pages: kept while its preview is read, checked again when confirmed, then thrown away."""

import hashlib
import json
import shutil
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path, PurePath

from onthree.actions.workbooks import ImportResult, current_programme, import_content
from onthree.workbook.changes import Changes
from onthree.workbook.problems import CSV
from onthree.workbook.write import write_template, write_workbook

MOST_BYTES = 20_000_000
"""The largest upload, all files together; a workbook of 12 000 athletes has about a twentieth of it."""

WORKBOOKS = (".xlsx", ".ods")
KEPT_FOR = timedelta(days=1)
_NAMES = "names.json"


class UploadError(ValueError):
    """Files that are no workbook, too large, or no longer there; says what to do."""


@dataclass(frozen=True)
class Upload:
    """A workbook that was sent: its name, its content, the digest by which it is found again."""

    name: str
    content: bytes | Mapping[str, bytes]
    digest: str


class MovedOnError(ValueError):
    """What an import would do is no longer what was previewed; carries what it would do now."""

    def __init__(self, changes: Changes) -> None:
        self.changes = changes
        super().__init__("somebody saved something meanwhile: nothing was imported, look at the changes again")


def upload_of(files: Iterable[tuple[str, bytes]]) -> Upload:
    """One workbook, or CSV files each named after its sheet. Raises UploadError."""
    given = {PurePath(name).name: content for name, content in files}
    if not given:
        raise UploadError("no file given, a workbook or CSV files expected: choose one")
    size = sum(map(len, given.values()))
    if size > MOST_BYTES:
        raise UploadError(
            f"{size:,} bytes given, at most {MOST_BYTES:,} expected: send only the programme's own sheets"
        )
    names = list(given)
    books = [name for name in names if name.casefold().endswith(WORKBOOKS)]
    others = [name for name in names if not name.casefold().endswith((*WORKBOOKS, CSV))]
    if others or len(books) > 1 or (books and len(names) > 1):
        expected = f"one workbook ({' or '.join(WORKBOOKS)}) or {CSV} files expected"
        raise UploadError(f"{', '.join(names)} given, {expected}: choose them again")
    digest = hashlib.sha256()
    for name, content in sorted(given.items()):
        digest.update(json.dumps([name, hashlib.sha256(content).hexdigest()]).encode())
    if books:
        return Upload(books[0], given[books[0]], digest.hexdigest())
    return Upload(names[0] if len(names) == 1 else f"{len(names)} CSV files", given, digest.hexdigest())


def keep(upload: Upload, folder: Path, now: datetime) -> None:
    """Keep an upload for the owner's eyes only, and throw away those that nobody confirmed in time."""
    room = folder / upload.digest
    room.mkdir(mode=0o700, parents=True, exist_ok=True)
    for old in folder.iterdir():
        is_late = datetime.fromtimestamp(old.stat().st_mtime, now.tzinfo) < now - KEPT_FOR
        if old.is_dir() and old != room and is_late:
            shutil.rmtree(old, ignore_errors=True)
    files = {upload.name: upload.content} if isinstance(upload.content, bytes) else dict(upload.content)
    for number, content in enumerate(files.values()):
        (room / str(number)).write_bytes(content)
    (room / _NAMES).write_text(json.dumps(list(files)), encoding="utf-8")


def kept(digest: str, folder: Path) -> Upload:
    """The upload of a digest, read and checked again. Raises UploadError where it is gone or is another file."""
    room = folder / digest
    if len(digest) != 64 or not digest.isalnum() or not (room / _NAMES).is_file():
        raise UploadError("the workbook is no longer kept: choose it again")
    names = json.loads((room / _NAMES).read_text(encoding="utf-8"))
    upload = upload_of([(name, (room / str(number)).read_bytes()) for number, name in enumerate(names)])
    if upload.digest != digest:
        raise UploadError("the workbook is not the one that was previewed: choose it again")
    return upload


def throw_away(digest: str, folder: Path) -> None:
    """Throw an upload away once it is imported."""
    shutil.rmtree(folder / digest, ignore_errors=True)


def digest_of(changes: Changes) -> str:
    """What an import would do, as one word: what was previewed is what is done, or nothing is."""
    return hashlib.sha256("\n".join(changes.lines()).encode()).hexdigest()


def import_previewed(
    upload: Upload, seen: str, on: date, by: str, organisation_code: str | None = None
) -> ImportResult:
    """Import an upload if it still does what was previewed. Raises MovedOnError; for the rest ``import_content``."""
    from onthree.store.connection import one_saving

    with one_saving():
        planned = preview_of(upload, on, organisation_code)
        if digest_of(planned) != seen:
            raise MovedOnError(planned)
        return import_content(
            upload.content, upload.name, on, is_preview=False, by=by, organisation_code=organisation_code
        )


def preview_of(upload: Upload, on: date, organisation_code: str | None = None) -> Changes:
    """What an upload would change. Raises WorkbookError with every problem, ValueError without an organisation."""
    return import_content(
        upload.content, upload.name, on, is_preview=True, by="", organisation_code=organisation_code
    ).changes


def workbook_bytes(on: date, organisation_code: str | None = None) -> bytes:
    """Everything of the programme as a workbook; the blank one with its guide where nothing is stored yet."""
    programme = current_programme(on, organisation_code)
    return write_workbook(tuple(programme.records())) if programme else write_template()
