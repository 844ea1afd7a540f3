"""``onthree measure``: films of printed tags in, the movement of head on trunk out."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from onthree.cli.manners import BAD_INPUT, FINE, AsJson, Folder, day_of, open_store, refusing, use_folder, who_types

if TYPE_CHECKING:
    from onthree.capture.progress import Listener
    from onthree.capture.progress import Progress as Step

EXAMPLE = "Example: onthree measure roll.mp4 --rig rig.toml --phases roll.phases.toml --out roll"


def measure(
    films: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Films, or one .toml file that lists those of an evening.")
    ],
    rig: Annotated[Path, typer.Option(help="Rig file: which printed tags sit on head and trunk.")],
    camera: Annotated[
        str | None,
        typer.Option(metavar="CAM", help="Camera file, or name of a kept one (default: found from the film itself)."),
    ] = None,
    phases: Annotated[
        Path | None, typer.Option(help="Phases marked on the film, TOML or CSV (default: the whole film is one phase).")
    ] = None,
    together: Annotated[
        bool, typer.Option("--together", help="The two files are films of one run, by two phones.")
    ] = False,
    bound_deg: Annotated[
        float | None,
        typer.Option("--bound", metavar="DEG", help="A bound of your own: how long was the head beyond it?"),
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the files (default: print only).")] = None,
    film: Annotated[bool, typer.Option("--film/--no-film", help="Draw tags, axes and angles into the film.")] = True,
    run: Annotated[
        str | None, typer.Option(metavar="RUN", help="Code of the run it was filmed of: keep the numbers with it.")
    ] = None,
    folder: Folder = None,
    as_json: AsJson = False,
) -> None:
    """How far the head moved on the trunk, phase by phase, and who started when."""
    from onthree.actions.measure_films import asked_for, asked_with_run, kept_with_run, measure_films
    from onthree.actions.measured_films_json import films_document
    from onthree.capture.progress import Cancelled
    from onthree.cli import measure_tables

    use_folder(folder)
    with refusing():
        asked = asked_for(
            films,
            rig,
            camera,
            phases,
            together=together,
            bound_deg=bound_deg,
            out=out,
            with_film=film,
            on=day_of(None),
        )
    if run:
        open_store(folder)
        with refusing():
            asked = asked_with_run(asked, run)
    try:
        with _progress(is_shown=sys.stderr.isatty() and not as_json) as listener:
            answer = measure_films(asked, listener)
    except (KeyboardInterrupt, Cancelled):
        typer.echo("called off: of the film at hand nothing was written, what was finished before is kept", err=True)
        raise typer.Exit(BAD_INPUT) from None
    if run and answer.films:
        with refusing():
            answer = kept_with_run(answer, run, who_types())
    if as_json:
        typer.echo(json.dumps(films_document(answer), indent=2, ensure_ascii=False))
    else:
        measure_tables.measured(answer)
    for problem in answer.failed:
        typer.echo(problem, err=True)
    raise typer.Exit(BAD_INPUT if answer.failed else FINE)


@contextmanager
def _progress(is_shown: bool) -> Iterator["Listener | None"]:
    """A line that says how much of the film is done and how long the rest takes; none away from a terminal."""
    if not is_shown:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.fields[left]}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task("film", left="")

        def told(step: "Step") -> None:
            left = f"{step.done_s:.0f} s done" + ("" if step.left_s is None else f", {step.left_s:.0f} s left")
            shown.update(task, completed=step.done_s, total=step.of_s, left=left)

        yield told
