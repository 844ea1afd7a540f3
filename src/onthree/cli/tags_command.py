"""``onthree tags``: printable tags at true size, calibration board, placement guide, and their rig file."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from onthree.cli.manners import AsJson, On, day_of, refuse, refusing

if TYPE_CHECKING:
    from onthree.actions.tag_sheets import WrittenSheets

EXAMPLE = "Example: onthree tags --out tags --segments head,trunk,device --paper letter --size-mm 80"


def tags(
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Folder to write into.")] = Path("tags"),
    segments: Annotated[
        str, typer.Option(help="What carries tags, with commas between: head, trunk, device, helmet.")
    ] = "head,trunk",
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    size_mm: Annotated[
        str | None,
        typer.Option(
            metavar="SIZE",
            help="Side of the black square in millimetres: 80 for all, or head=70,trunk=80 (default: by segment).",
        ),
    ] = None,
    family: Annotated[str, typer.Option(help="Family of tags.")] = "tag36h11",
    first_id: Annotated[int, typer.Option(help="Id of the first tag; a second set goes on after the first.")] = 0,
    cubes: Annotated[
        bool, typer.Option("--cubes", help="Five tags of head and of trunk go on a cube as in the guide.")
    ] = False,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Print tags, calibration board and placement guide at true size, and the rig file."""
    from onthree.actions.tag_sheets import TagOrder, sheets_document, write_tag_sheets

    asked = tuple(part.strip() for part in segments.split(",") if part.strip())
    order = TagOrder(asked, paper.lower(), _sizes_mm(size_mm), family, first_id, cubes)
    with refusing():
        written = write_tag_sheets(out, order, day_of(on))
    if as_json:
        typer.echo(json.dumps(sheets_document(written), indent=2, ensure_ascii=False))
    else:
        _print(written)


def _sizes_mm(typed: str | None) -> dict[str, float]:
    """Side [mm] by segment; the empty name is all others."""
    sizes_mm: dict[str, float] = {}
    for part in typed.split(",") if typed else []:
        segment, _, number = part.rpartition("=")
        try:
            sizes_mm[segment.strip()] = float(number)
        except ValueError:
            refuse(f"--size-mm: {part!r} given, millimetres such as 80 or head=70 expected")
    return sizes_mm


def _print(written: "WrittenSheets") -> None:
    from onthree.actions.tag_sheets import NEXT, by_segment

    for name in written.files:
        typer.echo(f"written: {written.folder / name}")
    for each in by_segment(written.tags):
        typer.echo(f"  {each.segment}: tags {each.ids[0]} to {each.ids[-1]}, black squares of {each.size_mm:g} mm")
    typer.echo("\nNEXT")
    for number, line in enumerate(NEXT, start=1):
        typer.echo(f"  {number}. {line}")
