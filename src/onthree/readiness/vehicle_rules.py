"""Rules about the ambulances: room to take equipment off, heavy athletes, the one that may leave, and play then."""

from decimal import Decimal

from onthree.loads.chain import cot_chain, worn_load
from onthree.programme.records import Agency, Athlete, MutualAid
from onthree.readiness.finding import Finding, Level
from onthree.readiness.weight_rules import lightest_device
from onthree.readiness.wording import finding, teams_of, wears_equipment
from onthree.sources import parameter
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import numbers
from onthree.transfers.situation import VehicleThere
from onthree.units import Mass, load_shown, total


def vehicle_space(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Ambulances without the room in which helmet and pads come off, or whose room nobody measured."""
    if not wears_equipment(engine):
        return ()
    return tuple(found for there in engine.situation.vehicles for found in _space(engine, there))


def _space(engine: OptionsEngine, there: VehicleThere) -> tuple[Finding, ...]:
    vehicle, needed = there.vehicle, parameter("vehicle_space_cm", engine.event.day)
    spaces = {"left": vehicle.left_space, "right": vehicle.right_space, "head": vehicle.head_space}
    short = [name for name, space in spaces.items() if space and space.m < Decimal(needed.value) / 100]
    missing = [name for name, space in spaces.items() if space is None]
    if short:
        level = Level.TELL
        message = f"equipment removal does not go in the {vehicle.name} ({vehicle.code}): too little room"
        do = "say at the time-out where it comes off instead, or that it stays on to the hospital"
    elif missing:
        level = Level.UNKNOWN
        message = f"not known whether equipment removal goes in the {vehicle.name} ({vehicle.code})"
        do = f"ask {there.agency.name} for the clear space beside the cot and behind its head end"
    else:
        return ()
    evidence = (
        *((f"space at {name}", str(space or "not known")) for name, space in spaces.items()),
        ("needed", f"{needed.value} cm (a guess)" if needed.is_guess else f"{needed.value} cm"),
    )
    who = "medical direction" if short else "ambulance service"
    return (finding(engine, "vehicle-space", level, vehicle.code, message, evidence, do=do, who=who),)


def bariatric_lead(engine: OptionsEngine) -> tuple[Finding, ...]:
    """For athletes over every cot or loading system that may come: how long each agency's bariatric unit takes."""
    over = _over_every_cot(engine)
    if not over:
        return ()
    who = numbers((athlete for athlete, _ in over), teams_of(engine))
    heaviest = max((load for _, load in over), key=lambda load: load.kg)
    agencies = {there.agency.code: there.agency for there in engine.situation.vehicles}
    return tuple(_bariatric(engine, agency, who, heaviest) for agency in agencies.values())


def bariatric_wording(engine: OptionsEngine) -> tuple[Finding, ...]:
    """For athletes over every cot or loading system that may come: what each agency must hear in the first call."""
    over = _over_every_cot(engine)
    if not over:
        return ()
    who = numbers((athlete for athlete, _ in over), teams_of(engine))
    agencies = {there.agency.code: there.agency for there in engine.situation.vehicles}
    return tuple(
        finding(
            engine,
            "bariatric-wording",
            Level.UNKNOWN,
            agency.code,
            f"{who}: what to say in the first call so that {agency.name} sends its bariatric unit is not known",
            (("bariatric wording", "not recorded"),),
            do=f"ask the dispatcher of {agency.name} for the words, and record them",
            who="ambulance service",
        )
        for agency in agencies.values()
        if not agency.bariatric_call
    )


def _over_every_cot(engine: OptionsEngine) -> list[tuple[Athlete, Mass]]:
    """Athletes who for certain are over every cot there, with what they and their equipment weigh."""
    vehicles, device = [there.vehicle for there in engine.situation.vehicles], lightest_device(engine)
    over = []
    for athlete in engine.programme.roster(engine.event):
        worn = worn_load(athlete, engine.programme.teams[athlete.team], engine.event)
        if vehicles and all(cot_chain(worn, device, vehicle).verdict is Verdict.NO for vehicle in vehicles):
            over.append((athlete, total(part.mass for part in worn if part.mass)))
    return over


def _bariatric(engine: OptionsEngine, agency: Agency, who: str, heaviest: Mass) -> Finding:
    minutes = agency.bariatric_lead_min
    if minutes is None:
        level, message = Level.UNKNOWN, f"{who}: over every cot there; bariatric unit of {agency.name} not known"
        do = f"ask {agency.name} how long its bariatric unit takes, or who sends one"
    else:
        level, message = Level.TELL, f"{who}: over every cot there; bariatric unit of {agency.name} in {minutes} min"
        do = "ask for the bariatric unit in the first call, and hold until it is there"
    evidence = (
        ("bariatric unit", "not known" if minutes is None else f"{minutes} min from the call"),
        ("heaviest load", load_shown(heaviest)),
    )
    who_can = "ambulance service" if minutes is None else "lead"
    return finding(engine, "bariatric-lead", level, agency.code, message, evidence, do=do, who=who_can)


def ambulance_may_leave(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Ambulances of the event that may be called away: what remains, and who comes instead."""
    return tuple(
        _leaves(engine, there) for there in engine.situation.vehicles if there.vehicle.code in engine.event.may_leave
    )


def play_paused_by(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Games at which no ambulance stands by, or one may leave, and nobody is recorded who pauses play."""
    event = engine.event
    standing_by = [there.vehicle for there in engine.situation.vehicles if there.from_min == 0]
    leaving = [vehicle for vehicle in standing_by if vehicle.code in event.may_leave]
    if event.kind != "game" or event.pauses_play or (standing_by and not leaving):
        return ()
    away = f"while the {' or the '.join(vehicle.name for vehicle in leaving)} is away"
    message = f"nobody is recorded who pauses play {away if leaving else 'where no ambulance stands by'}"
    evidence = (
        ("ambulances on stand-by", str(len(standing_by))),
        ("may leave", ", ".join(vehicle.code for vehicle in leaving) or "none"),
    )
    do = "agree with officials and game manager who pauses play, and until when; record it"
    return (finding(engine, "play-paused-by", Level.UNKNOWN, event.code, message, evidence, do=do, who="lead"),)


def _leaves(engine: OptionsEngine, leaving: VehicleThere) -> Finding:
    remaining = [there for there in engine.situation.vehicles if there is not leaving]
    aid = sorted(
        (row for row in engine.programme.mutual_aid.values() if row.agency == leaving.agency.code),
        key=lambda row: (row.usual_min is None, row.usual_min or 0, row.code),
    )
    instead = [_comes(engine, row) for row in aid]
    remains = " and ".join(_remains(engine, there) for there in remaining) or "no ambulance remains"
    replaced = f"instead comes {', or '.join(instead)}" if instead else "nobody knows who comes instead"
    message = f"the {leaving.vehicle.name} ({leaving.vehicle.code}) may leave: then {remains}; {replaced}"
    do = "agree who says that it leaves, who calls the next one, and whether play goes on without it"
    if not aid or aid[0].usual_min is None:
        do = f"ask {leaving.agency.name} who comes instead and in how many minutes; {do}"
    crew = leaving.vehicle.crew
    lost = (("leaves with it", f"its cot and {'a crew nobody counted' if crew is None else f'a crew of {crew}'}"),)
    code = leaving.vehicle.code
    return finding(engine, "ambulance-may-leave", Level.TELL, code, message, lost, do=do, who="lead")


def _comes(engine: OptionsEngine, row: MutualAid) -> str:
    when = "nobody knows when" if row.usual_min is None else f"usually in {row.usual_min} min"
    return f"{engine.programme.agencies[row.replacement].name}, {when}"


def _remains(engine: OptionsEngine, there: VehicleThere) -> str:
    when = f"comes in {there.from_min} min" if there.from_min else "remains"
    also = " unless it leaves too" if there.vehicle.code in engine.event.may_leave else ""
    return f"the {there.vehicle.name} ({there.vehicle.code}) {when}{also}"
