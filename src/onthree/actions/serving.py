"""Serves the pages: to this computer with waitress, to the local network over https with cheroot."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from onthree.actions.local_authority import Authority, local_names, prepare_authority

SET_UP_PATH = "/set-up/"


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
        raise _taken(host, port, error) from None


@dataclass(frozen=True)
class LocalServer:
    """Two servers: the pages over https, and one page without it that helps a device to trust them."""

    pages: Any
    set_up: Any
    authority: Authority
    address: str
    set_up_address: str

    def run(self) -> None:
        """Answer until Ctrl-C."""
        from threading import Thread

        Thread(target=self.set_up.run, daemon=True).start()
        try:
            self.pages.serve()
        except KeyboardInterrupt:
            self.pages.stop()


def local_server(folder: Path, port: int, today: date | None = None, names: Sequence[str] = ()) -> LocalServer:
    """Servers for the local network on a port and the next one; everybody signs in, also on this computer.

    ``names`` are further names or addresses of this computer. Raises OSError for a port that is taken.
    """
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application
    from waitress import create_server

    from onthree.actions.guarded_server import GuardedServer

    called = tuple(dict.fromkeys((*names, *local_names())))
    authority = prepare_authority(folder, called, datetime.now(UTC))
    settings.TODAY = today
    settings.LOOPBACK_ONLY = False
    settings.ALLOWED_HOSTS = list(called)
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    address, set_up_address = f"https://{called[0]}:{port}/", f"http://{called[0]}:{port + 1}{SET_UP_PATH}"
    settings.AUTHORITY, settings.LOCAL_ADDRESS = authority, address
    application = get_wsgi_application()
    helping = _only_set_up(application, address)
    pages = GuardedServer(port, application, str(authority.server), address)
    try:
        pages.prepare()
    except OSError as error:
        raise _taken("0.0.0.0", port, error) from None
    try:
        set_up = create_server(helping, host="0.0.0.0", port=port + 1, threads=2, ident="onthree")
    except OSError as error:
        pages.stop()
        raise _taken("0.0.0.0", port + 1, error) from None
    return LocalServer(pages, set_up, authority, address, set_up_address)


def _only_set_up(application: Any, address: str) -> Any:
    """The application for a connection that nobody guards: the set-up page, and the way to the guarded one."""

    def answer(environ: dict[str, Any], start_response: Any) -> Any:
        if environ.get("PATH_INFO", "").startswith((SET_UP_PATH, "/static/onthree/")):
            return application(environ, start_response)
        start_response("302 Found", [("Location", address), ("Content-Length", "0")])
        return []

    return answer


def _taken(host: str, port: int, error: OSError) -> OSError:
    return OSError(f"cannot serve on {host}:{port}: {error.strerror or error}: choose another port with --port")
