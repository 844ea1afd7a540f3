"""The commands of films: what is printed, filmed, measured. Their app joins the main one in ``commands``."""

import typer

from onthree.cli import camera_command, measure_command, preflight_command, tags_command, work_command

film_app = typer.Typer()
film_app.command(epilog=measure_command.EXAMPLE)(measure_command.measure)
film_app.command(epilog=camera_command.EXAMPLE)(camera_command.camera)
film_app.command(epilog=tags_command.EXAMPLE)(tags_command.tags)
film_app.command(epilog=preflight_command.EXAMPLE)(preflight_command.preflight)
film_app.command(epilog=work_command.EXAMPLE)(work_command.work)
