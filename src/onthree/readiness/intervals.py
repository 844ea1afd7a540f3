"""How long something that was done counts: judged on the event's day, by the dated parameter of its interval."""

from datetime import date

from onthree.readiness.finding import Level
from onthree.sources import parameter
from onthree.transfers.options import OptionsEngine


def overdue(engine: OptionsEngine, done: date | None, interval: str) -> Level | None:
    """Fix where it was done longer before the event than the interval, unknown where no day is known, else None.

    A day after the programme's date has not come yet and does not count.
    """
    if done is None or done > engine.programme.on:
        return Level.UNKNOWN
    is_over = (engine.event.day - done).days > parameter(interval, engine.event.day).value
    return Level.FIX if is_over else None


def interval_shown(engine: OptionsEngine, interval: str) -> str:
    """The interval in days, and whether it is a guess."""
    value = parameter(interval, engine.event.day)
    return f"{value.value} days{' (a guess: common practice, no source)' if value.is_guess else ''}"


def day_shown(done: date | None) -> str:
    """A day, or that nobody recorded it."""
    return "not recorded" if done is None else done.isoformat()
