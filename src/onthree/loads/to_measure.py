"""What to measure next, so that the fewest measurements settle the most that is not known about fit."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from onthree.loads.body_size import Answers
from onthree.loads.fit import ZONES, Basis, FitTable, Zone, fit_table, is_child, wears_nothing
from onthree.programme.records import Athlete, Gear, Team
from onthree.techniques.verdict import Verdict

ZONE_NAMES = tuple(zone.name for zone in ZONES)
_HAS_BREADTH = np.array([bool(zone.breadth) for zone in ZONES])


@dataclass(frozen=True)
class ToMeasure:
    """One athlete or device with what to measure, and how many zones that are not known it settles.

    ``is_certain``: False where it only may settle them: a body mass or stature gives a prediction with an interval,
    and the width of a device meets sizes that may lie on both sides of it.
    """

    subject: Athlete | Gear
    what: tuple[str, ...]
    settles_count: int
    is_certain: bool


def measure_next(
    athletes: Sequence[Athlete],
    devices: Sequence[Gear],
    teams: Mapping[str, Team],
    most_athletes: int = 6,
    zones: Sequence[str] = ZONE_NAMES,
) -> tuple[ToMeasure, ...]:
    """The devices, then the athletes, to measure next for the zones of interest.

    Devices first, as one distance counts for everyone. Of the athletes those are taken for whom most would be
    settled, the heavier of two alike; they are listed heaviest first, where nobody weighed them before all others.
    """
    table = fit_table(athletes, devices, teams)
    is_open = (table.verdict == Verdict.UNKNOWN) & np.array([zone.name in zones for zone in ZONES])
    of_devices = sorted(_of_devices(table, is_open), key=lambda one: (-one.settles_count, one.subject.code))
    of_athletes = (
        _of_athlete(table, is_open, row, not wears_nothing(athlete, teams)) for row, athlete in enumerate(athletes)
    )
    settling = [one for one in of_athletes if one.settles_count]
    most = sorted(settling, key=lambda one: (-one.settles_count, *_heaviest_first(one)))[:most_athletes]
    return (*of_devices, *sorted(most, key=_heaviest_first))


def _of_devices(table: FitTable, is_open: Answers) -> Iterator[ToMeasure]:
    """The distances nobody recorded, with the zones of athletes whose size is known that wait for them."""
    has_size = ~np.isnan(table.extents.lower_m)
    for row, device in enumerate(table.devices):
        waits = is_open[:, row] & has_size & np.isnan(table.room_m[row])
        by_zone = dict(zip(ZONES, waits.sum(axis=0), strict=True))
        rooms = {zone.room.replace("_", " "): None for zone, count in by_zone.items() if count}
        if rooms:
            yield ToMeasure(device, tuple(rooms), int(waits.sum()), is_certain=False)


def _of_athlete(table: FitTable, is_open: Answers, row: int, has_pads: bool) -> ToMeasure:
    """Body mass and stature where a prediction lacks them, else the sizes themselves, those that settle most first."""
    athlete = table.athletes[row]
    counts = (is_open[row] & ~np.isnan(table.room_m)).sum(axis=0)
    no_size = table.extents.basis[row] == Basis.NOT_KNOWN
    if lacking := _lacking(athlete, bool(counts[no_size & _HAS_BREADTH].any()), bool(counts[no_size].any())):
        return ToMeasure(athlete, lacking, int(counts[no_size].sum()), is_certain=False)
    settled = {_what(zone, has_pads): int(count) for zone, count in zip(ZONES, counts, strict=True) if zone.measured}
    what = sorted((name for name, count in settled.items() if count), key=lambda name: -settled[name])
    return ToMeasure(athlete, tuple(what), sum(settled.values()), is_certain=True)


def _lacking(athlete: Athlete, needs_mass: bool, needs_stature: bool) -> tuple[str, ...]:
    if is_child(athlete):
        return ()
    mass = ("body mass",) if needs_mass and athlete.mass is None else ()
    return (*mass, *(("stature",) if needs_stature and athlete.stature is None else ()))


def _what(zone: Zone, has_pads: bool) -> str:
    is_over_pads = zone.name == "shoulders" and has_pads
    return "shoulder breadth over the pads" if is_over_pads else zone.measured.replace("_", " ")


def _heaviest_first(one: ToMeasure) -> tuple[object, ...]:
    mass = one.subject.mass if isinstance(one.subject, Athlete) else None
    return (mass is not None, -mass.kg if mass else 0, one.subject.code)
