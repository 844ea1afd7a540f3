"""Rules about weight limits: who is over one, and which limits nobody can read."""

from collections.abc import Iterator

from onthree.loads.chain import ChainResult, worn_load
from onthree.programme.records import Athlete, Gear, Vehicle
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding, teams_of
from onthree.techniques.state import CARRYING_DEVICES
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import numbers
from onthree.units import limit_shown, load_kg_shown, load_shown


def weight_limit(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Athletes whose load is over the rated load of a carrying device, of straps, or of an ambulance's cot there."""
    carrying = (*carrying_devices(engine), *_straps(engine))
    devices = (over for gear in carrying for over in _over(engine, gear.code, gear.name, gear, None))
    lightest = lightest_device(engine)
    cots = (
        over
        for there in engine.situation.vehicles
        for over in _over(engine, there.vehicle.code, f"cot of the {there.vehicle.name}", lightest, there.vehicle)
    )
    return (*devices, *cots)


def rating_unknown(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Carrying devices, straps and ambulances at the event whose rated load nobody can read or recorded."""
    return (
        *(
            _unread(engine, gear.code, gear.name, _FIND_LABEL, "gear keeper")
            for gear in (*carrying_devices(engine), *_straps(engine))
            if gear.rated_load is None
        ),
        *(
            _unread(
                engine,
                there.vehicle.code,
                f"cot or loading system of the {there.vehicle.name}",
                f"ask {there.agency.name} for the rating plates",
                "ambulance service",
            )
            for there in engine.situation.vehicles
            if _has_unread_rating(there.vehicle)
        ),
    )


def lightest_device(engine: OptionsEngine) -> Gear | None:
    """The carrying device that loads a cot least; one without a mass counts as the lightest."""
    return min(carrying_devices(engine), key=lambda gear: gear.own_mass.kg if gear.own_mass else 0, default=None)


def carrying_devices(engine: OptionsEngine) -> tuple[Gear, ...]:
    """The carrying devices that are brought to the event."""
    return tuple(item.gear for kind in CARRYING_DEVICES for item in engine.situation.of_kind(kind))


def _straps(engine: OptionsEngine) -> tuple[Gear, ...]:
    return tuple(item.gear for item in engine.situation.of_kind("straps"))


def _over(
    engine: OptionsEngine, code: str, name: str, device: Gear | None, vehicle: Vehicle | None
) -> Iterator[Finding]:
    judged = [(athlete, _chain(engine, athlete, device, vehicle)) for athlete in engine.programme.roster(engine.event)]
    over = [(athlete, chain) for athlete, chain in judged if chain.verdict is Verdict.NO]
    if not over:
        return
    who = numbers((athlete for athlete, _ in over), teams_of(engine))
    heaviest = max((chain for _, chain in over), key=lambda chain: chain.load.kg)
    assert heaviest.lowest and heaviest.lowest.limit
    is_straps = device is not None and device.kind == "straps"
    enough = [
        gear.name
        for gear in (_straps(engine) if is_straps else carrying_devices(engine))
        if gear.in_service and gear.rated_load and gear.rated_load.kg >= heaviest.load.kg
    ]
    instead = "bring straps with a higher rating" if is_straps else "arrange a device and cot with a higher rating"
    yield finding(
        engine,
        "weight-limit",
        Level.TELL,
        code,
        f"{who}: over the weight limit of the {name}",
        (
            ("rated load", ", ".join(filter(None, (limit_shown(heaviest.lowest.limit), heaviest.lowest.standard)))),
            ("heaviest load", load_shown(heaviest.load)),
            ("over by up to", load_kg_shown(heaviest.load.kg - heaviest.lowest.limit.kg)),
            ("athletes", str(len(over))),
        ),
        do=f"for them use the {' or the '.join(enough)}" if enough and not vehicle else instead,
        who="lead" if enough and not vehicle else "gear keeper" if is_straps else "ambulance service",
    )


def _chain(engine: OptionsEngine, athlete: Athlete, device: Gear | None, vehicle: Vehicle | None) -> ChainResult:
    judge = engine.judge_of(worn_load(athlete, engine.programme.teams[athlete.team], engine.event))
    if vehicle:
        return judge.cot_load(device, vehicle)
    assert device
    return judge.device_load(device)


_FIND_LABEL = "find the label or the maker's manual, or leave it at home"


def _unread(engine: OptionsEngine, code: str, name: str, do: str, who: str) -> Finding:
    return finding(
        engine,
        "rating-unknown",
        Level.UNKNOWN,
        code,
        f"the weight limit of the {name} ({code}) is not known",
        (("rated load", "not known"),),
        do=do,
        who=who,
    )


def _has_unread_rating(vehicle: Vehicle) -> bool:
    loading_unread = vehicle.has_loading_system is not False and vehicle.loading_rated_load is None
    return vehicle.cot_rated_load is None or loading_unread
