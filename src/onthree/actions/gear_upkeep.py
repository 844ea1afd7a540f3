"""The upkeep of one item: what was done, what is due, and an entry of one tap, kept once however often it is sent."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from onthree.actions.records import NotFoundError, record_as_saved, save_one
from onthree.programme.records import Gear, Upkeep
from onthree.sources import parameter
from onthree.workbook.values import is_code

_MOST = 10_000


@dataclass(frozen=True)
class UpkeepState:
    """The log of an item, the latest first, and what is said about it; ``is_due`` marks what has to be done."""

    log: tuple[Upkeep, ...]
    lines: tuple[tuple[str, bool], ...]


def upkeep_state(code: str, on: date, organisation_code: str | None = None) -> UpkeepState:
    """The upkeep of an item as it stands on a day. Raises NotFoundError."""
    from onthree.store.listing import list_records

    gear = record_as_saved(Gear, code, organisation_code).record
    assert isinstance(gear, Gear)
    found = list_records(
        Upkeep, where={"gear": code}, order=("-day",), most=_MOST, organisation_code=organisation_code
    ).records
    log = tuple(entry for entry in found if isinstance(entry, Upkeep))
    by_then = [entry for entry in log if entry.day <= on]
    return UpkeepState(log, (_inspection(gear, by_then, on), *_lubrication(gear, by_then, on), *_cleaning(by_then)))


def add_upkeep(
    gear: str, done: str, day: date, by: str, key: str, note: str = "", organisation_code: str | None = None
) -> Upkeep:
    """Add an entry to the log of an item; the same key again adds nothing.

    Raises NotFoundError for an item that is not there, FieldsError, ValueError for a key that cannot be a code.
    """
    from onthree.store.connection import one_saving

    code = f"U-{key}"
    if not key or not is_code(code):
        raise ValueError(f"key {key!r} given, letters and digits expected: open the page of the item again")
    with one_saving():
        record_as_saved(Gear, gear, organisation_code)
        try:
            made = record_as_saved(Upkeep, code, organisation_code).record
        except NotFoundError:
            typed = {"code": code, "gear": gear, "day": day.isoformat(), "done": done, "by": by, "note": note}
            made = save_one(Upkeep, typed, "", day, by, organisation_code)
    assert isinstance(made, Upkeep)
    return made


def _last(log: Sequence[Upkeep], done: str) -> date | None:
    return max((entry.day for entry in log if entry.done == done), default=None)


def _inspection(gear: Gear, log: Sequence[Upkeep], on: date) -> tuple[str, bool]:
    every_days = gear.inspect_every_days or parameter("inspection_interval_days", on).value
    basis = "the maker's manual" if gear.inspect_every_days else "common practice, no source"
    last = max((day for day in (gear.inspected_on, _last(log, "inspected")) if day and day <= on), default=None)
    if last is None:
        return "No inspection is recorded: not known.", True
    due = last + timedelta(days=every_days)
    when = f"{(on - due).days} days past its inspection" if due < on else f"Next inspection by {due.isoformat()}"
    return f"{when} (last {last.isoformat()}, every {every_days} days: {basis}).", due < on


def _lubrication(gear: Gear, log: Sequence[Upkeep], on: date) -> list[tuple[str, bool]]:
    if not gear.lubricate_every_days:
        return []
    last = _last(log, "lubricated")
    if last is None:
        return [("The maker asks for lubrication, and none is recorded.", True)]
    due = last + timedelta(days=gear.lubricate_every_days)
    return [(f"Lubricate by {due.isoformat()} (last {last.isoformat()}).", due < on)]


def _cleaning(log: Sequence[Upkeep]) -> list[tuple[str, bool]]:
    used, cleaned = _last(log, "used"), _last(log, "cleaned")
    if used is None or (cleaned is not None and cleaned >= used):
        return []
    return [(f"Used on {used.isoformat()} and not cleaned since.", True)]


@dataclass(frozen=True)
class InspectionDue:
    """When an item is to be inspected next, in words; ``urgency`` puts what is past before what nobody recorded."""

    words: str
    urgency: tuple[int, int]


def inspections_due(on: date, organisation_code: str | None = None) -> dict[str, InspectionDue]:
    """The next inspection of every item that is not out of service, by its code. Raises LookupError."""
    from onthree.store import due
    from onthree.store.listing import owner_of

    owner_id = owner_of(organisation_code)
    usual_days = parameter("inspection_interval_days", on).value
    listed = due.inspections_due(owner_id, usual_days) if owner_id else ()
    return {code: _inspection_due(day, on) for code, _, day in listed}


def _inspection_due(due: date | None, on: date) -> InspectionDue:
    if due is None:
        return InspectionDue("never recorded: not known", (1, 0))
    left_days = (due - on).days
    if left_days < 0:
        return InspectionDue(f"overdue by {_days(-left_days)}, since {due.isoformat()}", (0, left_days))
    when = f"{_days(left_days)} left" if left_days else "due today"
    return InspectionDue(f"{when}, by {due.isoformat()}", (2, left_days))


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"
