"""Serves the pages with waitress."""

from datetime import date
from typing import Any


def page_server(host: str, port: int, today: date | None = None) -> Any:
    """A server that listens on a port of this machine; its ``run()`` answers until Ctrl-C.

    ``today`` is the day the pages use as today, None the clock's. The store must be open. Raises OSError for a port
    that is taken.
    """
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application
    from waitress import create_server

    settings.TODAY = today
    try:
        return create_server(get_wsgi_application(), host=host, port=port, threads=4, ident="onthree")
    except OSError as error:
        raise OSError(f"cannot serve on {host}:{port}: {error.strerror}: choose another port with --port") from None
