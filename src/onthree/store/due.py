"""Reads what falls due from the tables, in a fixed number of queries, without loading the programme."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Max, Q

from onthree.programme.records import SHEETS
from onthree.readiness.due import Due, DueKind
from onthree.store import models
from onthree.store.connection import one_moment
from onthree.store.rows import TABLE_OF

_SHEET_OF = {TABLE_OF[kind]: sheet for sheet, kind in SHEETS.items()}


@dataclass(frozen=True)
class Lapsing:
    """A column with the day on which something was last done; ``interval`` is the parameter saying how long it counts.

    Without an interval the column holds the last day on which something holds, and blank is no end.
    """

    kind: DueKind
    table: Any
    column: str
    name: str
    says: str
    interval: str = ""


LAPSING: tuple[Lapsing, ...] = (
    Lapsing(
        DueKind.REVIEW, models.Venue, "details_verified_on", "name", "check the details of {}", "details_verified_days"
    ),
    Lapsing(
        DueKind.REVIEW, models.Venue, "backup_tested_on", "name", "try the second way to call at {}", "backup_test_days"
    ),
    Lapsing(DueKind.REVIEW, models.Hospital, "agreed_on", "name", "settle again with {}", "hospital_agreement_days"),
    Lapsing(
        DueKind.QUALIFICATION, models.Qualification, "expires_on", "responder__name", "renew a qualification of {}"
    ),
    Lapsing(DueKind.AGREEMENT, models.PreAgreement, "valid_until", "agency__name", "settle again with {}"),
    Lapsing(DueKind.ORDER, models.MedicalOrder, "until", "about", "sign again: {}"),
    Lapsing(DueKind.GAP, models.KnownGap, "until", "rule", "the signed gap ends: {}"),
)

ENDED_DAYS = 60
"""What ended longer ago than this was let go, or something else took its place."""


def load_due(organisation_id: int, on: date, within_days: int, interval_days: Mapping[str, int]) -> tuple[Due, ...]:
    """What is due by ``within_days`` after a day; ``interval_days`` says how long each thing counts, by parameter."""
    until = on + timedelta(days=within_days)
    with one_moment():
        return (
            *_rehearsals(organisation_id, on, until, interval_days["rehearsal_interval_days"]),
            *(due for lapsing in LAPSING for due in _lapsing(lapsing, organisation_id, on, until, interval_days)),
            *_check_offs(organisation_id, until, interval_days["check_off_interval_days"]),
            *_inspections(organisation_id, until, interval_days["inspection_interval_days"]),
        )


def _lapsing(
    lapsing: Lapsing, organisation_id: int, on: date, until: date, interval_days: Mapping[str, int]
) -> Iterator[Due]:
    name = lapsing.column
    counts = timedelta(days=interval_days[lapsing.interval]) if lapsing.interval else timedelta()
    is_due = Q(**{f"{name}__lte": until - counts})
    if lapsing.interval:
        is_due |= Q(**{f"{name}__isnull": True})
    else:
        is_due &= Q(**{f"{name}__gte": on - timedelta(days=ENDED_DAYS)})
    rows = lapsing.table.objects.filter(is_due, organisation_id=organisation_id).order_by("id")
    for code, called, done in rows.values_list("code", lapsing.name, name):
        due = done and done + counts
        yield Due(lapsing.kind, code, lapsing.says.format(called), due, _SHEET_OF[lapsing.table])


def _rehearsals(organisation_id: int, on: date, until: date, counts_days: int) -> Iterator[Due]:
    """Agencies and shifts by the day recorded or their last run; a run counts for its shift and that one's agency."""
    runs = models.Run.objects.filter(organisation_id=organisation_id, set_aside="", day__lte=on).exclude(is_hold=True)
    lasts = runs.order_by().values_list("agency_id", "shift_id", "shift__agency_id").annotate(last=Max("day"))
    in_run: dict[tuple[Any, int], date] = {}
    for agency_id, shift_id, agency_of_shift_id, last in lasts:
        crews = ((models.Agency, agency_id), (models.Agency, agency_of_shift_id), (models.Shift, shift_id))
        for crew in crews:
            in_run[crew] = max(in_run.get(crew, last), last)
    for table in (models.Agency, models.Shift):
        crews_there = table.objects.filter(organisation_id=organisation_id).order_by("id")
        for row_id, code, name, recorded in crews_there.values_list("id", "code", "name", "rehearsed_on"):
            done = max((day for day in (recorded, in_run.get((table, row_id))) if day), default=None)
            due = done and done + timedelta(days=counts_days)
            if due is None or due <= until:
                yield Due(DueKind.REHEARSAL, code, f"rehearse with {name}", due, _SHEET_OF[table])


def _check_offs(organisation_id: int, until: date, counts_days: int) -> Iterator[Due]:
    """Per responder the skill whose last check-off is oldest, and how many are due."""
    counts = timedelta(days=counts_days)
    rows = (
        models.CheckOff.objects.filter(organisation_id=organisation_id)
        .values("responder__code", "responder__name", "skill")
        .annotate(last=Max("done_on"))
        .filter(last__lte=until - counts)
        .order_by("responder__code", "last", "skill")
    )
    skills: dict[tuple[str, str], list[tuple[str, date]]] = {}
    for row in rows:
        skills.setdefault((row["responder__code"], row["responder__name"]), []).append((row["skill"], row["last"]))
    for (code, name), listed in skills.items():
        named = ", ".join(skill for skill, _ in listed)
        due = listed[0][1] + counts
        yield Due(DueKind.CHECK_OFF, code, f"check off {name}: {named}", due, _SHEET_OF[models.Responder])


def _inspections(organisation_id: int, until: date, usual_days: int) -> Iterator[Due]:
    """Gear that is not out of service; the maker's interval where it is recorded."""
    for code, name, due in inspections_due(organisation_id, usual_days):
        if due is None or due <= until:
            yield Due(DueKind.INSPECTION, code, f"inspect the {name} ({code})", due, _SHEET_OF[models.Gear])


def inspections_due(organisation_id: int, usual_days: int) -> Iterator[tuple[str, str, date | None]]:
    """Code and name of each item that is not out of service, and the day of its next inspection; None: not known."""
    rows = (
        models.Gear.objects.filter(organisation_id=organisation_id)
        .exclude(in_service=False)
        .order_by("id")
        .values_list("id", "code", "name", "inspected_on", "inspect_every_days")
    )
    logged = dict(
        models.Upkeep.objects.filter(organisation_id=organisation_id, done="inspected")
        .values_list("gear_id")
        .annotate(last=Max("day"))
        .order_by()
    )
    for gear_id, code, name, inspected_on, every_days in rows:
        last = max((day for day in (inspected_on, logged.get(gear_id)) if day), default=None)
        yield code, name, last and last + timedelta(days=every_days or usual_days)
