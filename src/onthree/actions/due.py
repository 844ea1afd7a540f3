"""What is due in the coming weeks over the whole programme: inspections, check-offs, reviews, rehearsals."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from onthree.readiness.due import MEASURED_KINDS, Due, DueKind, by_urgency
from onthree.sources import parameter

WITHIN_DAYS = 30
"""How far ahead home looks."""

INTERVALS = (
    "rehearsal_interval_days",
    "details_verified_days",
    "backup_test_days",
    "hospital_agreement_days",
    "check_off_interval_days",
    "inspection_interval_days",
)


@dataclass(frozen=True)
class DueOfKind:
    """What of one kind is due, the most urgent first; what was never recorded stands apart."""

    kind: DueKind
    dated: tuple[Due, ...]
    never_recorded: tuple[Due, ...]

    @property
    def is_measured(self) -> bool:
        """Whether a rehearsal settles it."""
        return self.kind in MEASURED_KINDS


def due_on(on: date, organisation_code: str | None = None) -> tuple[DueOfKind, ...]:
    """What is due on a day or within ``WITHIN_DAYS`` after it, by kind; kinds with nothing due are left out."""
    from onthree.store.calendar import find_organisation
    from onthree.store.due import load_due

    found = find_organisation(organisation_code)
    if found is None:
        return ()
    listed = load_due(found[0], on, WITHIN_DAYS, {name: parameter(name, on).value for name in INTERVALS})
    order = list(DueKind)
    of_kind = groupby(sorted(by_urgency(listed), key=lambda one: order.index(one.kind)), key=lambda one: one.kind)
    return tuple(_split(kind, tuple(each)) for kind, each in of_kind)


def _split(kind: DueKind, listed: tuple[Due, ...]) -> DueOfKind:
    dated = tuple(one for one in listed if one.due)
    return DueOfKind(kind, dated, tuple(one for one in listed if not one.due))
