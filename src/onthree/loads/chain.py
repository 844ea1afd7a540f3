"""The load chain: everything that hangs on a device or cot, against the lowest rating in the chain."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from onthree.programme.records import Athlete, Event, Gear, Team, Vehicle
from onthree.sources import parameter
from onthree.techniques.verdict import Verdict
from onthree.units import Mass, limit_shown, load_shown, total


@dataclass(frozen=True)
class LoadPart:
    """One part of a load and its mass, None where it is not known."""

    name: str
    mass: Mass | None


@dataclass(frozen=True)
class Rating:
    """The rated load of one member of the chain, None where the label cannot be read, and its standard and edition."""

    name: str
    code: str
    limit: Mass | None
    standard: str = ""


@dataclass(frozen=True)
class ChainResult:
    """A load against its chain: verdict, the parts of the load, and the lowest rating known."""

    verdict: Verdict
    parts: tuple[LoadPart, ...]
    lowest: Rating | None
    unread: tuple[str, ...]
    """Members of the chain whose rating is not known."""
    decides: tuple[LoadPart, ...]
    """What may come on top, where that would exceed the lowest rating."""

    @cached_property
    def load(self) -> Mass:
        """The known part of the load."""
        return total(part.mass for part in self.parts if part.mass)

    @property
    def is_complete(self) -> bool:
        """Whether every part of the load is known."""
        return all(part.mass is not None for part in self.parts)

    @property
    def margin_kg(self) -> Decimal | None:
        """What the lowest rating leaves [kg], None unless every part of the load and at least one rating are known.

        It has no uncertainty beyond that of the scale and the label, which nobody recorded.
        """
        if self.lowest is None or self.lowest.limit is None or not self.is_complete:
            return None
        return self.lowest.limit.kg - self.load.kg

    @property
    def margin_ratio(self) -> Decimal | None:
        """The margin as a share of the lowest rating, None where the margin is."""
        margin_kg = self.margin_kg
        return (
            None if margin_kg is None or not self.lowest or not self.lowest.limit else margin_kg / self.lowest.limit.kg
        )

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """What would have to be found out: parts of the load without a mass, members of the chain without a rating."""
        return (
            *_unweighed(self.parts),
            *(f"the rated load of the {name}" for name in self.unread),
            *(f"whether there is {part.name}" for part in self.decides),
        )

    @cached_property
    def sentence(self) -> str:
        """The load and the rating in words."""
        return _sentence(self.load, _unweighed(self.parts), self.unread, self.lowest, self.decides)


def worn_load(athlete: Athlete, team: Team, event: Event | None = None) -> tuple[LoadPart, ...]:
    """Body and equipment worn, and an allowance for water in them where the event is wet.

    The heaviest weighed set of the team stands in for equipment nobody weighed.
    """
    return (
        LoadPart("body mass", athlete.mass),
        LoadPart("equipment worn", athlete.equipment_mass or team.equipment_mass),
        *([_water(event)] if event and event.is_wet else []),
    )


def maybe_worn(event: Event) -> tuple[LoadPart, ...]:
    """What may come on top of every load at an event: water, where nobody recorded whether it will be wet or dry."""
    return (_water(event),) if event.is_wet is None else ()


def device_chain(worn: tuple[LoadPart, ...], device: Gear, maybe: tuple[LoadPart, ...] = ()) -> ChainResult:
    """Athlete, equipment and what is fixed to the device, on a carrying device or in straps."""
    return judge((*worn, *_attached(device)), (_rating(device),), maybe)


def cot_chain(
    worn: tuple[LoadPart, ...], device: Gear | None, vehicle: Vehicle, maybe: tuple[LoadPart, ...] = ()
) -> ChainResult:
    """Athlete, equipment, the carrying device itself and what is fixed to it, and what rides on the cot:

    on the cot and, where there is one, its loading system.
    """
    parts = worn if device is None else (*worn, LoadPart(device.name, device.own_mass), *_attached(device))
    cot = f"cot of the {vehicle.name}"
    ratings = [Rating(cot, vehicle.code, vehicle.cot_rated_load, vehicle.standard)]
    if vehicle.has_loading_system is not False:
        limit = vehicle.loading_rated_load
        ratings.append(Rating(f"loading system of the {vehicle.name}", vehicle.code, limit))
    on_cot = [LoadPart(f"what rides on the {cot}", vehicle.attached_mass)] if vehicle.attached_mass else []
    return judge((*parts, *on_cot), tuple(ratings), maybe)


def judge(parts: tuple[LoadPart, ...], ratings: tuple[Rating, ...], maybe: tuple[LoadPart, ...] = ()) -> ChainResult:
    """The load against the lowest rating.

    No when the known parts alone exceed a known rating; unknown when a part or a rating is missing, or when what may
    come on top would exceed it; else ok. A load equal to the rating is ok. The rated load includes everything on the
    device (EN 1865-1).
    """
    known_kg = most_kg(parts)
    unread = tuple(rating.name for rating in ratings if rating.limit is None)
    lowest = _lowest(ratings)
    limit = lowest.limit if lowest else None
    is_over = limit is not None and known_kg > limit.kg
    decides = maybe if limit and not is_over and known_kg + most_kg(maybe) > limit.kg else ()
    is_open = bool(unread or decides) or any(part.mass is None for part in parts)
    verdict = Verdict.NO if is_over else Verdict.UNKNOWN if is_open else Verdict.OK
    return ChainResult(verdict, parts, lowest, unread, decides)


def most_kg(parts: Iterable[LoadPart], maybe: Iterable[LoadPart] = ()) -> Decimal:
    """What is known of a load [kg], with everything that may come on top."""
    return sum((part.mass.kg for part in (*parts, *maybe) if part.mass), Decimal(0))


def _unweighed(parts: tuple[LoadPart, ...]) -> tuple[str, ...]:
    return tuple(part.name for part in parts if part.mass is None)


def _rating(gear: Gear) -> Rating:
    return Rating(gear.name, gear.code, gear.rated_load, gear.standard)


def _water(event: Event) -> LoadPart:
    allowance = parameter("wet_clothing_kg", event.day).value
    return LoadPart("water in clothing", Mass(Decimal(str(allowance)), f"{allowance} kg"))


def _attached(device: Gear) -> tuple[LoadPart, ...]:
    """What is fixed to a device; blank means that nothing is."""
    return (LoadPart(f"what is fixed to the {device.name}", device.attached_mass),) if device.attached_mass else ()


def _lowest(ratings: tuple[Rating, ...]) -> Rating | None:
    known = [(rating.limit.kg, rating.code, rating) for rating in ratings if rating.limit]
    return min(known, key=lambda entry: entry[:2])[2] if known else None


def _sentence(
    load: Mass,
    missing: tuple[str, ...],
    unread: tuple[str, ...],
    lowest: Rating | None,
    decides: tuple[LoadPart, ...],
) -> str:
    loaded = f"load {load_shown(load)}"
    if missing:
        known = f"load at least {load_shown(load)}" if load.kg else "load not known"
        loaded = f"{known}: {' and '.join(missing)} not known"
    on_top = " and ".join(f"{load_shown(part.mass)} of {part.name}" for part in decides if part.mass)
    if on_top:
        loaded += f", and perhaps {on_top}"
    against = f"{lowest.name} rated {limit_shown(lowest.limit)}" if lowest and lowest.limit else ""
    if against and lowest and lowest.standard:
        against += f", {lowest.standard}"
    not_read = " and ".join(f"{name} rating not known" for name in unread)
    return f"{loaded}; {'; '.join(text for text in (against, not_read) if text)}"
