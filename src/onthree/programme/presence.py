"""Who or what is at an event, and from which minute: ``RT-04``, or ``AMB-2@8min`` for one eight minutes away."""

import re
from dataclasses import dataclass

LONGEST_MIN = 180

_PRESENCE = re.compile(r"([^\s,@]+)(?:\s*@\s*(\d{1,3})\s*min)?")
_HANDS = re.compile(r"\+?(\d{1,2})(?:\s*@\s*(\d{1,3})\s*min)?")


class PresenceError(ValueError):
    """A list of who or what is there that cannot be read; the message says what was given, expected and what to do."""


@dataclass(frozen=True)
class Presence:
    """One person or item of an event by code, present from a minute after the call [min]; 0 is there from the start."""

    code: str
    from_min: int = 0

    def __str__(self) -> str:
        return f"{self.code}@{self.from_min}min" if self.from_min else self.code


@dataclass(frozen=True)
class HandsGroup:
    """A number of unnamed trained people, present from a minute after the call [min]."""

    people: int
    from_min: int = 0


def read_presence(text: str) -> Presence:
    """Read ``RT-04`` or ``AMB-2@8min``. Raises PresenceError."""
    match = _PRESENCE.fullmatch(text.strip())
    if not match:
        raise PresenceError(f"{text!r} given, a code such as RT-04 or AMB-2@8min expected: write minutes away as @8min")
    return Presence(match[1], _minutes(text, match[2]))


def read_hands(text: str) -> tuple[HandsGroup, ...]:
    """Read ``3,+2@8min``: three trained people there, two more in eight minutes. Raises PresenceError."""
    groups = []
    for part in text.split(","):
        match = _HANDS.fullmatch(part.strip())
        if not match:
            raise PresenceError(
                f"{text!r} given, people such as 3 or 3,+2@8min expected: write minutes as @8min, a comma between"
            )
        groups.append(HandsGroup(int(match[1]), _minutes(text, match[2])))
    return tuple(groups)


def _minutes(text: str, minutes: str | None) -> int:
    from_min = int(minutes or 0)
    if from_min > LONGEST_MIN:
        raise PresenceError(f"{text!r} given, at most {LONGEST_MIN} min expected: leave out what comes later")
    return from_min
