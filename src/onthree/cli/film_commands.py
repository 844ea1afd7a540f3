"""The commands of films: what is printed, filmed, measured. Their app joins the main one in ``commands``."""

import typer

film_app = typer.Typer()
