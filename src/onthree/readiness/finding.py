"""What a rule says: a finding, with its level, subject, numbers, what to do, and who can."""

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How a finding is dealt with; listed from the most urgent."""

    TELL = "tell before start"
    FIX = "fix before"
    UNKNOWN = "unknown"
    WATCH = "watch"


@dataclass(frozen=True)
class Finding:
    """One thing a rule found at one event; ``evidence`` holds (what, value with unit) pairs."""

    rule: str
    level: Level
    event: str
    subject: str
    message: str
    evidence: tuple[tuple[str, str], ...]
    do: str
    who: str
    tell: str
    source: str
