"""Breadths of a body predicted from mass and stature, with the interval in which the next person's would lie.

Log-log regressions on a survey of adults, one for each survey table; the numbers stand in
``data/tables/body_size_regressions.csv``. A prediction is of the body without pads, and never replaces a tape.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from onthree.sources import table

Numbers = NDArray[np.float64]
Answers = NDArray[np.bool_]


@dataclass(frozen=True)
class PredictedBreadth:
    """Prediction intervals of one breadth [m], NaN where mass or stature is not known; arrays of shape (n).

    ``is_sparse``: heavier than nearly everyone in the survey; ``is_extrapolated``: outside its range of mass or
    stature, so that the interval is a guess; either is true if it is for one of the survey tables used.
    """

    lower_m: Numbers
    upper_m: Numbers
    is_sparse: Answers
    is_extrapolated: Answers

    @property
    def middle_m(self) -> Numbers:
        """The geometric middle of the interval [m]; for one survey table the predicted median."""
        return np.sqrt(self.lower_m * self.upper_m)


@dataclass(frozen=True)
class Regression:
    """One row of the table: ln(breadth [m]) on ln(mass [kg]) and ln(stature [m]), about the means of the survey."""

    people: int
    mean_ratio: Numbers
    slope_ratio: Numbers
    inverse_ratio: Numbers
    breadth_ratio: float
    residual_sd_ratio: float
    sparse_above_kg: float
    smallest_kg: float
    largest_kg: float
    shortest_m: float
    tallest_m: float


def predicted_breadth(
    breadth: str,
    mass_kg: Numbers,
    stature_m: Numbers,
    survey_table: Sequence[str | None],
    level_prob: float = 0.95,
) -> PredictedBreadth:
    """The prediction interval of a breadth for each person.

    ``breadth``: shoulder (bideltoid), forearm (outside to outside, elbows bent), trunk (chest at nipple height),
    waist, hip (standing), depth (chest, back to front); mass [kg] and stature [m] of shape (n), NaN where not known;
    ``survey_table``: male or female; None takes the union of both intervals. ``level_prob``: two-sided, for one
    further person.

    Raises KeyError for a breadth or survey table that is not in the data.
    Source: gordon-2014, raw public files; interval of a further observation in least squares, textbook.
    """
    surveys = {row["survey"] for row in table("body_size_regressions")} | {one for one in survey_table if one}
    intervals = [
        (
            np.array([one in (None, survey) for one in survey_table], dtype=bool),
            _interval(regression(survey, breadth), mass_kg, stature_m, level_prob),
        )
        for survey in surveys
    ]
    return PredictedBreadth(
        np.min([np.where(is_used, one.lower_m, np.inf) for is_used, one in intervals], axis=0),
        np.max([np.where(is_used, one.upper_m, -np.inf) for is_used, one in intervals], axis=0),
        np.any([is_used & one.is_sparse for is_used, one in intervals], axis=0),
        np.any([is_used & one.is_extrapolated for is_used, one in intervals], axis=0),
    )


def _interval(fit: Regression, mass_kg: Numbers, stature_m: Numbers, level_prob: float) -> PredictedBreadth:
    """exp(predicted mean -/+ t residual_sd sqrt(1 + 1/n + d' S^-1 d)), d from the means, S centred sums of squares."""
    from_mean = np.log(np.stack([mass_kg, stature_m], axis=-1)) - fit.mean_ratio
    middle = fit.breadth_ratio + from_mean @ fit.slope_ratio
    leverage = 1 / fit.people + np.einsum("ni,ij,nj->n", from_mean, fit.inverse_ratio, from_mean)
    half = stdtrit(fit.people - 3, (1 + level_prob) / 2) * fit.residual_sd_ratio * np.sqrt(1 + leverage)
    return PredictedBreadth(
        np.exp(middle - half),
        np.exp(middle + half),
        mass_kg > fit.sparse_above_kg,
        (mass_kg < fit.smallest_kg)
        | (mass_kg > fit.largest_kg)
        | (stature_m < fit.shortest_m)
        | (stature_m > fit.tallest_m),
    )


@cache
def regression(survey: str, breadth: str) -> Regression:
    """The regression of a breadth in a survey table. Raises KeyError with both where there is none."""
    for row in table("body_size_regressions"):
        if (row["survey"], row["breadth"]) == (survey, breadth):
            return _read(row)
    raise KeyError(f"no regression of {breadth!r} in the survey table {survey!r}")


def _read(row: Mapping[str, str]) -> Regression:
    number = {name: float(text) for name, text in row.items() if name not in ("survey", "breadth", "source", "where")}
    both = number["inv_both"]
    return Regression(
        people=int(row["n"]),
        mean_ratio=np.array([number["mean_ln_mass"], number["mean_ln_stature"]]),
        slope_ratio=np.array([number["mass_slope"], number["stature_slope"]]),
        inverse_ratio=np.array([[number["inv_mass"], both], [both, number["inv_stature"]]]),
        breadth_ratio=number["mean_ln_breadth"],
        residual_sd_ratio=number["residual_sd"],
        sparse_above_kg=number["sparse_above_kg"],
        smallest_kg=number["smallest_kg"],
        largest_kg=number["largest_kg"],
        shortest_m=number["shortest_m"],
        tallest_m=number["tallest_m"],
    )
