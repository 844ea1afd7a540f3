"""Serving the local network: what is printed, and the picture that a tablet's camera reads."""

import io
from datetime import date

import typer

from onthree.cli.manners import refusing, show


def serve_lan(port: int, today: date | None, names: tuple[str, ...], as_json: bool) -> None:
    """Serve the local network over https until Ctrl-C; says how a device comes to trust it."""
    import segno
    from django.conf import settings

    from onthree.actions.accounts import list_people
    from onthree.actions.serving import local_server
    from onthree.actions.working import beside

    with refusing():
        server = local_server(settings.FOLDER, port, today, names)
    picture = io.StringIO()
    segno.make_qr(server.set_up_address, error="l").terminal(picture, compact=True)

    def lines() -> None:
        typer.echo(f"\nServing on {server.address}  (Ctrl-C ends)")
        typer.echo(f"\nOn each tablet or phone, once: scan this, or open {server.set_up_address}")
        for line in picture.getvalue().splitlines():  # light on dark, whatever the colours of the window
            typer.secho(line, fg="bright_white", bg="black")
        typer.echo()
        typer.echo("1  connect to the same network")
        typer.echo("2  install the certificate file of the page; compare its fingerprint:")
        typer.echo(f"   {server.authority.fingerprint}")
        typer.echo(f"3  open {server.address} and sign in")
        if server.authority.gone:
            typer.echo(f"\nNo longer served as {', '.join(server.authority.gone)}. Answers that wait on a device under")
            typer.echo("that address stay there: open its page on that device, save them as a file, take them in here.")
        if not list_people():
            typer.echo("\nNobody can sign in yet: onthree user add NAME --role lead")

    show(as_json, "serving", server.address, lines)
    with beside():
        server.run()
