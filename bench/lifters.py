"""How long sharing a lift takes for a whole roster, as ratios to a reference timed in the same run.

Reference: one linear program for every athlete, device and group with HiGHS through ``scipy.optimize.linprog``,
timed on a sample and scaled to all of them. Prints milliseconds beside each ratio; the milliseconds are of this
machine, the ratios travel.
"""

import statistics
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from onthree.loads.lifter_order import lifter_orders
from onthree.loads.sharing import least_largest_ratios

Numbers = NDArray[np.float64]

ATHLETES, DEVICES, GROUPS, HOLDS = 100, 10, 50, 6
SAMPLE = 200
RUNS = 15
GOAL_MS = 20.0
"""Every athlete on every device with every group is to be there in less."""


def main() -> None:
    """Time and print."""
    chance = np.random.default_rng(6)
    x_m = np.sort(chance.uniform(0.1, 1.8, (DEVICES, HOLDS // 2)), axis=1).repeat(2, axis=1)
    holds_m = np.stack([x_m, np.tile([-0.22, 0.22], (DEVICES, HOLDS // 2))], axis=2)
    limits_n = chance.uniform(130, 350, (GROUPS, HOLDS))
    weight_n = chance.uniform(700, 1700, (ATHLETES, DEVICES))
    com_m = np.stack([chance.uniform(0.7, 1.1, weight_n.shape), chance.uniform(-0.05, 0.05, weight_n.shape)], axis=2)
    problems = ATHLETES * DEVICES * GROUPS
    ratios = least_largest_ratios(holds_m, limits_n, weight_n, com_m)

    picked = [tuple(chance.integers(ratios.shape)) for _ in range(SAMPLE)]
    started = time.perf_counter()
    by_program = [by_highs(holds_m[d], limits_n[g], weight_n[a, d], com_m[a, d]) for a, d, g in picked]
    reference_ms = (time.perf_counter() - started) * 1000 / SAMPLE * problems
    same = np.isclose([ratios[one] for one in picked], by_program).all()

    call_ms = timed_ms(lambda: least_largest_ratios(holds_m, limits_n, weight_n, com_m))
    grid_m = np.column_stack([np.repeat([0.2, 0.7, 1.2, 1.65], 2), np.tile([-0.22, 0.22], 4)])
    people_n = chance.uniform(150, 300, 8)
    order_ms = timed_ms(lambda: lifter_orders(grid_m, people_n, 1440, (0.864, 0.0)))

    print(f"{problems} problems: {ATHLETES} athletes, {DEVICES} devices, {GROUPS} groups at {HOLDS} holds")
    print(f"the sample of {SAMPLE} linear programs {'agrees' if same else 'DOES NOT AGREE'} with the one call")
    row(f"reference: one program each ({SAMPLE} timed, scaled)", reference_ms, reference_ms)
    row("all of them in one call", call_ms, reference_ms)
    row("reference: one program for each of 40320 orders", reference_ms / problems * 40_320, reference_ms)
    row("every order of eight people at eight holds", order_ms, reference_ms)
    print(
        f"the one call is {reference_ms / call_ms:.0f} times as fast; {call_ms / GOAL_MS:.3f} of the {GOAL_MS:.0f} ms"
    )


def timed_ms(call: Callable[[], object]) -> float:
    """Median time of a call over several runs [ms]."""
    times_ms = []
    for _ in range(RUNS):
        started = time.perf_counter()
        call()
        times_ms.append((time.perf_counter() - started) * 1000)
    return statistics.median(times_ms)


def row(name: str, took_ms: float, reference_ms: float) -> None:
    """Print one line: what, how long, ratio to the reference."""
    print(f"  {name:<50} {took_ms:11.2f} ms   {took_ms / reference_ms:10.6f} x reference")


def by_highs(holds_m: Numbers, limits_n: Numbers, weight_n: float, com_m: Numbers) -> float:
    """The least largest ratio of one problem as a linear program; infinite where it has no solution."""
    count = len(holds_m)
    result = linprog(
        np.append(np.zeros(count), 1),
        A_ub=np.column_stack([np.eye(count), -limits_n]),
        b_ub=np.zeros(count),
        A_eq=np.column_stack([np.vstack([np.ones(count), holds_m.T]), np.zeros(3)]),
        b_eq=weight_n * np.append(1, com_m),
        method="highs",
    )
    return float(result.fun) if result.status == 0 else float("inf")


if __name__ == "__main__":
    main()
