"""Who lifts how much when one athlete is lifted on one device: equal people at its holds, and the people there."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import combinations
from math import ceil, isinf, nan

import numpy as np
from numpy.typing import NDArray

from onthree.loads.body_size import predicted_breadth
from onthree.loads.chain import LoadPart
from onthree.loads.crew_share import CrewShare, crew_share
from onthree.loads.handholds import LoadOnDevice, PartOnDevice, athlete_on_device, hold_places_m, load_of
from onthree.loads.lift import direct_lift_share_ratio
from onthree.loads.lifter_order import MOST_PEOPLE, lifter_orders
from onthree.loads.log_roll import LogRoll, log_roll
from onthree.loads.segments import SEXES
from onthree.loads.sharing import least_largest_ratios
from onthree.programme.records import Athlete, Gear, Responder
from onthree.sources import parameter
from onthree.units import N_PER_KGF, Length

Places = NDArray[np.float64]
SIDES = ("left", "right")
MEANING = (
    "At rest, lying in the middle of the device, equipment counted where the body's centre of mass is. At best: "
    "however they share, one carries at least this, so more than that person can hold means that they cannot; less "
    "proves nothing. A quick or uneven start adds to every number."
)
FEWEST_LIFTERS = 4


@dataclass(frozen=True)
class EqualLifters:
    """So many equal people, best placed: at which holds, and the load of the one who carries most [kg].

    ``best_kg``: however they share it, one carries at least this. ``equal_arms_kg``: with arms that give alike.
    ``one_short_kg``: at best, after the one who is missed most let go; infinite where the device then tips.
    """

    people: int
    holds: tuple[str, ...]
    best_kg: float
    equal_arms_kg: float
    one_short_kg: float


@dataclass(frozen=True)
class CrewLift:
    """The people who stated a limit, at the holds: as listed, and in a best order; each order hold by hold."""

    as_listed: CrewShare
    best: CrewShare
    best_order: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SharedLift:
    """One athlete on one device with hand holds; ``missing`` is what nobody measured, and then nothing is computed."""

    device: Gear
    load_kg: float | None
    missing: tuple[str, ...]
    equal: tuple[EqualLifters, ...] = ()
    crew: CrewLift | None = None


def shared_lift(
    athlete: Athlete, worn: Sequence[LoadPart], device: Gear, responders: Sequence[Responder]
) -> SharedLift:
    """How the lift of an athlete with what is worn would be shared on a device, at rest, lying in its middle.

    ``responders`` are the people who would lift, in the order in which they would stand. Without a survey table both
    are tried and the worse one counts. Equipment and water count where the body's centre of mass is.
    """
    missing = tuple(_missing(athlete, worn, device))
    if missing:
        return SharedLift(device, None, missing)
    holds_m = _holds_m(device)
    loads = [_load(athlete, worn, device, holds_m, sex) for sex in _tables(athlete)]
    names = hold_names(len(holds_m))
    counts = range(FEWEST_LIFTERS, min(len(holds_m), MOST_PEOPLE) + 1, 2)
    equal = tuple(_equal(holds_m, names, loads, people) for people in counts)
    return SharedLift(device, loads[0].mass_kg, (), equal, _crew(holds_m, names, loads, responders))


def direct_lift_kg(athlete: Athlete, worn: Sequence[LoadPart], on: date) -> tuple[tuple[str, float], ...]:
    """The load [kg] at head, chest, pelvis and legs when hands lift without a device; empty if a mass is missing.

    A first estimate, of both survey tables the larger where none is recorded; shown for reference, never ranked.
    """
    if any(part.mass is None for part in worn):
        return ()
    mass_kg = sum(float(part.mass.kg) for part in worn if part.mass)
    holds = parameter("direct_lift_holds", on).value
    places_ratio = [hold["place"] for hold in holds]
    shares_ratio = np.max([direct_lift_share_ratio(sex, places_ratio) for sex in _tables(athlete)], axis=0)
    return tuple(
        (hold["hold"], float(mass_kg * share_ratio)) for hold, share_ratio in zip(holds, shares_ratio, strict=True)
    )


def roll_of(athlete: Athlete, worn: Sequence[LoadPart], limit_n: float) -> LogRoll | None:
    """The log roll of an athlete with what is worn, by people who take a force each [N]; None if a size is missing.

    As broad as measured over pads, else without, else as the middle of the prediction; as deep as predicted, without
    pads. Without a survey table the broader table counts.
    """
    if athlete.mass is None or athlete.stature is None or any(part.mass is None for part in worn):
        return None
    measured = athlete.padded_shoulder_breadth or athlete.shoulder_breadth
    breadth_m = _m(measured) or _predicted_m("shoulder", athlete)
    depth_m = min(_predicted_m("depth", athlete), breadth_m)
    weight_n = float(sum((part.mass.kg for part in worn if part.mass), Decimal(0)) * N_PER_KGF)
    return log_roll(weight_n, breadth_m / 2, depth_m / 2, limit_n)


def _predicted_m(breadth: str, athlete: Athlete) -> float:
    """The middle of the prediction [m]; without a survey table the larger of both."""
    assert athlete.mass is not None
    tables = _tables(athlete)
    mass_kg, stature_m = (np.full(len(tables), size) for size in (float(athlete.mass.kg), _m(athlete.stature)))
    return float(predicted_breadth(breadth, mass_kg, stature_m, tables).middle_m.max())


def hold_names(count: int) -> tuple[str, ...]:
    """What to call the holds, from the head end: ``left 1``, ``right 1``, ``left 2`` …"""
    return tuple(f"{SIDES[place % 2]} {place // 2 + 1}" for place in range(count))


def share_shown(mass_kg: float) -> str:
    """A share rounded up to the next tenth of a kilogram, so that it never reads smaller than it is."""
    return "it tips" if isinf(mass_kg) else f"{ceil(round(mass_kg * 10, 6)) / 10:.1f} kg"


def _missing(athlete: Athlete, worn: Sequence[LoadPart], device: Gear) -> Iterator[str]:
    yield from (part.name for part in worn if part.mass is None)
    needed: dict[str, object] = {
        "stature": athlete.stature,
        f"own mass of the {device.name}": device.own_mass,
        f"usable length of the {device.name}": device.usable_length,
        f"pairs of holds of the {device.name}": device.pairs_of_holds,
        f"first hold of the {device.name}": device.first_hold,
        f"holds apart of the {device.name}": device.holds_apart,
    }
    if (device.pairs_of_holds or 0) > 1:
        needed[f"hold spacing of the {device.name}"] = device.hold_spacing
    yield from (name for name, known in needed.items() if known is None)


def _tables(athlete: Athlete) -> tuple[str, ...]:
    return (athlete.survey_table,) if athlete.survey_table else SEXES


def _holds_m(device: Gear) -> Places:
    return hold_places_m(
        _m(device.first_hold), _m(device.hold_spacing), device.pairs_of_holds or 0, _m(device.holds_apart)
    )


def _m(length: Length | None) -> float:
    return float(length.m) if length else 0.0


def _load(athlete: Athlete, worn: Sequence[LoadPart], device: Gear, holds_m: Places, sex: str) -> LoadOnDevice:
    mass_kg = sum(float(part.mass.kg) for part in worn if part.mass)
    length_m, stature_m = _m(device.usable_length), _m(athlete.stature)
    lying = athlete_on_device(mass_kg, stature_m, sex, max(length_m - stature_m, 0.0) / 2)
    own_kg = sum(float(mass.kg) for mass in (device.own_mass, device.attached_mass) if mass)
    return load_of([lying, PartOnDevice(own_kg, length_m / 2)])


def _equal(holds_m: Places, names: tuple[str, ...], loads: Sequence[LoadOnDevice], people: int) -> EqualLifters:
    """Two at each of the pairs of holds that serve them best, for the load that is the worse one."""
    pairs = list(combinations(range(len(holds_m) // 2), people // 2))
    held = np.array([[float(place // 2 in chosen) for place in range(len(holds_m))] for chosen in pairs])
    weight_n = [[load.weight_n()] for load in loads]
    ratios = least_largest_ratios(holds_m[None], held, weight_n, [[load.com_m] for load in loads])[:, 0]
    worst = int(ratios.min(axis=1).argmax())
    at = held[ratios[worst].argmin()]
    share = crew_share(holds_m, at, loads[worst].weight_n(), loads[worst].com_m)
    shares_n = share.least_largest_ratio, share.equal_stiffness_ratio, share.after_one_lets_go_ratio
    best_kg, equal_arms_kg, one_short_kg = (share_n / float(N_PER_KGF) for share_n in shares_n)
    holds = tuple(name for name, is_held in zip(names, at, strict=True) if is_held)
    return EqualLifters(people, holds, best_kg, equal_arms_kg, one_short_kg)


def _crew(
    holds_m: Places, names: tuple[str, ...], loads: Sequence[LoadOnDevice], responders: Sequence[Responder]
) -> CrewLift | None:
    """For the people who stated a limit, as many as there are holds; None where fewer than four did."""
    lifters = [one for one in responders if one.lifting_limit][: min(len(holds_m), MOST_PEOPLE)]
    if len(lifters) < FEWEST_LIFTERS or len(holds_m) > MOST_PEOPLE:
        return None
    limits_n = np.array([float(one.lifting_limit.kg * N_PER_KGF) if one.lifting_limit else nan for one in lifters])
    load = max(loads, key=lambda each: lifter_orders(holds_m, limits_n, each.weight_n(), each.com_m).best.ratio)
    orders = lifter_orders(holds_m, limits_n, load.weight_n(), load.com_m)
    placed = [[0.0 if who is None else limits_n[who] for who in order.lifters] for order in (orders.given, orders.best)]
    given, best = (crew_share(holds_m, limits, load.weight_n(), load.com_m) for limits in placed)
    order = tuple(
        (name, lifters[who].name) for name, who in zip(names, orders.best.lifters, strict=True) if who is not None
    )
    return CrewLift(given, best, order)
