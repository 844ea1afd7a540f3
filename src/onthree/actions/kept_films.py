"""Where films and what was measured of them lie: files in the folder of the store, never in the database."""

import os
import re
from pathlib import Path

FILMS, PARTS, MEASURED = "films", "films-unfinished", "measured"
LONGEST_NAME = 60


def store_folder() -> Path:
    """The folder of the store."""
    from onthree.store.place import DEFAULT_FOLDER

    return Path(os.environ.get("ONTHREE_FOLDER") or DEFAULT_FOLDER).expanduser().absolute()


def films_folder() -> Path:
    """Where whole films lie."""
    return store_folder() / FILMS


def parts_folder() -> Path:
    """Where films lie that have not arrived as a whole."""
    return store_folder() / PARTS


def measured_folder(job: int) -> Path:
    """Where the files of one measuring lie."""
    return store_folder() / MEASURED / str(job)


def name_of_film(path: Path) -> str:
    """What a recording calls a film: its name alone if it lies in the store's folder, which may be moved, or ships."""
    from onthree.demo.rehearsal_films import rehearsal_folder

    return path.name if path.absolute().parent in (films_folder(), rehearsal_folder()) else str(path)


def kept_film(name: str) -> Path | None:
    """A film of the store's own folder by its name; None for any other file, wherever it is."""
    path = films_folder() / name
    return path if Path(name).name == name and path.is_file() else None


def plain_name(given: str, key: str) -> str:
    """A name for a film in the folder: letters, digits and hyphens of the given one, then the start of its key."""
    stem, _, suffix = given.rpartition(".")
    plain = re.sub(r"[^A-Za-z0-9]+", "-", stem or given).strip("-")[:LONGEST_NAME] or "film"
    ending = re.sub(r"[^a-z0-9]", "", suffix.lower())[:5] if stem else ""
    return f"{plain}-{key[:8]}" + (f".{ending}" if ending else "")
