"""Causes: everything that can close a technique, each with a verdict, one sentence, and who can fix it."""

from collections.abc import Mapping
from dataclasses import dataclass

from onthree.loads.chain import ChainResult
from onthree.programme.records import Gear
from onthree.techniques.technique import FixableBy, Need
from onthree.techniques.verdict import Verdict
from onthree.transfers.catalogue import Step
from onthree.transfers.hands import Crew
from onthree.transfers.situation import GearThere, Situation, VehicleThere

NEVER_MIN = 10_000


@dataclass(frozen=True)
class Cause:
    """One check of one technique: verdict, the minute from which it holds [min], why, and who can fix it."""

    id: str
    verdict: Verdict
    from_min: int
    sentence: str
    do: str
    fixable_by: FixableBy


@dataclass(frozen=True)
class Items:
    """The carrying devices an option uses, by kind, and the ambulance; None where the event has none."""

    devices: Mapping[str, GearThere | None]
    vehicle: VehicleThere | None

    def device(self, kind: str) -> Gear | None:
        """The device of a kind in hand."""
        there = self.devices.get(kind)
        return there.gear if there else None

    def code(self, kind: str) -> str:
        """The code of the device of a kind in hand, empty where there is none."""
        there = self.devices.get(kind)
        return there.gear.code if there else ""


FIELDS = {"surface": "surface", "way": "way of the cot"}


def place_of(situation: Situation, field: str) -> str | None:
    """What the place is like in a field that limits may name; None where nobody recorded it."""
    return situation.surface if field == "surface" else situation.way


def cautions(step: Step, situation: Situation) -> tuple[str, ...]:
    """What asks for care when a step is done at this place."""
    said = [
        f"{step.technique.title}: {limit.reason}"
        for limit in step.technique.limit
        if limit.verdict == "caution" and place_of(situation, limit.field) in limit.values
    ]
    return (*said, *(f"{step.technique.title}: {caution.says}" for caution in step.technique.caution))


def how_bad(causes: tuple[Cause, ...]) -> tuple[object, ...]:
    """Of several items of a kind the one with the best verdict is taken, then the one that is there first."""
    return (
        max(cause.verdict for cause in causes),
        sum(bool(cause.verdict) for cause in causes),
        max(cause.from_min for cause in causes),
        causes[0].id,
    )


def load_cause(id: str, chain: ChainResult, from_min: int, do: str, fixable_by: FixableBy) -> Cause:
    """A load against its ratings as a cause; what an athlete weighs with all that is worn, the lead finds out."""
    is_weighed = chain.verdict is Verdict.NO or chain.is_complete
    return Cause(id, chain.verdict, from_min, chain.sentence, do, fixable_by if is_weighed else "lead")


def do_about(chain: ChainResult, when_over: str) -> str:
    """What to do about a load that is over, or not known."""
    return when_over if chain.verdict is Verdict.NO else f"find out {' and '.join(chain.missing)}"


def hands_cause(step: Step, lifters: tuple[int, int], crew: Crew, missing: str) -> Cause:
    """Whether the people who come fill the roles of a step; ``missing`` is what of the load is not known."""
    fewest, most = lifters
    id = f"hands/{step.technique.id}" + (f"/{most}" if most else "")
    people = f"{crew.least_count} people needed"
    do = "bring or call more trained people"
    if crew.verdict is Verdict.OK:
        sentence = f"{people}, there from minute {crew.from_min}"
    elif crew.verdict is Verdict.NO:
        short = ", ".join(f"{role} short by {count}" for role, count in crew.short_of)
        sentence = f"{people}, {crew.there_count} come: {short}"
    elif fewest != most:
        sentence, do = (
            f"{people}, or {most - fewest} more: the load is not known",
            f"find out {missing}",
        )
    else:
        sentence = f"{people}; skills, fitness to lift or number of those there are not recorded"
        do = "record skills, fitness to lift and ambulance crews"
    return Cause(id, crew.verdict, crew.from_min, f"{step.technique.title}: {sentence}", do, "lead")


def absent(need: Need) -> Cause:
    """No item of a kind that is needed."""
    verdict = Verdict.NO if need.is_certain else Verdict.UNKNOWN
    kinds = " or ".join(need.kinds)
    sentence = f"no {kinds} at the event" + ("" if need.is_certain else ", and it may be needed")
    return Cause(f"gear/{kinds}", verdict, NEVER_MIN, sentence, f"bring: {kinds}", "gear keeper")


def present(there: GearThere) -> Cause:
    """An item that is there."""
    return Cause(
        f"gear/{there.gear.code}", Verdict.OK, there.from_min, f"{there.gear.name} is there", "", "gear keeper"
    )


def in_service(there: GearThere) -> Cause:
    """Whether an item is in service."""
    gear = there.gear
    verdict = {True: Verdict.OK, False: Verdict.NO, None: Verdict.UNKNOWN}[gear.in_service]
    words = {True: "is in service", False: "is out of service", None: "may be out of service: not recorded"}[
        gear.in_service
    ]
    return Cause(
        f"in-service/{gear.code}",
        verdict,
        there.from_min,
        f"{gear.name} {words}",
        f"check the {gear.name} or bring another",
        "gear keeper",
    )


def accessory(there: GearThere, lies_on: Gear | str) -> Cause:
    """Whether an accessory fits what the athlete lies on: a carrying device in hand, or else a kind of thing."""
    gear = there.gear
    kind, code, name = (lies_on.kind, lies_on.code, lies_on.name) if isinstance(lies_on, Gear) else (lies_on,) * 3
    fits = kind in gear.fits and (not gear.fits_items or not isinstance(lies_on, Gear) or code in gear.fits_items)
    if not gear.fits:
        verdict, words = Verdict.UNKNOWN, f"not recorded whether {gear.name} fit the {name}"
    else:
        verdict, words = (
            (Verdict.OK if fits else Verdict.NO),
            f"{gear.name} {'fit' if fits else 'do not fit'} the {name}",
        )
    return Cause(
        f"accessory/{gear.code}/{code}",
        verdict,
        there.from_min,
        words,
        f"bring {gear.kind} that fit the {name}" if gear.fits else f"find out whether the {gear.name} fit",
        "gear keeper",
    )
