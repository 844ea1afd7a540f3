"""``onthree camera``: films or photos of the printed board in, a camera file out."""

import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from onthree.cli.manners import BAD_INPUT, AsJson, refuse, refusing
from onthree.cli.progress_line import progress_line

if TYPE_CHECKING:
    from onthree.actions.calibrate_camera import MadeCamera

EXAMPLE = "Example: onthree camera board.mp4 --out blue-phone.toml --phone 'the blue one' --mode '1080p 60'"
UNKNOWN = "unknown"


def camera(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Films or photos of the printed board.")],
    out: Annotated[Path, typer.Option(help="Camera file to write, such as blue-phone.toml.")],
    phone: Annotated[str, typer.Option(help="Which phone, in your own words.")] = UNKNOWN,
    lens: Annotated[str, typer.Option(help="Which lens, in your own words.")] = UNKNOWN,
    mode: Annotated[str, typer.Option(help="Which way of filming, in your own words.")] = UNKNOWN,
    focus_locked: Annotated[
        bool, typer.Option("--focus-locked", help="Focus was locked at the distance that is filmed later.")
    ] = False,
    readout_s: Annotated[
        float | None,
        typer.Option("--readout", metavar="SECONDS", help="Time from the first row to the last (default: unknown)."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Calibrate a phone's camera from the printed board, once for each phone, lens and way of filming."""
    from onthree.actions.calibrate_camera import Owner, calibrate_camera, made_document
    from onthree.capture.camera_file import LONGEST_READOUT_S

    if readout_s is not None and not 0 <= readout_s <= LONGEST_READOUT_S:
        refuse(f"--readout: {readout_s:g} given, seconds from 0 to {LONGEST_READOUT_S:g} expected")
    today = datetime.now(UTC).astimezone().date()
    with refusing():
        owner = Owner(phone, lens, mode, readout_s)
        try:
            with progress_line(is_shown=sys.stderr.isatty() and not as_json) as listener:
                made = calibrate_camera(
                    files, out, today=today, owner=owner, is_focus_locked=focus_locked, listener=listener
                )
        except KeyboardInterrupt:
            typer.echo("called off: nothing was written", err=True)
            raise typer.Exit(BAD_INPUT) from None
    if as_json:
        typer.echo(json.dumps(made_document(made), indent=2, ensure_ascii=False))
    else:
        _print(made)


def _print(made: "MadeCamera") -> None:
    from onthree.actions.calibrate_camera import CAUTION

    known, found = made.known, made.calibration
    values, sd = known.camera.values, known.camera.sd
    typer.echo(f"{made.path}: camera for {known.width} x {known.height} pixels, from {known.made_from}")
    typer.echo(f"  focal length {values[0]:.1f} px, give or take {sd[0]:.1f} ({sd[0] / values[0]:.2%})")
    typer.echo(f"  corners fit to {found.rms_px:.2f} px, {found.covered_ratio:.0%} of the picture covered")
    typer.echo(f"  {CAUTION}")
