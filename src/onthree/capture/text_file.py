"""Reads a file that a person wrote, and says what is wrong with one that cannot be read."""

from pathlib import Path


class TextFileError(ValueError):
    """A file that is not there or holds no text; says what to do."""


def text_of(path: Path) -> str:
    """The text of a file in UTF-8. Raises TextFileError, without the name of the file."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise TextFileError("no such file; check the name") from None
    except OSError as error:
        raise TextFileError(f"cannot be read ({(error.strerror or str(error)).lower()})") from None
    except UnicodeDecodeError as error:
        at = f"byte 0x{error.object[error.start]:02x} at place {error.start}"
        raise TextFileError(f"not text in UTF-8 ({at}); save it as UTF-8") from None
