"""The kinds of things that pages and programs send, what each needs and does. A new kind adds its line to ``KINDS``."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from onthree.actions import visitors
from onthree.actions.arrived import Arrived
from onthree.actions.gear_check import KIND as GEAR_CHECK
from onthree.actions.gear_check import take_gear_check
from onthree.actions.run_taps import take_run_start, take_run_tap
from onthree.actions.tell import take_told
from onthree.actions.time_out import KIND as TIME_OUT
from onthree.actions.time_out import take_time_out
from onthree.programme.roles import Right

Take = Callable[[Arrived], Mapping[str, Any]]
"""Does what is asked and says what came of it, as plain data. Raises ValueError or LookupError, and then did nothing.
It runs inside the transaction that keeps what arrived."""


@dataclass(frozen=True)
class OutboxKind:
    """One kind: the right that its sender needs, and what is done."""

    right: Right
    take: Take


KINDS: Mapping[str, OutboxKind] = MappingProxyType(
    {
        "told": OutboxKind(Right.ANSWER, take_told),
        TIME_OUT: OutboxKind(Right.ANSWER, take_time_out),
        GEAR_CHECK: OutboxKind(Right.RECORD, take_gear_check),
        "run-start": OutboxKind(Right.RECORD, take_run_start),
        "run-tap": OutboxKind(Right.RECORD, take_run_tap),
        visitors.KIND: OutboxKind(Right.ANSWER, visitors.take_visitor_answer),
    }
)
"""Name of a kind to what it is."""
