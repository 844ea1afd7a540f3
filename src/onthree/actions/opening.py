"""Opens the store that the environment names, once a process."""

import os
from pathlib import Path


def store_is_there() -> bool:
    """Whether the environment names a store that exists; a database with an address is taken as there."""
    from onthree.store.place import DEFAULT_FOLDER, FILE_NAME

    folder = Path(os.environ.get("ONTHREE_FOLDER") or DEFAULT_FOLDER).expanduser()
    return bool(os.environ.get("DATABASE_URL")) or (folder / FILE_NAME).is_file()


def open_programme_store() -> None:
    """Open the embedded store in $ONTHREE_FOLDER, or the database of $DATABASE_URL, and bring it up to date."""
    from onthree.store.connection import open_store

    folder = os.environ.get("ONTHREE_FOLDER")
    open_store(Path(folder) if folder else None, os.environ.get("DATABASE_URL"))
