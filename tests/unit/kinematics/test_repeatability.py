"""Tonight's noise beside a difference."""

import numpy as np
import pytest
from scipy.stats import binom

from onthree.kinematics.repeatability import beside_difference_deg, repeatability

HOLDS = [[0.4, 0.2], [0.6, 0.1]]


def test_figures_of_one_evening() -> None:
    found = repeatability(HOLDS, [[[4.0, 1.0], [6.0, 1.0], [5.0, 1.0]]])

    assert found.holds.tolist() == [0.6, 0.2]
    assert found.within_sd == pytest.approx([1.0, 0.0])
    assert found.freedom.tolist() == [2.0, 2.0]
    assert found.figure[0] == pytest.approx(4.302653 * np.sqrt(2), rel=1e-6)  # Student's t, printed in any table


def test_techniques_are_pooled_within_not_across() -> None:
    found = repeatability(HOLDS, [[[1.0, 1], [3.0, 1]], [[11.0, 1], [13.0, 1]]])

    assert found.within_sd[0] == pytest.approx(np.sqrt(2))
    assert found.freedom[0] == 2


def test_an_unknown_run_is_left_out_and_too_few_leave_the_figure_unknown() -> None:
    found = repeatability(HOLDS, [[[4.0, np.nan], [6.0, np.nan], [5.0, 1.0]]])

    assert found.freedom.tolist() == [2.0, 0.0]
    assert np.isnan(found.figure[1])


def test_two_runs_of_the_same_differ_by_no_more_in_95_of_100() -> None:
    chance = np.random.default_rng(17)
    runs = chance.normal(5, 1, (2000, 5, 1))
    held = sum(abs(float(run[3, 0] - run[4, 0])) <= repeatability([[0.0], [0.0]], [run[:3]]).figure[0] for run in runs)

    assert binom.ppf(0.001, 2000, 0.95) <= held <= binom.ppf(0.999, 2000, 0.95)


@pytest.mark.parametrize(
    ("holds", "repeats", "complaint"),
    [([[0.4]], [[[1.0], [2.0]]], "1 hold given"), ([[0.4], [0.5]], [[[1.0]], [[2.0]]], "no technique was repeated")],
)
def test_too_few_runs_are_refused(holds: list[list[float]], repeats: list[list[list[float]]], complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        repeatability(holds, repeats)


@pytest.mark.parametrize(
    ("difference_deg", "said"),
    [
        (-7.0, "difference 7.0 degrees: more than the 6.1"),
        (2.0, "no more than the 6.1"),
        (np.nan, "nothing can be said"),
    ],
)
def test_what_stands_beside_a_difference(difference_deg: float, said: str) -> None:
    assert said in beside_difference_deg(difference_deg, 6.1)
