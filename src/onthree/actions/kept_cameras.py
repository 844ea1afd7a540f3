"""Camera files by name: those kept in the folder of the store, or any file."""

import os
from pathlib import Path

from onthree.capture.camera_file import FOLDER, KnownCamera, find_camera, find_named_camera, read_camera


def kept_camera(name: str) -> KnownCamera:
    """The camera of a file, or of a name in the folder of the store. Raises CameraFileError with every problem."""
    return read_camera(find_camera(name, _folder()))


def named_camera(name: str) -> KnownCamera:
    """The camera of a name in the folder of the store: whoever asks over a page has no other file read.

    Raises CameraFileError with every problem.
    """
    return read_camera(find_named_camera(name, _folder()))


def _folder() -> Path:
    from onthree.store.place import DEFAULT_FOLDER

    return Path(os.environ.get("ONTHREE_FOLDER") or DEFAULT_FOLDER).expanduser() / FOLDER
