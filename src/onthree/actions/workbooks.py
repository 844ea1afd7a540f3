"""Imports a workbook or its sheets as CSV into the store, all or nothing, and exports what the store holds."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from onthree.programme.programme import Programme, Scope
from onthree.programme.records import SHEETS, Organisation, Record
from onthree.readiness.rules import RULES
from onthree.techniques.library import bundled_library
from onthree.workbook.changes import Changes, preview
from onthree.workbook.problems import CSV
from onthree.workbook.read import read_csv_files, read_workbook
from onthree.workbook.sheets_csv import write_csv_files
from onthree.workbook.write import write_workbook


@dataclass(frozen=True)
class ImportResult:
    """What an import changed, or would change where it was only a preview."""

    changes: Changes
    is_saved: bool


def import_workbook(path: Path, on: date, *, is_preview: bool, by: str) -> ImportResult:
    """Read a workbook, a CSV file or a folder of them, and save what is new or edited in one transaction.

    Raises WorkbookError with every problem, ValueError where nothing is at the path.
    """
    if not path.exists():
        raise ValueError(f"'{path}' given, a workbook, a CSV file or a folder of them expected: check name and folder")
    content = _csv_files_in(path) if path.is_dir() else path.read_bytes()
    return import_content(content, path.resolve().name, on, is_preview=is_preview, by=by)


def import_content(
    content: bytes | Mapping[str, bytes],
    name: str,
    on: date,
    *,
    is_preview: bool,
    by: str,
    organisation_code: str | None = None,
) -> ImportResult:
    """The same from bytes, such as an upload; of several CSV files file name to bytes.

    The organisation may be left out when the store has only one.

    What the workbook leaves out is taken from the store, so reading and saving are one: whoever else saves meanwhile
    waits, and nothing they saved is overwritten by what was read before.
    """
    from onthree.store.connection import one_moment, one_saving
    from onthree.store.records import save_records

    with one_moment() if is_preview else one_saving():
        current = current_programme(on, organisation_code)
        records = _records(content, name, current)
        if current is None and not any(isinstance(record, Organisation) for record in records):
            raise ValueError(
                f"{name}: no row in the sheet Organisation, one expected: fill it in, the store has none yet"
            )
        changes = preview(current, records)
        if not is_preview:
            save_records(records, by, organisation_code)
    return ImportResult(changes, is_saved=not is_preview)


def _records(content: bytes | Mapping[str, bytes], name: str, current: Programme | None) -> tuple[Record, ...]:
    known: dict[str, Any] = {"known_techniques": bundled_library().by_id, "known_rules": [rule.id for rule in RULES]}
    if isinstance(content, bytes) and not _is_csv(name):
        return read_workbook(content, name, **known, current=current)
    files = {name: content} if isinstance(content, bytes) else content
    return read_csv_files(files, name, **known, current=current)


def _csv_files_in(folder: Path) -> dict[str, bytes]:
    files = [file for file in sorted(folder.iterdir()) if _is_csv(file.name) and file.is_file()]
    if not files:
        example = next(iter(SHEETS)) + CSV
        raise ValueError(
            f"{folder}: no {CSV} file, at least one expected: name each after its sheet, such as {example}"
        )
    return {file.name: file.read_bytes() for file in files}


def _is_csv(name: str) -> bool:
    return name.casefold().endswith(CSV) and not name.startswith(".")


def export_workbook(path: Path, on: date, *, is_csv: bool = False) -> Programme:
    """Write everything the store holds as a workbook, or as a folder of CSV files.

    Raises LookupError when the store is empty.
    """
    programme = current_programme(on)
    if programme is None:
        raise LookupError("the store is empty: import a workbook first, or export the blank one with --template")
    _write(path, tuple(programme.records()), is_csv=is_csv)
    return programme


def export_template(path: Path, *, is_csv: bool = False) -> None:
    """Write the blank workbook with its guide, or its sheets as CSV files that hold the headers."""
    _write(path, (), is_csv=is_csv)


def _write(path: Path, records: tuple[Record, ...], *, is_csv: bool) -> None:
    """Everything is written beside its place first, so that a full disk leaves no half of it there."""
    files = write_csv_files(records) if is_csv else {path.name: write_workbook(records)}
    folder = path if is_csv else path.parent
    if is_csv:
        folder.mkdir(parents=True, exist_ok=True)
    elif not folder.is_dir():
        raise ValueError(f"'{path}' given, a file in a folder that is there expected: make '{folder}' first")
    with TemporaryDirectory(prefix=".onthree-", dir=folder) as drafts:
        for name, content in files.items():
            (Path(drafts) / name).write_bytes(content)
        for name in files:
            (Path(drafts) / name).replace(folder / name)


def current_programme(on: date, organisation_code: str | None = None) -> Programme | None:
    """Everything the store holds of an organisation, None where it holds none yet."""
    from onthree.store.load import has_organisation, load_programme

    return load_programme(on, Scope("all"), organisation_code=organisation_code) if has_organisation() else None
