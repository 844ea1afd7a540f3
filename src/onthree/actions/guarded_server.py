"""The https server of the local network: a device that is slow to shake hands holds up nobody but itself."""

import socket
import ssl
from typing import Any

from cheroot.server import HTTPConnection
from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server

THREADS = 32
"""How many connections are answered at a time: one whose device has gone silent keeps its thread for ten seconds."""
_IS_PLAIN, _DOES_NOT_TRUST = "HTTP_REQUEST", ("UNKNOWN_CA", "CERTIFICATE")


class _ShakesHandsLater(BuiltinSSLAdapter):
    """Leaves the handshake to the thread that answers; the thread that accepts connections must not wait for it."""

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, str]]:
        guarded = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        return guarded, {"wsgi.url_scheme": "https", "HTTPS": "on"}


class _Connection(HTTPConnection):
    """A connection that shakes hands before its first request."""

    has_shaken_hands = False

    def communicate(self) -> bool:
        if not self.has_shaken_hands:
            try:
                self.socket.do_handshake()
            except OSError as error:
                self._say_why_not(error)
                return False
            self.has_shaken_hands = True
        return bool(super().communicate())  # type: ignore[no-untyped-call]

    def _say_why_not(self, error: OSError) -> None:
        if getattr(error, "reason", "") == _IS_PLAIN:  # https was left out of the address: lead there
            answer = f"HTTP/1.1 302 Found\r\nLocation: {self.server.address}\r\nConnection: close\r\n\r\n"
            socket.socket.sendall(self.socket, answer.encode("ascii"))  # past the guard, which was never there
            return
        why = getattr(error, "reason", "") or ""
        if any(word in why for word in _DOES_NOT_TRUST):  # others only tried, or went out of reach
            self.server.error_log(
                f"{self.remote_addr} does not trust the certificate: do step 2 on that device ({why})"
            )


class GuardedServer(Server):
    """Serves every address of this computer; ``address`` is where other devices find the pages."""

    ConnectionClass = _Connection

    def __init__(self, port: int, application: Any, certificate: str, address: str) -> None:
        """``certificate`` is the file with certificate and key."""
        super().__init__(("0.0.0.0", port), application, numthreads=THREADS, server_name="onthree")
        self.ssl_adapter = _ShakesHandsLater(certificate, certificate)
        self.address = address
