"""The load chain: everything that hangs on a device or cot, against the lowest rating in the chain."""

from dataclasses import dataclass
from decimal import Decimal

from onthree.programme.records import Athlete, Gear, Team, Vehicle
from onthree.techniques.verdict import Verdict
from onthree.units import Mass, limit_shown, load_shown, total


@dataclass(frozen=True)
class LoadPart:
    """One part of a load and its mass, None where it is not known."""

    name: str
    mass: Mass | None


@dataclass(frozen=True)
class Rating:
    """The rated load of one member of the chain, None where the label cannot be read."""

    name: str
    code: str
    limit: Mass | None


@dataclass(frozen=True)
class ChainResult:
    """A load against its chain: verdict, the known part of the load, and the margin to the lowest rating [kg].

    ``margin_kg`` is None unless every part of the load and at least one rating are known; it has no uncertainty
    beyond that of the scale and the label, which nobody recorded.
    """

    verdict: Verdict
    load: Mass
    is_complete: bool
    lowest: Rating | None
    margin_kg: Decimal | None
    sentence: str
    missing: tuple[str, ...]
    """What would have to be found out: parts of the load without a mass, members of the chain without a rating."""


def worn_load(athlete: Athlete, team: Team) -> tuple[LoadPart, ...]:
    """Body and equipment worn; the heaviest weighed set of the team stands in for equipment nobody weighed."""
    return (
        LoadPart("body mass", athlete.mass),
        LoadPart("equipment worn", athlete.equipment_mass or team.equipment_mass),
    )


def device_chain(worn: tuple[LoadPart, ...], device: Gear) -> ChainResult:
    """Athlete and equipment on a carrying device."""
    return judge(worn, (Rating(device.name, device.code, device.rated_load),))


def cot_chain(worn: tuple[LoadPart, ...], device: Gear | None, vehicle: Vehicle) -> ChainResult:
    """Athlete, equipment and the carrying device itself on a cot and, where there is one, its loading system."""
    parts = worn if device is None else (*worn, LoadPart(device.name, device.own_mass))
    ratings = [Rating(f"cot of the {vehicle.name}", vehicle.code, vehicle.cot_rated_load)]
    if vehicle.has_loading_system is not False:
        limit = vehicle.loading_rated_load
        ratings.append(Rating(f"loading system of the {vehicle.name}", vehicle.code, limit))
    return judge(parts, tuple(ratings))


def judge(parts: tuple[LoadPart, ...], ratings: tuple[Rating, ...]) -> ChainResult:
    """The load against the lowest rating.

    No when the known parts alone exceed a known rating; unknown when a part or a rating is missing and that may
    decide; else ok. A load equal to the rating is ok. The rated load includes everything on the device (EN 1865-1).
    """
    load = total(part.mass for part in parts if part.mass)
    missing = tuple(part.name for part in parts if part.mass is None)
    unrated = tuple(rating.name for rating in ratings if rating.limit is None)
    lowest = _lowest(ratings)
    if lowest and lowest.limit and load.kg > lowest.limit.kg:
        verdict = Verdict.NO
    else:
        verdict = Verdict.UNKNOWN if missing or unrated else Verdict.OK
    margin_kg = None if lowest is None or lowest.limit is None or missing else lowest.limit.kg - load.kg
    sentence = _sentence(load, missing, unrated, lowest)
    find_out = (*missing, *(f"the rated load of the {name}" for name in unrated))
    return ChainResult(verdict, load, not missing, lowest, margin_kg, sentence, find_out)


def _lowest(ratings: tuple[Rating, ...]) -> Rating | None:
    known = [(rating.limit.kg, rating.code, rating) for rating in ratings if rating.limit]
    return min(known, key=lambda entry: entry[:2])[2] if known else None


def _sentence(load: Mass, missing: tuple[str, ...], unrated: tuple[str, ...], lowest: Rating | None) -> str:
    loaded = f"load {load_shown(load)}"
    if missing:
        known = f"load at least {load_shown(load)}" if load.kg else "load not known"
        loaded = f"{known}: {' and '.join(missing)} not known"
    against = f"{lowest.name} rated {limit_shown(lowest.limit)}" if lowest and lowest.limit else ""
    unread = " and ".join(f"{name} rating not known" for name in unrated)
    return f"{loaded}; {'; '.join(text for text in (against, unread) if text)}"
