"""Camera files by name: those kept in the folder of the store, or any file."""

import os
from pathlib import Path

from onthree.capture.camera_file import FOLDER, KnownCamera, find_camera, read_camera


def kept_camera(name: str) -> KnownCamera:
    """The camera of a file, or of a name in the folder of the store. Raises CameraFileError with every problem."""
    from onthree.store.place import DEFAULT_FOLDER

    store = Path(os.environ.get("ONTHREE_FOLDER") or DEFAULT_FOLDER).expanduser()
    return read_camera(find_camera(name, store / FOLDER))
