"""What can be said of a crew and a load on a device: three ratios to the crew's own limits, and what they mean."""

from dataclasses import dataclass
from math import ceil, isinf, isnan

import numpy as np
from numpy.typing import ArrayLike

from onthree.loads.sharing import (
    NEGLIGIBLE,
    after_one_lets_go_ratios,
    equal_stiffness_ratio,
    least_largest_ratio,
)


@dataclass(frozen=True)
class CrewShare:
    """Force on the most loaded lifter as a ratio to that lifter's limit: at best, with equal arms, and one short.

    Infinite: cannot be held level at all. NaN: something that decides is not known. ``worst_to_lose`` is the hold
    whose lifter is missed most, None where it makes no difference or is not known.
    """

    least_largest_ratio: float
    equal_stiffness_ratio: float
    after_one_lets_go_ratio: float
    worst_to_lose: int | None

    @property
    def is_ruled_out(self) -> bool | None:
        """True: this crew cannot. False: the limits do not rule it out, which does not prove that they can."""
        return None if isnan(self.least_largest_ratio) else self.least_largest_ratio > 1 + NEGLIGIBLE

    @property
    def sentence(self) -> str:
        """The three numbers and their meaning."""
        if self.is_ruled_out is None:
            return "Sharing not known: a limit, the load or its place is missing."
        if isinf(self.least_largest_ratio):
            return "This crew cannot: the centre of mass lies outside the holds that are held."
        best = f"however they share, the most loaded carries {_shown(self.least_largest_ratio)} times the own limit"
        arms = f"with equal arms {_shown(self.equal_stiffness_ratio)}"
        short = self.after_one_lets_go_ratio
        one_short = f"without the one missed most {'it tips' if isinf(short) else _shown(short)}"
        meaning = "This crew cannot" if self.is_ruled_out else "The limits do not rule this out, which is no proof"
        return f"{meaning}: {best}; {arms}; {one_short}. For the load and the limits as given."


def crew_share(holds_m: ArrayLike, limits_n: ArrayLike, weight_n: float, com_m: ArrayLike) -> CrewShare:
    """Of the people at the holds (holds, 2) [m] with their limits (holds) [N], 0 where nobody is, and a load."""
    lift = holds_m, limits_n, weight_n, com_m
    one_short = after_one_lets_go_ratios(*lift)
    differs = not np.isnan(one_short).any() and one_short.max() > one_short.min()
    return CrewShare(
        least_largest_ratio(*lift),
        equal_stiffness_ratio(*lift),
        float(one_short.max()),
        int(one_short.argmax()) if differs else None,
    )


def _shown(ratio: float) -> str:
    """Rounded up, so that a share never reads smaller than it is."""
    return f"{ceil(round(ratio * 100, 6)) / 100:.2f}"
