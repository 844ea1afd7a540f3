"""The commands of rehearsals: which runs there are, one run, and its debrief. Their app joins the main one."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from onthree.cli.manners import AsJson, Folder, On, day_of, open_store, refuse, refusing, who_types

run_app = typer.Typer()

RunCode = Annotated[str, typer.Argument(metavar="RUN", help="Code of the run.")]


@run_app.command(epilog="Example: onthree runs")
def runs(folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """Every run of every rehearsal: what, how long, how it was filmed, and whether it counts."""
    from onthree.actions.run_answer import every_run, runs_document
    from onthree.cli import run_tables

    open_store(folder)
    with refusing():
        answer = every_run(day_of(on))
    _show(runs_document(answer) if as_json else None, lambda: run_tables.every_run(answer))


@run_app.command(epilog='Example: onthree run RUN-7 --set-aside "the board slipped"')
def run(
    code: RunCode,
    set_aside: Annotated[
        str | None, typer.Option("--set-aside", metavar="REASON", help="The run stays and no longer counts.")
    ] = None,
    count_again: Annotated[bool, typer.Option("--count-again", help="A run that was set aside counts again.")] = False,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """One run: who did what, phases, incidents, recordings, what was measured."""
    from onthree.actions import runs as actions
    from onthree.actions.run_answer import one_run, run_document
    from onthree.cli import run_tables

    if set_aside is not None and (count_again or not set_aside.strip()):
        refuse(f"--set-aside: {set_aside!r} given, a reason alone expected: say why the run does not count")
    open_store(folder)
    with refusing():
        if set_aside is not None or count_again:
            actions.set_aside(code, set_aside or "", by=who_types())
        answer = one_run(code, day_of(on))
    _show(run_document(answer) if as_json else None, lambda: run_tables.one_run(answer))


@run_app.command(epilog="Example: onthree debrief RUN-3 --out RUN-3.pdf --films films")
def debrief(
    code: RunCode,
    out: Annotated[Path | None, typer.Option(help="Write the page as this .pdf, or .png.")] = None,
    films: Annotated[Path | None, typer.Option(help="Folder of the films, where they are not where the run says.")] = (
        None
    ),
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """What to say after a run while the team still kneels: three sentences, and one printable page."""
    from onthree.actions.debrief import debrief_document, debrief_run, write_debrief
    from onthree.cli import run_tables

    open_store(folder)
    with refusing():
        answer = debrief_run(code, day_of(on), films, paper)
        if out:
            write_debrief(answer, out)
    _show(debrief_document(answer) if as_json else None, lambda: run_tables.debrief(answer, out))


def _show(document: dict[str, Any] | None, table: Callable[[], None]) -> None:
    """Print a JSON document where one was asked for, else the table."""
    if document is None:
        table()
    else:
        typer.echo(json.dumps(document, indent=2, ensure_ascii=False))
