"""``onthree preflight``: is this film worth a run?"""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from onthree.cli.manners import FINE, SOMETHING_TO_TELL, AsJson, refusing

if TYPE_CHECKING:
    from onthree.capture.preflight import Preflight

EXAMPLE = "Example: onthree preflight try.mp4 --rig rig.toml --camera blue-phone.toml"
WIDEST = 16
"""Letters of the longest name of a check."""


def preflight(
    film: Annotated[Path, typer.Argument(metavar="FILM", help="A few seconds of film, or a photo.")],
    rig: Annotated[Path, typer.Option(help="Rig file: which printed tags sit on head and trunk.")],
    camera: Annotated[str | None, typer.Option(help="Camera file of the phone, or the name of a kept one.")] = None,
    as_json: AsJson = False,
) -> None:
    """Before the runs: tags seen, large and sharp enough? Light, frame rate, stabilisation, focal length?"""
    from onthree.actions.kept_cameras import kept_camera
    from onthree.actions.preflight import preflight_document, preflight_film

    with refusing():
        found = preflight_film(film, rig, kept_camera(camera) if camera is not None else None)
    if as_json:
        typer.echo(json.dumps(preflight_document(film, found), indent=2, ensure_ascii=False))
    else:
        _print(film, found)
    raise typer.Exit(SOMETHING_TO_TELL if found.is_stopped else FINE)


def _print(film: Path, found: "Preflight") -> None:
    from onthree.actions.preflight import CAUTION

    told = {state: sum(check.state == state for check in found.checks) for state in ("not ok", "unknown", "ok")}
    typer.echo(f"{film.name}: {told['not ok']} not ok, {told['unknown']} unknown, {told['ok']} ok")
    for check in found.checks:
        typer.echo(f"  {check.state:<8} {check.name:<{WIDEST}} {check.found}")
        if check.state != "ok":
            typer.echo(f"  {'':<8} {'':<{WIDEST}} do: {check.do}")
    typer.echo("  ask:")
    for question in found.questions:
        typer.echo(f"    {question}")
    typer.echo(f"  {CAUTION}")
