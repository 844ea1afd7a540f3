"""``onthree measure``: films of printed tags in, the movement of head on trunk out."""

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from onthree.cli.manners import (
    BAD_INPUT,
    FINE,
    SOMETHING_TO_TELL,
    AsJson,
    Folder,
    day_of,
    open_store,
    refusing,
    use_folder,
    who_types,
)
from onthree.cli.progress_line import progress_line

EXAMPLE = "Example: onthree measure roll.mp4 --rig rig.toml --phases roll.phases.toml --out roll"


class Clock(StrEnum):
    """By what the clocks of two films are laid upon each other."""

    MOTION = "motion"
    FLASH = "flash"
    CLAP = "clap"


def measure(
    films: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Films, or one .toml file that lists those of an evening.")
    ],
    rig: Annotated[Path, typer.Option(help="Rig file: which printed tags sit on head and trunk.")],
    camera: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CAM",
            help="Camera file, or name of a kept one; of two phones give it twice (default: found from the film).",
        ),
    ] = None,
    phases: Annotated[
        Path | None, typer.Option(help="Phases marked on the film, TOML or CSV (default: the whole film is one phase).")
    ] = None,
    together: Annotated[
        bool, typer.Option("--together", help="The two files are films of one run, by two phones.")
    ] = False,
    clock: Annotated[
        Clock, typer.Option(help="By what the clocks of two films are laid upon each other.")
    ] = Clock.MOTION,
    moving: Annotated[str, typer.Option(metavar="SEGMENT", help="What moves, such as head or helmet.")] = "head",
    reference: Annotated[
        str, typer.Option("--on", metavar="SEGMENT", help="On what it moves, such as trunk, head or device.")
    ] = "trunk",
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
    from onthree.actions.measure import Way
    from onthree.actions.measure_films import asked_for, asked_with_run, kept_with_run, measure_films
    from onthree.actions.measured_films_json import films_document
    from onthree.capture.progress import Cancelled
    from onthree.cli import measure_tables

    use_folder(folder)
    with refusing():
        asked = asked_for(
            films,
            rig,
            camera or (),
            phases,
            together=together,
            bound_deg=bound_deg,
            out=out,
            with_film=film,
            on=day_of(None),
            way=Way(moving, reference, clock.value),
        )
    if run:
        open_store(folder)
        with refusing():
            asked = asked_with_run(asked, run)
    try:
        with progress_line(is_shown=sys.stderr.isatty() and not as_json) as listener:
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
    for problem in (*answer.failed, *answer.disagreeing):
        typer.echo(problem, err=True)
    measured = SOMETHING_TO_TELL if answer.disagreeing else FINE
    raise typer.Exit(BAD_INPUT if answer.failed else measured)
