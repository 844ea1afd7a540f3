"""Tonight's noise: how far two runs of the same technique differ anyway, to be read beside every difference.

Two holds in which nobody does anything show what the measuring alone adds; three runs of one technique also show what
the same people do differently each time. With so few, the figure is wide on purpose.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t

from onthree.kinematics.segment_motion import FloatArray

_BAND_PROB = 0.95


@dataclass(frozen=True, eq=False)
class Repeatability:
    """Figures of m measures (m): NaN where fewer than two runs know the measure.

    ``holds`` is the largest value while nobody did anything; ``within_sd`` the standard deviation of repeats within a
    technique, on ``freedom`` degrees of freedom; ``figure`` what two single runs differ by at most, in 95 of 100 cases,
    if nothing but chance differs.
    """

    holds: FloatArray
    within_sd: FloatArray
    freedom: FloatArray
    figure: FloatArray


def repeatability(holds: ArrayLike, repeats: Sequence[ArrayLike]) -> Repeatability:
    """The figures from holds (runs, m) and repeats, one array (runs, m) for each technique that was repeated.

    The figure is t sqrt(2) sd, with Student's t for the few runs there are; with ever more runs it becomes 2.77 sd
    (Bland and Altman 1996). Raises ValueError with fewer than two holds, or no technique with two runs.
    """
    held = np.atleast_2d(np.asarray(holds, dtype=float))
    groups = [np.atleast_2d(np.asarray(group, dtype=float)) for group in repeats]
    if len(held) < 2:
        raise ValueError(f"{len(held)} hold given, at least two expected: hold the head, move nothing, film it twice")
    if not any(len(group) >= 2 for group in groups):
        raise ValueError("no technique was repeated: at least two runs, better three, of one technique expected")
    squares = sum(np.nansum((group - _mean(group)) ** 2, axis=0) for group in groups)
    freedom = sum(np.maximum((~np.isnan(group)).sum(axis=0) - 1, 0) for group in groups)
    is_known = np.asarray(freedom) > 0
    known_freedom = np.where(is_known, freedom, 1)
    within_sd = np.where(is_known, np.sqrt(np.asarray(squares) / known_freedom), np.nan)
    figure = t.ppf((1 + _BAND_PROB) / 2, known_freedom) * np.sqrt(2) * within_sd
    return Repeatability(held.max(axis=0), within_sd, np.asarray(freedom, dtype=float), figure)


def beside_difference_deg(difference_deg: float, figure_deg: float) -> str:
    """What stands beside a difference between two single runs: never that there is none."""
    if np.isnan(difference_deg) or np.isnan(figure_deg):
        return "difference or repeatability unknown: nothing can be said"
    read = "more than" if abs(difference_deg) > figure_deg else "no more than"
    return (
        f"difference {abs(difference_deg):.1f} degrees: {read} the {figure_deg:.1f} degrees by which two runs of the "
        "same technique differ anyway, 95 times in 100"
    )


def _mean(group: FloatArray) -> FloatArray:
    known = ~np.isnan(group)
    total = np.where(known, group, 0.0).sum(axis=0)
    mean: FloatArray = np.divide(total, known.sum(axis=0), out=np.full(total.shape, np.nan), where=known.any(axis=0))
    return mean
