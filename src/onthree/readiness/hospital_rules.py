"""Rules about the receiving hospital: what was agreed with it, whether it takes children, who rides there."""

from onthree.programme.records import Athlete, Hospital
from onthree.readiness.finding import Finding, Level
from onthree.readiness.intervals import day_shown, interval_shown, overdue
from onthree.readiness.wording import finding, teams_of
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import name_athletes

UNDER_15 = ("under 8", "8 to 14")


def hospital_agreed(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Venues without a receiving hospital; hospitals that did not lately agree on how an athlete is handed over."""
    venue, hospital = engine.programme.venues[engine.event.venue], _receiving(engine)
    if hospital is None:
        message = f"which hospital an ambulance goes to from the {venue.name} is not recorded"
        evidence, do = (
            (("receiving hospital", "not recorded"),),
            "ask the agency, and record hospital and what it takes",
        )
        return (finding(engine, "hospital-agreed", Level.UNKNOWN, venue.code, message, evidence, do=do, who="lead"),)
    level = overdue(engine, hospital.agreed_on, "hospital_agreement_days")
    if level is None:
        return ()
    how = "how an athlete in helmet and pads is handed over"
    if level is Level.FIX:
        message = f"the emergency department of {hospital.name} did not lately agree on {how}"
    else:
        message = f"not known whether the emergency department of {hospital.name} agreed on {how}"
    return (
        finding(
            engine,
            "hospital-agreed",
            level,
            hospital.code,
            message,
            (
                ("agreed", day_shown(hospital.agreed_on)),
                ("interval", interval_shown(engine, "hospital_agreement_days")),
            ),
            do="go through equipment, device and tools with its emergency department, and record the day",
            who="lead",
        ),
    )


def hospital_children(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Athletes under 15, or of unknown age, where the receiving hospital is not recorded to take children."""
    hospital, roster = _receiving(engine), engine.programme.roster(engine.event)
    if hospital is None or "children" in hospital.capabilities:
        return ()
    children = [athlete for athlete in roster if athlete.age_group in UNDER_15]
    ageless = [athlete for athlete in roster if athlete.age_group is None]
    if children:
        return (_for_children(engine, hospital, children),)
    if not ageless:
        return ()
    message = f"age not recorded, and {hospital.name} is not recorded to take children"
    do = "record the age groups of the roster; under 15: ask which hospital takes them"
    return (_children(engine, hospital, Level.UNKNOWN, ageless, message, do),)


def _for_children(engine: OptionsEngine, hospital: Hospital, children: list[Athlete]) -> Finding:
    if hospital.capabilities:
        level, message = Level.TELL, f"under 15, and {hospital.name} is not recorded to take children"
        do = "ask the agency where it takes somebody under 15, and say so at the time-out"
    else:
        level, message = Level.UNKNOWN, f"under 15, and what {hospital.name} takes is not known"
        do = "ask the hospital whether it takes children, and record what it takes"
    return _children(engine, hospital, level, children, message, do)


def _children(
    engine: OptionsEngine, hospital: Hospital, level: Level, athletes: list[Athlete], message: str, do: str
) -> Finding:
    who = name_athletes(athletes, teams_of(engine))
    evidence = (("takes", ", ".join(hospital.capabilities) or "not known"), ("athletes", str(len(athletes))))
    message = f"{who}: {message}"
    return finding(engine, "hospital-children", level, hospital.code, message, evidence, do=do, who="lead")


def rides_along(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Events for which nobody is recorded who rides to the hospital with the tools."""
    if engine.event.rides_along:
        return ()
    return (
        finding(
            engine,
            "rides-along",
            Level.UNKNOWN,
            engine.event.code,
            "nobody is recorded who rides to the hospital with the tools that take the equipment off",
            (("rides along", "not recorded"),),
            do="name who rides along with the tools, and who takes that place at the event",
            who="lead",
        ),
    )


def _receiving(engine: OptionsEngine) -> Hospital | None:
    code = engine.programme.venues[engine.event.venue].hospital
    return engine.programme.hospitals[code] if code else None
