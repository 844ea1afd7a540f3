"""Sharing a load against other solvers: the linear program by HiGHS and the least squares by SLSQP, both through scipy.

``scipy.optimize.linprog(method="highs")`` minimises t with f_k <= t L_k and A f = b; ``scipy.optimize.minimize`` with
SLSQP minimises the sum of squared forces under the same balance. Run here, seeded, with the installed scipy.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog, minimize

from onthree.loads.sharing import after_one_lets_go_ratios, equal_stiffness_forces_n, least_largest_ratio

Numbers = NDArray[np.float64]
CASES = 60
LARGEST_DIFFERENCE_RATIO = 1e-8


def by_highs(holds_m: Numbers, limits_n: Numbers, weight_n: float, com_m: Numbers) -> float:
    """The least largest ratio as a linear program; infinite where it has no solution."""
    count = len(holds_m)
    balance = np.column_stack([np.vstack([np.ones(count), holds_m.T]), np.zeros(3)])
    result = linprog(
        np.append(np.zeros(count), 1),
        A_ub=np.column_stack([np.eye(count), -limits_n]),
        b_ub=np.zeros(count),
        A_eq=balance,
        b_eq=weight_n * np.append(1, com_m),
        method="highs",
    )
    assert result.status in (0, 2), result.message
    return float(result.fun) if result.status == 0 else float("inf")


def random_lift(count: int, chance: np.random.Generator, on_a_line: bool) -> tuple[Numbers, Numbers, float, Numbers]:
    holds_m = chance.uniform((0, -0.3), (2, 0.3), (count, 2))
    if on_a_line:
        holds_m[:, 1] = 0.25 * holds_m[:, 0] - 0.1
    inside_m = chance.dirichlet(np.ones(count)) @ holds_m
    com_m = inside_m if on_a_line or chance.random() < 0.8 else chance.uniform((0, -0.3), (2, 0.3))
    limits_n = chance.uniform(80, 400, count) * (chance.random(count) < 0.95)
    return holds_m, limits_n, chance.uniform(400, 2200), com_m


@pytest.mark.parametrize("on_a_line", [False, True])
@pytest.mark.parametrize("count", range(3, 9))
def test_least_largest_ratio_is_that_of_the_linear_program(count: int, on_a_line: bool) -> None:
    chance = np.random.default_rng(count)
    for _ in range(CASES):
        lift = random_lift(count, chance, on_a_line)

        assert least_largest_ratio(*lift) == pytest.approx(by_highs(*lift), rel=LARGEST_DIFFERENCE_RATIO)


@pytest.mark.parametrize("count", [4, 6, 8])
def test_after_one_lets_go_is_the_linear_program_of_the_others(count: int) -> None:
    chance = np.random.default_rng(count)
    for _ in range(10):
        holds_m, limits_n, weight_n, com_m = random_lift(count, chance, on_a_line=False)
        left = [by_highs(np.delete(holds_m, k, axis=0), np.delete(limits_n, k), weight_n, com_m) for k in range(count)]

        assert after_one_lets_go_ratios(holds_m, limits_n, weight_n, com_m) == pytest.approx(left, rel=1e-8)


@pytest.mark.parametrize("count", range(4, 9))
def test_equal_stiffness_is_the_least_sum_of_squares(count: int) -> None:
    chance = np.random.default_rng(count)
    pushed = 0
    for _ in range(15):
        holds_m = chance.uniform((0, -0.3), (2, 0.3), (count, 2))
        shares = chance.dirichlet(np.full(count, 0.4))
        balance = np.vstack([np.ones(count), holds_m.T])
        wanted = np.append(1, shares @ holds_m)
        other = minimize(
            lambda share: share @ share,
            shares,
            jac=lambda share: 2 * share,
            bounds=[(0, 1)] * count,
            constraints={"type": "eq", "fun": lambda share, a=balance, b=wanted: a @ share - b},
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 500},
        )
        pushed += bool((np.linalg.pinv(balance) @ wanted).min() < 0)

        assert equal_stiffness_forces_n(holds_m, 1, shares @ holds_m) == pytest.approx(other.x, abs=2e-5)
    assert pushed, "springs that push occur among the cases"
