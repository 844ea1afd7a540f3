"""Opens the store that the environment names, once a process."""

import os
from pathlib import Path


def open_programme_store() -> None:
    """Open the embedded store in $ONTHREE_FOLDER, or the database of $DATABASE_URL, and bring it up to date."""
    from onthree.store.connection import open_store

    folder = os.environ.get("ONTHREE_FOLDER")
    open_store(Path(folder) if folder else None, os.environ.get("DATABASE_URL"))
