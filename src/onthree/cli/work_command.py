"""``onthree work``: measures the films that wait, where the server does not do it itself."""

from typing import Annotated

import typer

from onthree.cli.manners import Folder, open_store, refusing

EXAMPLE = "Example: onthree work --until-done"


def work(
    folder: Folder = None,
    until_done: Annotated[bool, typer.Option("--until-done", help="End when no film waits any more.")] = False,
) -> None:
    """Measure the films that wait on the pages, one after the other (Ctrl-C ends)."""
    from onthree.actions import working

    open_store(folder)
    with refusing():
        try:
            working.work(is_batch=until_done, on_wait=lambda: typer.echo("another worker is at work: waiting"))
        except KeyboardInterrupt:
            raise typer.Exit from None
