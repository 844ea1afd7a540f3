"""Rules about size: who certainly does not fit on a carrying device there, and what to measure next."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from onthree.loads.fit import CAUTION, ZONES, FitTable, fit_table
from onthree.loads.to_measure import measure_next
from onthree.programme.records import Athlete, Gear
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding, teams_of
from onthree.techniques.state import CARRYING_DEVICES
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import name_athletes, numbers

JUDGED = ("trunk", "pelvis", "length")
"""Zones that make a finding; shoulders and elbows are over on almost everyone and stand beside them only."""

_JUDGED = [place for place, zone in enumerate(ZONES) if zone.name in JUDGED]
_BESIDE = [place for place, zone in enumerate(ZONES) if zone.name in ("shoulders", "elbows")]


def too_large(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Carrying devices there on which trunk, pelvis or length of somebody certainly does not fit."""
    table = _table(engine)
    return tuple(found for device in range(len(table.devices)) for found in _over(engine, table, device))


def not_measured(engine: OptionsEngine) -> tuple[Finding, ...]:
    """The shortest list of what to measure, where trunk, pelvis or length of somebody on a device is not known."""
    table = _table(engine)
    is_open = table.verdict[:, :, _JUDGED] == Verdict.UNKNOWN
    if not is_open.any():
        return ()
    teams = teams_of(engine)
    who = name_athletes([table.athletes[row] for row in np.flatnonzero(is_open.any(axis=(1, 2)))], teams)
    asked = (
        *((gear.code, what) for gear in table.devices if (what := _not_recorded(gear))),
        *(
            (numbers((one.subject,), teams), ", ".join(one.what))
            for one in measure_next(table.athletes, table.devices, teams, zones=JUDGED)
            if isinstance(one.subject, Athlete)
        ),
    )
    return (
        finding(
            engine,
            "measure-next",
            Level.UNKNOWN,
            engine.event.code,
            f"not known whether they fit on every carrying device there: {who}",
            asked,
            do="measure these without pads and record them; then check again, as others may follow",
            who="lead",
        ),
    )


def _table(engine: OptionsEngine) -> FitTable:
    devices = [item.gear for kind in CARRYING_DEVICES for item in engine.situation.of_kind(kind)]
    in_use = [gear for gear in devices if gear.in_service is not False]
    return fit_table(engine.programme.roster(engine.event), in_use, teams_of(engine))


def _not_recorded(gear: Gear) -> str:
    rooms = {"usable width": gear.usable_width, "usable length": gear.usable_length}
    return ", ".join(name for name, room in rooms.items() if room is None)


def _over(engine: OptionsEngine, table: FitTable, device: int) -> Iterator[Finding]:
    by_zone = table.verdict[:, :, _JUDGED] == Verdict.NO
    is_over = by_zone.any(axis=2)
    rows = np.flatnonzero(is_over[:, device])
    if not len(rows):
        return
    zones = ", ".join(zone for zone, is_any in zip(JUDGED, by_zone[:, device].any(axis=0), strict=True) if is_any)
    teams, gear = teams_of(engine), table.devices[device]
    others = dict.fromkeys(table.devices[other].name for other in np.flatnonzero(~is_over[rows].any(axis=0)))
    yield finding(
        engine,
        "fit",
        Level.TELL,
        gear.code,
        f"{name_athletes([table.athletes[row] for row in rows], teams)}: too large for the {gear.name} ({zones})",
        (*_evidence(engine, table, device, rows), ("caution", CAUTION)),
        do=f"try them on the {' and the '.join(others)}, within its weight limit"
        if others
        else "bring a larger device and try them on it",
        who="lead",
    )


def _evidence(engine: OptionsEngine, table: FitTable, device: int, rows: NDArray[np.intp]) -> Iterator[tuple[str, str]]:
    """For each zone that is over somewhere the athlete furthest over; beside it shoulders and elbows of the first."""
    by_m = table.extents.lower_m[rows] - table.room_m[device]
    is_over = table.verdict[rows, device] == Verdict.NO
    zones = [place for place in _JUDGED if is_over[:, place].any()]
    widest = {place: rows[np.argmax(np.where(is_over[:, place], by_m[:, place], -np.inf))] for place in zones}
    first = widest[zones[0]]
    beside = {place: first for place in _BESIDE if table.verdict[first, device, place] == Verdict.NO}
    for place, row in {**widest, **beside}.items():
        zone = table.device_fit(int(row), device).zones[place]
        yield numbers((table.athletes[row],), teams_of(engine)), zone.sentence
