"""What a rule says: a finding, with its level, subject, numbers, what to do, who can, and what was done about it."""

from dataclasses import dataclass
from enum import StrEnum

from onthree.programme.records import KnownGap, Told


class Level(StrEnum):
    """How a finding is dealt with; listed from the most urgent, known gaps that were signed at the end."""

    TELL = "tell before start"
    FIX = "fix before"
    UNKNOWN = "unknown"
    WATCH = "watch"
    SIGNED = "known gap, signed"


@dataclass(frozen=True)
class Finding:
    """One thing a rule found at one event; ``evidence`` holds (what, value with unit) pairs.

    ``told``: who was told, the latest last. ``gap``: the known gap that holds on the day; ``ended_gap``: where none
    does, the latest that has ended.
    """

    rule: str
    level_unsigned: Level
    event: str
    subject: str
    message: str
    evidence: tuple[tuple[str, str], ...]
    do: str
    who: str
    tell: str
    source: str
    told: tuple[Told, ...] = ()
    gap: KnownGap | None = None
    ended_gap: KnownGap | None = None

    @property
    def level(self) -> Level:
        """The level of the rule, or that of a known gap where one was signed and holds."""
        return Level.SIGNED if self.gap else self.level_unsigned

    @property
    def is_confirmed(self) -> bool:
        """Whether somebody was told, and everybody who was told confirmed it with the latest answer."""
        latest = {row.who.casefold(): row.answer for row in self.told}
        return set(latest.values()) == {"confirmed"}

    @property
    def is_open(self) -> bool:
        """Whether it must still be told, fixed or found out."""
        if self.level is Level.TELL:
            return not self.is_confirmed
        return self.level in (Level.FIX, Level.UNKNOWN)
