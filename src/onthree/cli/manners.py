"""What every command shares: its usual options, how it prints, how it refuses."""

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

FINE, SOMETHING_TO_TELL, BAD_INPUT = 0, 1, 2

Folder = Annotated[
    Path | None,
    typer.Option(help="Folder of the store (default: $ONTHREE_FOLDER, else ./onthree-data).", show_default=False),
]
On = Annotated[str | None, typer.Option(metavar="DATE", help="Judge on this day, such as 2026-11-25 (default: today).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]


def show(as_json: bool, document: str, result: Any, table: Callable[[], None], *more: Any) -> None:
    """Print a result as a table, or as the JSON document of that name."""
    if not as_json:
        table()
        return
    from onthree.actions import as_json as documents

    typer.echo(json.dumps(getattr(documents, document)(result, *more), indent=2, ensure_ascii=False))


def use_folder(folder: Path | None) -> None:
    """Take the store in this folder, where one is given."""
    if folder:
        os.environ["ONTHREE_FOLDER"] = str(folder)


def open_store(folder: Path | None) -> None:
    """Open the store in a folder, or refuse."""
    from onthree.actions.opening import open_programme_store

    use_folder(folder)
    with refusing():
        open_programme_store()


def day_of(on: str | None) -> date:
    """The day asked for, today where none is."""
    if on is None:
        return datetime.now(UTC).astimezone().date()
    try:
        return date.fromisoformat(on)
    except ValueError:
        refuse(f"--on: {on!r} given, a day such as 2026-11-25 expected")


def who_types() -> str:
    """Who sits at the keyboard, as far as the machine knows."""
    return os.environ.get("USER") or os.environ.get("USERNAME") or "command line"


def refuse(message: str) -> NoReturn:
    """Say what was wrong and end with the code of bad input."""
    typer.echo(message, err=True)
    raise typer.Exit(BAD_INPUT)


@contextmanager
def refusing() -> Iterator[None]:
    """Turn what a person typed wrong into a message and exit 2; anything else is a fault and shows itself."""
    try:
        yield
    except (ValueError, LookupError, OSError) as error:
        if isinstance(error, (KeyError, UnicodeError)):
            raise
        told = str(error)
        if isinstance(error, OSError) and error.filename:
            told = f"{error.filename}: {(error.strerror or told).lower()}; check the name, or give another"
        sys.stderr.write(f"{told}\n")
        raise typer.Exit(BAD_INPUT) from None
