"""Rules about the plan at a venue: the version that hangs there, address and numbers for the dispatcher."""

from onthree.readiness.finding import Finding, Level
from onthree.readiness.intervals import day_shown, interval_shown, overdue
from onthree.readiness.wording import finding
from onthree.transfers.options import OptionsEngine


def plan_posted(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Venues where another version of our plan hangs than the one in force, or of which nobody can tell."""
    venue, organisation = engine.programme.venues[engine.event.venue], engine.programme.organisation
    if engine.event.plan_of == "the host's":
        return ()
    posted, in_force = venue.plan_posted.strip(), organisation.plan_version.strip()
    if posted and in_force and posted.casefold() != in_force.casefold():
        level, message = Level.FIX, f"another version of the plan hangs at the {venue.name} than the one in force"
        do = "post the version in force, and take the old one down"
    elif not (posted and in_force):
        level, message = Level.UNKNOWN, f"not known whether the plan in force hangs at the {venue.name}"
        do = "look which version hangs there, and record it and the version in force"
    else:
        return ()
    evidence = (("posted", posted or "not recorded"), ("in force", in_force or "not recorded"))
    return (finding(engine, "plan-posted", level, venue.code, message, evidence, do=do, who="lead"),)


def details_unverified(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Venues without an address, or whose address and telephone numbers were not verified lately."""
    venue = engine.programme.venues[engine.event.venue]
    level = overdue(engine, venue.details_verified_on, "details_verified_days")
    if level is None and venue.address:
        return ()
    words = [] if venue.address else ["no address recorded"]
    if level is Level.FIX:
        words.append("address and numbers not verified lately")
    elif level is Level.UNKNOWN:
        words.append("not known when address and numbers were verified")
    return (
        finding(
            engine,
            "details-unverified",
            level or Level.UNKNOWN,
            venue.code,
            f"{venue.name}: {'; '.join(words)}",
            (
                ("address", venue.address or "not recorded"),
                ("verified", day_shown(venue.details_verified_on)),
                ("interval", interval_shown(engine, "details_verified_days")),
            ),
            do="ask the dispatcher to read the address back, call every number once, and record address and day",
            who="lead",
        ),
    )
