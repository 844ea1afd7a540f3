"""A line between a browser and a server that is cut now and then and counts what goes up; and a large film for it."""

import os
import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from tests.web.films import FILM

MARK_EVERY_BYTES = 1 << 16
_AT_ONCE = 1 << 18


class BadLine:
    """Passes connections on to a port of this machine; ``up_bytes`` is what was sent to the server so far.

    ``deeds`` are done, in order, as soon as so many bytes were sent. No more than ``most_bytes_s`` go up in a second.
    """

    def __init__(self, to_port: int, most_bytes_s: float) -> None:
        self.to_port, self.most_bytes_s, self.up_bytes = to_port, most_bytes_s, 0
        self.deeds: list[tuple[float, Callable[[], None]]] = []
        self._open: set[socket.socket] = set()
        self._lock = threading.Lock()
        self.is_dead = False
        self._listening = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port: int = self._listening.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    def cut(self) -> None:
        """Break every connection in the middle of whatever it carries."""
        with self._lock:
            for one in self._open:
                _break(one)

    def go_dead(self) -> None:
        """Break every connection and take no other."""
        self.is_dead = True
        self.cut()

    def come_back(self) -> None:
        """Take connections again."""
        self.is_dead = False

    def close(self) -> None:
        """End for good."""
        self._listening.close()
        self.cut()

    def _listen(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            threading.Thread(target=self._join, args=(near,), daemon=True).start()

    def _join(self, near: socket.socket) -> None:
        with near:
            if self.is_dead:
                return
            try:
                far = socket.create_connection(("127.0.0.1", self.to_port))
            except OSError:
                return  # nobody serves
            with far:
                with self._lock:
                    self._open |= {near, far}
                down = threading.Thread(target=self._pass, args=(far, near, False), daemon=True)
                down.start()
                self._pass(near, far, is_up=True)
                down.join()
                with self._lock:
                    self._open -= {near, far}

    def _pass(self, one: socket.socket, other: socket.socket, is_up: bool) -> None:
        try:
            while block := one.recv(_AT_ONCE):
                if is_up:
                    self._count(len(block))
                other.sendall(block)
        except OSError:
            pass
        for each in (one, other):
            _break(each)

    def _count(self, count: int) -> None:
        self.up_bytes += count
        while self.deeds and self.up_bytes >= self.deeds[0][0]:
            self.deeds.pop(0)[1]()
        time.sleep(count / self.most_bytes_s)


def large_film(path: Path, size_bytes: int) -> Path:
    """A film that can be read, made large by a box of free space (ISO/IEC 14496-12, 8.1.2); no two stretches are alike.

    Written sparsely: each 64 kB begins with its own place.
    """
    film = FILM.read_bytes()
    with path.open("wb") as file:
        file.write(film)
        file.write((size_bytes - len(film)).to_bytes(4, "big") + b"free")
        file.truncate(size_bytes)
        for at in range(len(film) + 8, size_bytes - 8, MARK_EVERY_BYTES):
            os.pwrite(file.fileno(), at.to_bytes(8, "big"), at)
    return path


def _break(one: socket.socket) -> None:
    with suppress(OSError):
        one.shutdown(socket.SHUT_RDWR)
