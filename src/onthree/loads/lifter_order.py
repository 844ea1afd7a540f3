"""Who should stand where: every order of the people at the hand holds, by the least largest ratio."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from onthree.loads.sharing import NEGLIGIBLE, least_largest_ratios

MOST_PEOPLE = 8


@dataclass(frozen=True)
class LifterOrder:
    """The lifter at each hold, by number in the given order, None where nobody is; and the least largest ratio."""

    lifters: tuple[int | None, ...]
    ratio: float


@dataclass(frozen=True)
class LifterOrders:
    """The order as given, a best one and a worst one; the given one where none is better."""

    given: LifterOrder
    best: LifterOrder
    worst: LifterOrder


def lifter_orders(holds_m: ArrayLike, limits_n: ArrayLike, weight_n: float, com_m: ArrayLike) -> LifterOrders:
    """Every order of at most eight people at (holds, 2) [m]; ``limits_n`` (people) [N], the load at ``com_m`` (2).

    The given order puts the first person at the first hold. With fewer people than holds some holds stay free, with
    more some people stay out. Equal people are not told apart. With a limit that is NaN every ratio is NaN.
    Raises ValueError for more than eight people or holds.
    """
    limits_n, hold_count = np.asarray(limits_n, dtype=float), len(np.asarray(holds_m))
    if max(len(limits_n), hold_count) > MOST_PEOPLE:
        raise ValueError(f"{len(limits_n)} people and {hold_count} holds given, at most {MOST_PEOPLE} of each expected")
    standing_n = np.append(limits_n, np.zeros(max(hold_count - len(limits_n), 0)))
    kinds_n, kind_of = np.unique(standing_n, return_inverse=True)
    orders = np.vstack([kind_of[:hold_count], _arrangements(np.bincount(kind_of), hold_count)])
    place_m = np.asarray(com_m, dtype=float)[None, None]
    ratios = least_largest_ratios(np.asarray(holds_m)[None], kinds_n[orders], [[weight_n]], place_m)[0, 0]

    given = _named(orders[0], ratios[0], kind_of, len(limits_n))
    best, worst = int(ratios.argmin()), int(ratios.argmax())
    is_settled = np.isnan(ratios).any() or given.ratio <= ratios[best] * (1 + NEGLIGIBLE)
    return LifterOrders(
        given,
        best=given if is_settled else _named(orders[best], ratios[best], kind_of, len(limits_n)),
        worst=_named(orders[worst], ratios[worst], kind_of, len(limits_n)),
    )


def _arrangements(counts: NDArray[np.int64], length: int) -> NDArray[np.int64]:
    """Every distinct row of this length out of so many of each kind (rows, length)."""
    rows = np.zeros((1, 0), dtype=np.int64)
    left = counts[None]
    for _ in range(length):
        extended, kinds = np.nonzero(left)
        rows = np.column_stack([rows[extended], kinds])
        left = left[extended] - np.eye(len(counts), dtype=np.int64)[kinds]
    return rows


def _named(order: NDArray[np.int64], ratio: float, kind_of: NDArray[np.int64], people: int) -> LifterOrder:
    """Kinds as people: of equal people the first one named stands at the first hold."""
    waiting = {int(kind): list(np.flatnonzero(kind_of == kind)) for kind in set(kind_of.tolist())}
    lifters = (int(waiting[int(kind)].pop(0)) for kind in order)
    return LifterOrder(tuple(lifter if lifter < people else None for lifter in lifters), float(ratio))
