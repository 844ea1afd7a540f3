"""What falls due over the whole programme: one line for each thing that was done and counts for a while."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class DueKind(StrEnum):
    """What has to be done again."""

    REHEARSAL = "rehearsal"
    CHECK_OFF = "check-off"
    INSPECTION = "inspection"
    REVIEW = "review"
    QUALIFICATION = "qualification"
    AGREEMENT = "agreement"
    ORDER = "medical order"
    GAP = "known gap"


MEASURED_KINDS = (DueKind.REHEARSAL, DueKind.CHECK_OFF)
"""Kinds that a rehearsal evening settles; the others are settled at the desk."""


@dataclass(frozen=True)
class Due:
    """Something due: its kind, code of the record, what it is, the day it is due, the sheet on which the record stands.

    The day is None where it was never recorded.
    """

    kind: DueKind
    code: str
    what: str
    due: date | None
    sheet: str = ""

    def late_days(self, on: date) -> int:
        """Days past the due day [days]; 0 and less: not late yet, or never recorded."""
        return (on - self.due).days if self.due else 0


def by_urgency(listed: tuple[Due, ...]) -> tuple[Due, ...]:
    """What is latest first, then what comes soonest, at the end what was never recorded."""
    return tuple(sorted(listed, key=lambda one: (one.due is None, one.due or date.max, one.kind, one.code)))
