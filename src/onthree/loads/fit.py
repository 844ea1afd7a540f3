"""Fit of athletes on carrying devices, zone by zone, measured or predicted with its interval.

No published limit of fit exists, so fit closes no option: it gives findings to look at, and what to measure.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from enum import StrEnum
from math import ceil, floor, isnan

import numpy as np
from numpy.typing import NDArray

from onthree.loads.body_size import Answers, Numbers, PredictedBreadth, predicted_breadth
from onthree.programme.records import Athlete, Gear, Team
from onthree.techniques.verdict import Verdict
from onthree.units import Length

CAUTION = (
    "No published limit of fit exists, and this closes no option. "
    "Try the athlete on the device; local protocol and the maker's manual come first."
)


class Basis(StrEnum):
    """Where the size of a zone comes from."""

    PADDED = "measured over pads"
    MEASURED = "measured"
    PREDICTED = "predicted from the survey"
    NOT_KNOWN = "not known"


@dataclass(frozen=True)
class Zone:
    """A zone of the body: the breadth that stands in for it in the survey, and the fields it is compared by."""

    name: str
    breadth: str
    measured: str
    room: str


ZONES = (
    Zone("shoulders", "shoulder", "shoulder_breadth", "usable_width"),
    Zone("elbows", "forearm", "forearm_breadth", "slot_width"),
    Zone("trunk", "trunk", "trunk_breadth", "usable_width"),
    Zone("waist", "waist", "", "usable_width"),
    Zone("pelvis", "hip", "hip_breadth", "usable_width"),
    Zone("length", "", "stature", "usable_length"),
)
ROOMS = ("usable_width", "slot_width", "usable_length")
_SHOULDERS = 0


@dataclass(frozen=True)
class Extents:
    """Sizes of athletes by zone [m], NaN where not known; arrays of shape (athletes, zones).

    ``is_at_least``: the zone may be wider than the upper end says: pads nobody measured, or outside the survey.
    """

    lower_m: Numbers
    upper_m: Numbers
    is_at_least: Answers
    is_sparse: Answers
    is_extrapolated: Answers
    basis: NDArray[np.object_]


@dataclass(frozen=True)
class ZoneFit:
    """One zone of one athlete on one device; ends of an interval are equal for a measured size.

    ``over_m``: beyond the room, on each side for a breadth, at the end for the length; below zero is room to spare.
    """

    zone: str
    verdict: Verdict
    basis: Basis
    size_m: tuple[float, float] | None
    room_m: float | None
    over_m: tuple[float, float] | None
    is_at_least: bool
    is_sparse: bool
    is_extrapolated: bool
    sentence: str


@dataclass(frozen=True)
class DeviceFit:
    """The zones of one athlete on one carrying device, and the caution that stands beside them."""

    athlete: Athlete
    device: Gear
    zones: tuple[ZoneFit, ...]
    caution: str = field(default=CAUTION)

    def of(self, zone: str) -> ZoneFit:
        """The zone with this name. Raises KeyError."""
        return {one.zone: one for one in self.zones}[zone]


@dataclass(frozen=True)
class FitTable:
    """Many athletes on many devices at once: verdict as a number, by (athletes, devices, zones); room [m]."""

    athletes: tuple[Athlete, ...]
    devices: tuple[Gear, ...]
    extents: Extents
    room_m: Numbers
    verdict: NDArray[np.int8]

    def device_fit(self, athlete: int, device: int) -> DeviceFit:
        """The fit of the athlete and the device at these places."""
        zones = tuple(_zone_fit(self, athlete, device, zone) for zone in range(len(ZONES)))
        return DeviceFit(self.athletes[athlete], self.devices[device], zones)


def fit(athlete: Athlete, device: Gear, team: Team | None = None) -> DeviceFit:
    """The fit of one athlete on one device; the team says whether equipment is worn where the athlete does not."""
    teams = {team.code: team} if team else {}
    return fit_table((athlete,), (device,), teams).device_fit(0, 0)


def fit_table(athletes: Sequence[Athlete], devices: Sequence[Gear], teams: Mapping[str, Team]) -> FitTable:
    """The fit of every athlete on every device."""
    extents = extents_of(athletes, teams)
    room_m = np.array([[_length_m(device, zone.room) for zone in ZONES] for device in devices]).reshape(-1, len(ZONES))
    verdict = verdicts(
        extents.lower_m[:, None], extents.upper_m[:, None], extents.is_at_least[:, None], room_m[None, :]
    )
    return FitTable(tuple(athletes), tuple(devices), extents, room_m, verdict)


def verdicts(lower_m: Numbers, upper_m: Numbers, is_at_least: Answers, room_m: Numbers) -> NDArray[np.int8]:
    """Whether a size between two ends [m] is within a room [m]; equal is within. Shapes are broadcast.

    No when even the lower end is over; ok when even the upper end is within and the size cannot be wider than that;
    else, and wherever a number is NaN, unknown.
    """
    is_over = lower_m > room_m
    is_within = (upper_m <= room_m) & ~is_at_least
    chosen: NDArray[np.int8] = np.where(is_over, Verdict.NO, np.where(is_within, Verdict.OK, Verdict.UNKNOWN))
    return chosen.astype(np.int8)


def extents_of(athletes: Sequence[Athlete], teams: Mapping[str, Team]) -> Extents:
    """The size of each zone of each athlete: measured if anybody measured it, else predicted, else NaN."""
    zones = [_extents(zone, athletes) for zone in ZONES]
    padded_m = _numbers(athletes, "padded_shoulder_breadth")
    zones[_SHOULDERS] = _over_pads(
        zones[_SHOULDERS], padded_m, np.array([wears_nothing(a, teams) for a in athletes], dtype=bool)
    )
    return Extents(*(np.stack([getattr(zone, of.name) for zone in zones], axis=-1) for of in fields(Extents)))


def _extents(zone: Zone, athletes: Sequence[Athlete]) -> Extents:
    """One zone of every athlete, without pads; arrays of shape (athletes)."""
    measured_m = _numbers(athletes, zone.measured)
    is_measured = ~np.isnan(measured_m)
    lower_m = upper_m = measured_m
    is_sparse = is_extrapolated = np.zeros(len(athletes), dtype=bool)
    if zone.breadth:
        predicted = _predicted(zone.breadth, athletes)
        lower_m = np.where(is_measured, measured_m, predicted.lower_m)
        upper_m = np.where(is_measured, measured_m, predicted.upper_m)
        is_sparse = ~is_measured & predicted.is_sparse
        is_extrapolated = ~is_measured & predicted.is_extrapolated
    basis = np.where(is_measured, Basis.MEASURED, np.where(np.isnan(lower_m), Basis.NOT_KNOWN, Basis.PREDICTED))
    return Extents(lower_m, upper_m, is_extrapolated, is_sparse, is_extrapolated, basis.astype(object))


def _predicted(breadth: str, athletes: Sequence[Athlete]) -> PredictedBreadth:
    """The survey is one of adults: nothing is predicted for children, and under 18 it is outside of it."""
    mass_kg = np.array([float(a.mass.kg) if a.mass and not is_child(a) else np.nan for a in athletes], dtype=float)
    surveys = [a.survey_table for a in athletes]
    predicted = predicted_breadth(breadth, mass_kg, _numbers(athletes, "stature"), surveys)
    is_younger = np.array([a.age_group == "15 to 17" for a in athletes], dtype=bool)
    return replace(predicted, is_extrapolated=predicted.is_extrapolated | is_younger)


def is_child(athlete: Athlete) -> bool:
    """Whether the athlete is too young for the survey to say anything; an age nobody recorded counts as adult."""
    return athlete.age_group in ("under 8", "8 to 14")


def _over_pads(bare: Extents, padded_m: Numbers, wears_nothing: Answers) -> Extents:
    """Shoulders as they lie on the device: pads only widen them, by what only a tape can tell."""
    is_measured = ~np.isnan(padded_m)
    return Extents(
        np.where(is_measured, padded_m, bare.lower_m),
        np.where(is_measured, padded_m, bare.upper_m),
        ~is_measured & (bare.is_at_least | ~wears_nothing),
        ~is_measured & bare.is_sparse,
        ~is_measured & bare.is_extrapolated,
        np.where(is_measured, Basis.PADDED, bare.basis).astype(object),
    )


def wears_nothing(athlete: Athlete, teams: Mapping[str, Team]) -> bool:
    """Whether the equipment worn is recorded as 0 kg, so that there are no pads to measure over."""
    team = teams.get(athlete.team)
    worn = athlete.equipment_mass or (team.equipment_mass if team else None)
    return worn is not None and worn.kg == 0


def _numbers(athletes: Sequence[Athlete], name: str) -> Numbers:
    return np.array([_length_m(athlete, name) for athlete in athletes], dtype=float)


def _length_m(record: Athlete | Gear, name: str) -> float:
    length: Length | None = getattr(record, name) if name else None
    return float(length.m) if length else np.nan


def _zone_fit(table: FitTable, athlete: int, device: int, number: int) -> ZoneFit:
    zone, of, place = ZONES[number], table.extents, (athlete, number)
    lower_m, upper_m, room_m = float(of.lower_m[place]), float(of.upper_m[place]), float(table.room_m[device, number])
    sides = 2 if zone.breadth else 1
    is_known, has_room = not isnan(lower_m), not isnan(room_m)
    found = ZoneFit(
        zone=zone.name,
        verdict=Verdict(int(table.verdict[athlete, device, number])),
        basis=Basis(of.basis[place]),
        size_m=(lower_m, upper_m) if is_known else None,
        room_m=room_m if has_room else None,
        over_m=((lower_m - room_m) / sides, (upper_m - room_m) / sides) if is_known and has_room else None,
        is_at_least=bool(of.is_at_least[place]),
        is_sparse=bool(of.is_sparse[place]),
        is_extrapolated=bool(of.is_extrapolated[place]),
        sentence="",
    )
    room = f"{zone.room.replace('_', ' ')} of the {table.devices[device].name}"
    return replace(found, sentence=_sentence(found, room, table.athletes[athlete]))


def _sentence(found: ZoneFit, room: str, athlete: Athlete) -> str:
    size = _size_said(found, athlete)
    if found.room_m is None:
        return f"{size}; {room} not recorded"
    against = f"{size}; {room} {_cm_said(found.room_m, found.room_m, floor)}"
    return f"{against}: {_result_said(found)}" if found.size_m else against


def _size_said(found: ZoneFit, athlete: Athlete) -> str:
    if found.size_m is None:
        missing = [name for name in ("body mass", "stature") if getattr(athlete, name.split()[-1]) is None]
        if found.zone == "length":
            missing = ["stature"]
        elif is_child(athlete):
            return f"{found.zone} not known: not measured, and the survey has nobody that young"
        return f"{found.zone} not known: {' and '.join(missing)} not recorded"
    is_bare = found.zone == "shoulders" and found.is_at_least
    without = " without pads" if is_bare else " without helmet" if found.zone == "length" else ""
    outside = ", outside the survey" if found.is_extrapolated else ", few in it that heavy" if found.is_sparse else ""
    return f"{found.zone} {_cm_said(*found.size_m, ceil)}{without} ({found.basis}{outside})"


def _result_said(found: ZoneFit) -> str:
    if found.verdict is Verdict.OK:
        return "within it"
    if found.verdict is Verdict.UNKNOWN or found.over_m is None:
        what_next = {"shoulders": "measure it over the pads", "waist": "try it on the device"}
        return f"may be over, {what_next.get(found.zone, 'measure it')}"
    each = "" if found.zone == "length" else " on each side"
    lower_m, upper_m = found.over_m
    by = f"at least {_cm_said(lower_m, lower_m, floor)}" if found.is_at_least else _cm_said(lower_m, upper_m, ceil)
    return f"over by {by}{each}"


def _cm_said(lower_m: float, upper_m: float, rounding: Callable[[float], int]) -> str:
    """An interval in cm to the millimetre, its lower end rounded down; one number where both ends are the same."""
    ends = [floor(round(1000 * lower_m, 6)) / 10, rounding(round(1000 * upper_m, 6)) / 10]
    if lower_m == upper_m:
        return f"{ends[1]:g} cm"
    return f"{ends[0]:g} to {ends[1]:g} cm"
