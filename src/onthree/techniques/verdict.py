"""The three answers a check can give. Unknown is a state of its own and never a pass."""

from collections.abc import Iterable
from enum import IntEnum


class Verdict(IntEnum):
    """Ordered from best to worst, so that ``max`` is what a chain of checks gives and ``min`` the best of several."""

    OK = 0
    UNKNOWN = 1
    NO = 2

    def __str__(self) -> str:
        return self.name.lower()


def of_all(verdicts: Iterable[Verdict]) -> Verdict:
    """The verdict of checks that must all pass: no if any is no, else unknown if any is unknown, else ok."""
    return max(verdicts, default=Verdict.OK)
