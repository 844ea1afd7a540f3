"""Tonight's noise, from the records of an evening, and what it says beside a difference between two runs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from onthree.kinematics.repeatability import Repeatability, repeatability
from onthree.programme.fields import Number
from onthree.programme.programme import Programme
from onthree.programme.records import Measured, Run
from onthree.rehearsals.recorded import RecordedRun, counting_runs_of_evening, recorded_run

FEWEST_HOLDS, FEWEST_REPEATS = 2, 2


@dataclass(frozen=True, eq=False)
class Tonight:
    """The runs of an evening that count, and how far two runs of one technique differ anyway, by quantity.

    ``why_none`` says what is missing where there is no figure.
    """

    runs: tuple[RecordedRun, ...]
    figure: Mapping[str, Number]
    held: Mapping[str, Number]
    why_none: str

    def before(self, run: RecordedRun, technique: str, quantity: str) -> tuple[RecordedRun, Measured] | None:
        """The last run before this one in which the quantity was measured in the same technique."""
        found: tuple[RecordedRun, Measured] | None = None
        for other in self.runs:
            if other.run.code == run.run.code:
                break
            for one in _measured_in(other, technique, quantity):
                found = other, one
        return found


def tonight(programme: Programme, run: Run) -> Tonight:
    """The evening of a run: its holds and repeats, and the figures they give."""
    of_evening = tuple(recorded_run(programme, one.code) for one in counting_runs_of_evening(programme, run))
    holds = [each for each in of_evening if each.run.is_hold and each.measured]
    quantities = sorted({one.quantity for each in of_evening for one in each.measured})
    groups = list(_repeats(of_evening, quantities))
    if not quantities:
        return Tonight(of_evening, {}, {}, "nothing was measured tonight")
    if len(holds) < FEWEST_HOLDS or not groups:
        why = f"{len(holds)} do-nothing holds and {len(groups)} techniques repeated: film two holds and three repeats"
        return Tonight(of_evening, {}, {}, why)
    found = repeatability([[_whole(each, quantity) for quantity in quantities] for each in holds], groups)
    return Tonight(of_evening, _known(quantities, found, "figure"), _known(quantities, found, "holds"), "")


def beside(difference: str, is_more: bool | None, figure: str) -> str:
    """What stands beside a difference between two single runs: never that there is none."""
    if is_more is None:
        return f"{difference}; how far two runs differ anyway is not known tonight"
    read = "more than" if is_more else "no more than"
    return f"{difference}: {read} the {figure} by which two runs of one technique differ anyway, 95 times in 100"


def _known(quantities: Sequence[str], found: Repeatability, name: str) -> Mapping[str, Number]:
    values = zip(quantities, getattr(found, name), strict=True)
    return {quantity: float(value) for quantity, value in values if not np.isnan(value)}


def _repeats(of_evening: Sequence[RecordedRun], quantities: Sequence[str]) -> Iterator[list[list[Number]]]:
    """For each technique done in several runs its values, a row for each time (runs, quantities)."""
    techniques = dict.fromkeys(phase.technique for each in of_evening for phase in each.phases)
    for technique in techniques:
        rows = [
            [next((one.value for one in _measured_in(each, technique, name)), np.nan) for name in quantities]
            for each in of_evening
            if not each.run.is_hold
        ]
        rows = [row for row in rows if not np.isnan(row).all()]
        if len(rows) >= FEWEST_REPEATS:
            yield rows


def _measured_in(run: RecordedRun, technique: str, quantity: str) -> Iterator[Measured]:
    for phase in run.phases:
        if phase.technique == technique and (one := run.measured_in(phase, quantity)):
            yield one


def _whole(run: RecordedRun, quantity: str) -> Number:
    one = run.measured_in(None, quantity)
    return one.value if one else np.nan
