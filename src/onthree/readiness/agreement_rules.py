"""Rules about what was settled and rehearsed with the agencies, what clashes, and events under the host's plan."""

from datetime import date

from onthree.programme.records import Agency, PreAgreement, Shift
from onthree.programme.together import rehearsed_on
from onthree.readiness.finding import Finding, Level
from onthree.readiness.intervals import day_shown, interval_shown, overdue
from onthree.readiness.wording import finding, teams_of
from onthree.techniques.state import spoken
from onthree.transfers.agreements import Agreed, Clash, clashes, in_words
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import name_athletes
from onthree.transfers.situation import is_valid


def protocol_unmatched(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Agreements valid on the day that were settled on another protocol edition than the one in force."""
    agencies = {there.agency.code: there.agency for there in engine.situation.vehicles}
    return tuple(
        found
        for agreement in engine.programme.agreements.values()
        if agreement.agency in agencies and agreement.answer != "undecided" and is_valid(agreement, engine.event.day)
        for found in _unmatched(engine, agreement, agencies[agreement.agency])
    )


def _unmatched(engine: OptionsEngine, agreement: PreAgreement, agency: Agency) -> tuple[Finding, ...]:
    what = f"{spoken(agreement.technique)} with {agency.name}"
    is_old = _is_older(agreement, agency, engine.event.day)
    if is_old is False:
        return ()
    if is_old:
        level = Level.FIX
        message = f"{what} was settled on another protocol edition than the one in force"
        do = f"go through it again with {agency.name} on the edition in force, and record edition and day"
    else:
        level = Level.UNKNOWN
        message = f"not known whether {what} was settled on the protocol edition in force"
        do = f"ask {agency.name} for its edition and since when, and record the edition it was settled on"
    since = f", since {agency.protocol_on.isoformat()}" if agency.protocol_on else ""
    settled = agreement.settled_on.isoformat() if agreement.settled_on else "a day not recorded"
    evidence = (
        ("settled on", f"edition {agreement.protocol_edition or 'not recorded'}, {settled}"),
        ("in force", f"edition {agency.protocol_edition or 'not recorded'}{since}"),
    )
    return (finding(engine, "protocol-unmatched", level, agreement.code, message, evidence, do=do, who="lead"),)


def _is_older(agreement: PreAgreement, agency: Agency, day: date) -> bool | None:
    """Whether it was settled on another edition or before the one in force began; None where nobody can tell."""
    since, settled = agency.protocol_on, agreement.settled_on
    if since and since > day:
        return None
    if since and settled and settled < since:
        return True
    if not (agreement.protocol_edition and agency.protocol_edition):
        return None
    return agreement.protocol_edition.strip().casefold() != agency.protocol_edition.strip().casefold()


def rehearsed_with(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Agencies that may come, or their shifts on duty where the event names them, not rehearsed with lately."""
    agencies = {there.agency.code: there.agency for there in engine.situation.vehicles}
    return tuple(
        found
        for agency in agencies.values()
        for crew in _on_duty(engine, agency) or (agency,)
        for found in _rehearsed(engine, agency, crew)
    )


def _on_duty(engine: OptionsEngine, agency: Agency) -> tuple[Shift, ...]:
    shifts = (engine.programme.shifts[code] for code in engine.event.shifts)
    return tuple(shift for shift in shifts if shift.agency == agency.code)


def _rehearsed(engine: OptionsEngine, agency: Agency, crew: Agency | Shift) -> tuple[Finding, ...]:
    name = agency.name if crew is agency else f"the {crew.name} of {agency.name}"
    done, since = rehearsed_on(engine.programme, crew), agency.protocol_on
    level = overdue(engine, done, "rehearsal_interval_days")
    if level is Level.FIX:
        message = f"{name} did not rehearse with us lately"
    elif level is Level.UNKNOWN:
        message = f"not known whether {name} ever rehearsed with us"
    elif since and done and done < since <= engine.event.day:
        level, message = Level.FIX, f"{name} did not rehearse with us since its protocol edition began"
    else:
        return ()
    evidence = (
        ("rehearsed", day_shown(done)),
        ("protocol since", day_shown(since)),
        ("interval", interval_shown(engine, "rehearsal_interval_days")),
    )
    do = "rehearse one transfer with them before the event, and record the day; or go through it at the time-out"
    return (finding(engine, "rehearsed-with", level, crew.code, message, evidence, do=do, who="lead"),)


def agreements_clash(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Agreements with the agencies that may come which together leave somebody no option; one for each smallest set."""
    sets: dict[frozenset[Agreed], list[Clash]] = {}
    for clash in clashes(engine):
        sets.setdefault(clash.together, []).append(clash)
    return tuple(_clashing(engine, together, found) for together, found in sets.items())


def _clashing(engine: OptionsEngine, together: frozenset[Agreed], found: list[Clash]) -> Finding:
    what = "; and ".join(sorted(in_words(engine, one) for one in together))
    names = sorted({engine.programme.agencies[code].name for code, _ in together})
    return finding(
        engine,
        "agreements-clash",
        Level.FIX,
        engine.event.code,
        f"{what}: {'this leaves' if len(together) == 1 else 'together they leave'} no option",
        tuple((f"found {one.position}", name_athletes(one.athletes, teams_of(engine))) for one in found),
        do=f"settle {'it' if len(together) == 1 else 'one of them'} anew with {' and '.join(names)} before the event",
        who="lead",
    )


def host_plan(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Events under the emergency action plan of the host."""
    event, venue = engine.event, engine.programme.venues[engine.event.venue]
    if event.plan_of != "the host's":
        return ()
    return (
        finding(
            engine,
            "host-plan",
            Level.TELL,
            event.code,
            f"the host's emergency action plan holds at the {venue.name}",
            (("plan of", "the host"), ("way in", venue.ambulance_access or "not recorded")),
            do="ask the host for the plan, who leads, who calls, and where ambulance and AED are; say who leads for us",
            who="lead",
        ),
    )
