"""Imports a workbook into the store, all or nothing, and exports what the store holds."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from onthree.programme.programme import Programme, Scope
from onthree.programme.records import Organisation
from onthree.techniques.library import bundled_library
from onthree.workbook.changes import Changes, preview
from onthree.workbook.read import read_workbook
from onthree.workbook.write import write_template, write_workbook


@dataclass(frozen=True)
class ImportResult:
    """What an import changed, or would change where it was only a preview."""

    changes: Changes
    is_saved: bool


def import_workbook(path: Path, on: date, *, is_preview: bool, by: str) -> ImportResult:
    """Read a workbook and save what is new or edited in one transaction. Raises WorkbookError with every problem."""
    return import_content(path.read_bytes(), path.name, on, is_preview=is_preview, by=by)


def import_content(content: bytes, name: str, on: date, *, is_preview: bool, by: str) -> ImportResult:
    """The same from bytes, such as an upload.

    What the workbook leaves out is taken from the store, so reading and saving are one: whoever else saves meanwhile
    waits, and nothing they saved is overwritten by what was read before.
    """
    from onthree.store.connection import one_moment, one_saving
    from onthree.store.records import save_records

    with one_moment() if is_preview else one_saving():
        current = current_programme(on)
        records = read_workbook(content, name, known_techniques=bundled_library().by_id, current=current)
        if current is None and not any(isinstance(record, Organisation) for record in records):
            raise ValueError(
                f"{name}: no row in the sheet Organisation, one expected: fill it in, the store has none yet"
            )
        changes = preview(current, records)
        if not is_preview:
            save_records(records, by=by)
    return ImportResult(changes, is_saved=not is_preview)


def export_workbook(path: Path, on: date) -> Programme:
    """Write everything the store holds as a workbook. Raises LookupError when the store is empty."""
    programme = current_programme(on)
    if programme is None:
        raise LookupError("the store is empty: import a workbook first, or export the blank one with --template")
    path.write_bytes(write_workbook(tuple(programme.records())))
    return programme


def export_template(path: Path) -> None:
    """Write the blank workbook with its guide."""
    path.write_bytes(write_template())


def current_programme(on: date) -> Programme | None:
    """Everything the store holds, None where it holds no organisation yet."""
    from onthree.store.load import has_organisation, load_programme

    return load_programme(on, Scope("all")) if has_organisation() else None
