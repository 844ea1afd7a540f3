"""Files of one command in one folder: all of them or none, and never over a file of somebody else's."""

import hashlib
import json
import shutil
import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

NAMES_FILE = "measures.json"
"""The file that lists the others with their checksums; it is written last."""


class FilesError(ValueError):
    """Files that may not be written; says which and what to do."""


def check_folder(folder: Path) -> None:
    """Make sure that a folder can be written into before hours of work; makes it. Raises FilesError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        why = "it is a file" if folder.is_file() else (error.strerror or str(error)).lower()
        raise FilesError(f"--out {folder}: cannot be written into ({why}): give another folder") from None


def replaced_names(folder: Path, names: Collection[str]) -> tuple[str, ...]:
    """The files that writing would replace. Raises FilesError for one that this command did not write as it is now."""
    there = [name for name in (*names, NAMES_FILE) if (folder / name).exists()]
    listed = _listed(folder / NAMES_FILE)
    foreign = [name for name in there if name != NAMES_FILE and listed.get(name) != _sha256(folder / name)]
    if NAMES_FILE in there and not listed:
        foreign.append(NAMES_FILE)
    if foreign:
        raise FilesError(
            f"{folder}: {', '.join(foreign)} would be replaced, but was not written by this command, or was changed "
            "since: give another --out folder, or move it away"
        )
    return tuple(dict.fromkeys(there))


class Writing:
    """A folder of files in the making, beside the ones it will replace; nothing stays of it unless it is kept."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self.draft = Path(tempfile.mkdtemp(prefix=".onthree-unfinished-", dir=folder))

    def __enter__(self) -> "Writing":
        return self

    def __exit__(self, *_: object) -> None:
        shutil.rmtree(self.draft, ignore_errors=True)

    def add(self, name: str, content: str | bytes) -> None:
        """Add a file."""
        (self.draft / name).write_bytes(content.encode() if isinstance(content, str) else content)

    def keep(self, document: Mapping[str, Any]) -> tuple[Path, ...]:
        """Move every file to its place, and last the document that lists them; returns where they are."""
        names = sorted(path.name for path in self.draft.iterdir())
        listed = {name: _sha256(self.draft / name) for name in names}
        self.add(NAMES_FILE, json.dumps({**document, "files": listed}, indent=2, ensure_ascii=False) + "\n")
        for name in (*names, NAMES_FILE):
            (self.draft / name).replace(self.folder / name)
        return tuple(self.folder / name for name in (*names, NAMES_FILE))


def _listed(path: Path) -> Mapping[str, str]:
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        return dict(document["files"])
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
