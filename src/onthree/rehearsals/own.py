"""What one's own runs measured in a technique, run by run: never pooled, with each other or with published values."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from onthree.kinematics.measures import PLANE_NAMES
from onthree.programme.records import Measured
from onthree.programme.rehearsals import START_LAG, START_LAG_MODELLED, TOLD_BY
from onthree.rehearsals.debrief import AWAKE, DUMMY, PEAK, band_said, shown

QUANTITY_WORDS = {
    START_LAG: "start lag of the head behind the body",
    START_LAG_MODELLED: "start lag as an earlier version reckoned it, not to be compared",
    PEAK: "peak from the start, all ways together",
    **{f"range_{plane}_deg": f"range, {plane.replace('_', ' ')}" for plane in PLANE_NAMES},
}
"""The quantities that are told of a technique, in the order in which they are told."""
NOT_RANKED = (
    "Your own runs stand beside what was published and are never pooled with it. They do not change the order of the "
    "options: few runs, by hands that learn, tell techniques apart only where they are compared for it."
)
ON_WHOM_UNKNOWN = "Whether a dummy or a volunteer lay there was not recorded."


@dataclass(frozen=True, kw_only=True)
class OwnRun:
    """One run that counts and in which the technique was done, with what was measured in that phase of it."""

    run: str
    day: date
    stand_in: str | None
    measured: tuple[Measured, ...] = ()

    @property
    def lines(self) -> tuple[tuple[str, str, str, str], ...]:
        """Each number: quantity, value, 95 % band, on what it was measured."""
        order = tuple(QUANTITY_WORDS)
        return tuple(
            (
                QUANTITY_WORDS[one.quantity],
                shown(one.value, one.quantity),
                band_said(one),
                one.measured_as or "on what it was measured is not recorded",
            )
            for one in sorted(self.measured, key=lambda one: order.index(one.quantity))
        )


@dataclass(frozen=True)
class OwnMeasured:
    """The runs that count of one technique, the latest first."""

    technique: str
    runs: tuple[OwnRun, ...]

    @property
    def told(self) -> tuple[str, ...]:
        """How many runs, then each quantity from its smallest to its largest value, and on whom."""
        return tuple(self._told()) if self.runs else ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """What the stand-ins were not."""
        said = {"volunteer": AWAKE, "dummy": DUMMY.replace("This was a dummy", "A dummy"), None: ON_WHOM_UNKNOWN}
        return tuple(said[one] for one in said if any(run.stand_in == one and run.measured for run in self.runs))

    def _told(self) -> Iterator[str]:
        runs = "1 run counts" if len(self.runs) == 1 else f"{len(self.runs)} runs count"
        yield f"{runs}, the last on {self.runs[0].day.isoformat()}"
        for quantity, words in QUANTITY_WORDS.items():
            measured = sorted(self._measured(quantity), key=lambda one: one.value)
            for told_by in dict.fromkeys(map(_told_by, measured)):
                found = [one for one in measured if _told_by(one) == told_by]
                yield f"{words}{told_by and f', {TOLD_BY}{told_by}'}: {_from_to(found)}"
        if not any(run.measured for run in self.runs):
            yield "nothing was measured in it"

    def _measured(self, quantity: str) -> Iterator[Measured]:
        return (one for run in self.runs for one in run.measured if one.quantity == quantity)


def own_measured_of(technique: str, runs: Iterable[OwnRun]) -> OwnMeasured:
    """The runs of a technique in order, the latest first; of one day as they were given."""
    return OwnMeasured(technique, tuple(sorted(runs, key=lambda run: run.day, reverse=True)))


def _told_by(one: Measured) -> str:
    """The size a lag was told by; empty for what is no lag, and where it was not recorded."""
    return one.measured_as.rpartition(TOLD_BY)[2] if TOLD_BY in one.measured_as else ""


def _from_to(found: list[Measured]) -> str:
    least, most = (f"{shown(one.value, one.quantity)} ({band_said(one)})" for one in (found[0], found[-1]))
    if len(found) == 1:
        return f"{least}, measured once"
    return f"from {least} to {most}, measured {len(found)} times"
