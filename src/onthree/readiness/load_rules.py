"""Rules about loads nobody can add up, and carrying devices on the cot of an ambulance."""

from onthree.readiness.finding import Finding, Level
from onthree.readiness.weight_rules import carrying_devices
from onthree.readiness.wording import finding, teams_of
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import name_athletes


def load_unknown(engine: OptionsEngine) -> tuple[Finding, ...]:
    """What has to be weighed before every load at the event can be added up: the fewest things first."""
    roster = engine.programme.roster(engine.event)
    unweighed = [athlete for athlete in roster if athlete.mass is None]
    bare = {athlete.team for athlete in roster if athlete.equipment_mass is None}
    teams = [team.name for code, team in teams_of(engine).items() if team.equipment_mass is None and code in bare]
    devices = [f"{gear.name} ({gear.code})" for gear in carrying_devices(engine) if gear.own_mass is None]
    wanted = (
        *(f"the heaviest set of equipment of the {name}" for name in teams),
        *([f"the body mass of {name_athletes(unweighed, teams_of(engine))}"] if unweighed else []),
        *(f"the {name} itself" for name in devices),
    )
    if not wanted:
        return ()
    counts = (("athletes not weighed", len(unweighed)), ("teams", len(teams)), ("devices", len(devices)))
    return (
        finding(
            engine,
            "load-unknown",
            Level.UNKNOWN,
            engine.event.code,
            "some loads cannot be added up: what hangs on a rating is not known there",
            tuple((what, str(count)) for what, count in counts if count),
            do=f"weigh {'; '.join(wanted)}",
            who="lead",
        ),
    )


def cot_retention(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Ambulances whose cot does not hold a kind of carrying device that is brought, or of which nobody recorded it."""
    brought = tuple(dict.fromkeys(gear.kind for gear in carrying_devices(engine)))
    found = []
    for there in engine.situation.vehicles:
        vehicle = there.vehicle
        missing = [kind for kind in brought if kind not in vehicle.retains]
        if not missing:
            continue
        level = Level.FIX if vehicle.retains else Level.UNKNOWN
        holds = (
            f"does not hold: {', '.join(missing)}" if vehicle.retains else "holds which carrying device is not known"
        )
        found.append(
            finding(
                engine,
                "cot-retention",
                level,
                vehicle.code,
                f"the cot of the {vehicle.name} ({vehicle.code}) {holds}",
                (("brought", ", ".join(brought)), ("retention takes", ", ".join(vehicle.retains) or "not recorded")),
                do=f"ask {there.agency.name} how the device is held for the ride, or take it out on the cot",
                who="ambulance service",
            )
        )
    return tuple(found)
