"""The commands of the last resort: one file for a device without any connection, and the answers it kept."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from onthree.cli.manners import FINE, SOMETHING_TO_TELL, Folder, On, day_of, open_store, refusing, who_types

kit_app = typer.Typer()


@kit_app.command(epilog="Example: onthree kit E-1 --out kit.html")
def kit(
    event: Annotated[str, typer.Argument(metavar="EVENT", help="Code of the event, or next.")],
    out: Annotated[Path, typer.Option(metavar="FILE", help="Where to write it.")] = Path("kit.html"),
    on: On = None,
    folder: Folder = None,
) -> None:
    """One HTML file with time-out, cards, gear check and life first, for a device without any connection."""
    from onthree.actions.current_answer import current_answer
    from onthree.actions.kit import kit_html

    open_store(folder)
    with refusing():
        answer = current_answer(event, day_of(on))
        out.write_text(kit_html(answer, datetime.now(UTC).astimezone()), encoding="utf-8")
    typer.echo(f"{out}: {answer.event.code} {answer.event.name}. Answers it keeps come back with onthree kit-answers.")


@kit_app.command("kit-answers", epilog="Example: onthree kit-answers answers-E-1.json")
def kit_answers(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Answers that a kit or a page saved.")],
    folder: Folder = None,
) -> None:
    """Take in the answers of a kit, each exactly once however often the file is taken in."""
    from onthree.actions.kit import take_kit_answers
    from onthree.programme.roles import Right

    open_store(folder)
    with refusing():
        found = take_kit_answers(file.read_bytes(), who_types(), frozenset(Right))
    typer.echo(f"{found.new_count} new, {len(found.taken)} in all.")
    for text in found.refused:
        typer.echo(f"not taken: {text}", err=True)
    for text in found.moved:
        typer.echo(f"taken, its time is not sure: {text}", err=True)
    raise typer.Exit(SOMETHING_TO_TELL if found.refused or found.moved else FINE)
