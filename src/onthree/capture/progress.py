"""How far a film has been read, and when it will be done; whoever listens may call it off."""

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from onthree.capture.film import Frame

TOLD_EVERY_S = 0.25


class Cancelled(Exception):  # noqa: N818  nothing went wrong
    """Raised by a listener to end the reading of a film; nothing is kept."""


@dataclass(frozen=True)
class Progress:
    """Seconds of film that are done, of how many, and seconds to wait until the rest is; None where nobody knows.

    ``doing`` is what is being done to the film.
    """

    done_s: float
    of_s: float | None
    left_s: float | None
    doing: str = "reading"


Listener = Callable[[Progress], None]


def watched(frames: Iterable[Frame], of_s: float | None, listener: Listener | None) -> Iterator[Frame]:
    """The frames as they come; the listener is told now and then, and at the end, and may raise Cancelled."""
    if listener is None:
        yield from frames
        return
    start_s = told_s = time.monotonic()
    done_s = 0.0
    for frame in frames:
        yield frame
        done_s, now_s = frame.time_s, time.monotonic()
        if now_s - told_s >= TOLD_EVERY_S:
            told_s = now_s
            listener(Progress(done_s, of_s, _left_s(done_s, of_s, now_s - start_s)))
    listener(Progress(done_s, done_s, 0.0))


def _left_s(done_s: float, of_s: float | None, taken_s: float) -> float | None:
    if of_s is None or done_s <= 0:
        return None
    return max(of_s - done_s, 0.0) * taken_s / done_s
