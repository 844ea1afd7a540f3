"""Rules about what comes before every transfer: the AED, the tub, airway and suction, and who signed for them."""

from collections.abc import Iterator

from onthree.programme.records import MedicalOrder
from onthree.readiness.approval import approval
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding
from onthree.sources import parameter
from onthree.techniques.life_first import life_first_pages
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import OptionsEngine

AIRWAY_ORDER = "airway and suction"
HEAT_STROKE_PAGE = "life_first/heat_stroke"
_AIRWAY_GEAR = ("airway kit", "suction")
_SHOWN = {Verdict.OK: "there", Verdict.UNKNOWN: "not known", Verdict.NO: "not there"}
_LEVELS = {Verdict.NO: Level.FIX, Verdict.UNKNOWN: Level.UNKNOWN}


def aed_time(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Venues without an AED, with one too far away for the first shock in time, or that nobody timed."""
    venue, target = engine.programme.venues[engine.event.venue], parameter("first_shock_s", engine.event.day)
    places = [place for place in engine.programme.places.values() if (place.venue, place.kind) == (venue.code, "AED")]
    timed = sorted((place.reach_s, place.code, place.name) for place in places if place.reach_s)
    is_brought = _there(engine, "AED") is not Verdict.NO
    subject = venue.code
    if timed and timed[0][0] < target.value:
        return ()
    if not places and not is_brought:
        level, message = _absent(engine), f"no AED recorded at the {venue.name}, none brought"
        do = f"{_ask_first(engine)}bring an AED; say at the time-out where it stands and who fetches it"
    elif is_brought or len(timed) < len(places):
        level, message = Level.UNKNOWN, f"not known how soon an AED is used at the farthest spot of the {venue.name}"
        do = "fetch it once from the farthest spot with a watch, and record place and seconds"
    else:
        reach_s, subject, name = timed[0]
        level, message = Level.FIX, f"{reach_s} s to the {name} and its use at the farthest spot"
        do = "bring an AED to the sideline, or move this one nearer"
    latest = parameter("first_shock_latest_s", engine.event.day)
    evidence = (
        *((name, f"{reach_s} s, from a call to its use") for reach_s, _, name in timed),
        *((f"target: less than {each.value} s", f"{each.where} ({each.source})") for each in (target, latest)),
    )
    return (finding(engine, "aed-time", level, subject, message, evidence, do=do, who="lead"),)


def cooling_absent(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Events off the ice without a tub or a place to cool, or without an order about heat stroke."""
    if engine.situation.surface == "ice":
        return ()
    venue = engine.event.venue
    has_place = any(place.kind == "cooling" for place in engine.programme.places.values() if place.venue == venue)
    tub = Verdict.OK if has_place else _there(engine, "cooling tub")
    is_ordered = approval(engine.programme, HEAT_STROKE_PAGE, engine.event.day) is not None
    if tub is Verdict.OK and is_ordered:
        return ()
    words, steps = [], []
    if tub is not Verdict.OK:
        words.append(
            "no tub brought, no place to cool recorded" if tub is Verdict.NO else "the tub may be out of service"
        )
        steps.append(f"{_ask_first(engine)}bring a tub, water and ice")
    if not is_ordered:
        words.append("no order of medical direction in force")
        steps.append("ask medical direction to sign the page about it")
    return (
        finding(
            engine,
            "cooling-absent",
            _absent(engine) if tub is Verdict.NO else Level.UNKNOWN,
            engine.event.code,
            f"heat stroke: {'; '.join(words)}",
            (
                ("cool first, transport second", "many ambulance protocols say otherwise: agree it with the agency"),
                ("order about heat stroke", "in force" if is_ordered else "none in force on the day"),
            ),
            do="; ".join(steps),
            who="lead" if tub is not Verdict.OK else "medical direction",
        ),
    )


def airway_gear(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Events without airway kit, suction, or somebody there from the start who has rehearsed the airway."""
    parts = {kind: _there(engine, kind) for kind in _AIRWAY_GEAR}
    hands = [hand for hand in engine.situation.hands if hand.from_min == 0 and not hand.is_lay]
    if any("airway" in hand.skills and hand.is_certain for hand in hands):
        skilled = Verdict.OK
    else:
        may_be = any("airway" in hand.skills or not hand.is_recorded for hand in hands)
        skilled = Verdict.UNKNOWN if may_be else Verdict.NO
    parts["somebody there from the start who has rehearsed the airway"] = skilled
    worst = max(parts.values())
    if worst is Verdict.OK:
        return ()
    absent = [what for what, verdict in parts.items() if verdict is Verdict.NO]
    unsure = [what for what, verdict in parts.items() if verdict is Verdict.UNKNOWN]
    words = [f"not there: {', '.join(absent)}"] if absent else []
    words += [f"not known: {', '.join(unsure)}"] if unsure else []
    return (
        finding(
            engine,
            "airway-gear",
            _LEVELS[worst],
            engine.event.code,
            f"airway, {'; '.join(words)}",
            tuple((what, _SHOWN[verdict]) for what, verdict in parts.items()),
            do="bring kit and suction, checked, and name who uses them; record skills that are not known",
            who="lead",
        ),
    )


def standing_orders(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Airway kits brought without an order of medical direction about airway and suction that holds on the day."""
    day = engine.event.day
    if not engine.situation.of_kind("airway kit") or approval(engine.programme, AIRWAY_ORDER, day):
        return ()
    orders = tuple(_orders(engine, AIRWAY_ORDER))
    if orders:
        level, message = Level.FIX, "the standing order about airway and suction does not hold on the day"
    else:
        level, message = Level.UNKNOWN, "an airway kit is brought, and no standing order about it is recorded"
    return (
        finding(
            engine,
            "standing-orders",
            level,
            engine.event.code,
            message,
            tuple((order.code, _held(order)) for order in orders) or ((AIRWAY_ORDER, "not recorded"),),
            do=f"ask medical direction to sign what may be used and by whom, and record it as: {AIRWAY_ORDER}",
            who="medical direction",
        ),
    )


def life_first_unapproved(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Life-first pages that no order of medical direction approves on the event's day, in one finding."""
    day = engine.event.day
    pages = [page for page in life_first_pages() if approval(engine.programme, page.about, day) is None]
    if not pages:
        return ()
    evidence = tuple((page.id, "; ".join(map(_held, _orders(engine, page.about))) or "never signed") for page in pages)
    return (
        finding(
            engine,
            "life-first-unapproved",
            Level.UNKNOWN,
            engine.event.code,
            f"life-first pages that medical direction did not approve: {', '.join(page.title for page in pages)}",
            evidence,
            do="ask medical direction to read, change and sign them; until then they are sourced defaults",
            who="medical direction",
        ),
    )


def _there(engine: OptionsEngine, kind: str) -> Verdict:
    """Whether an item of a kind is there from the start and in service."""
    in_service = [item.gear.in_service for item in engine.situation.of_kind(kind) if item.from_min == 0]
    if True in in_service:
        return Verdict.OK
    return Verdict.UNKNOWN if None in in_service else Verdict.NO


def _absent(engine: OptionsEngine) -> Level:
    """Under the host's plan what we do not see may well be there: it is asked."""
    return Level.UNKNOWN if engine.event.plan_of == "the host's" else Level.FIX


def _ask_first(engine: OptionsEngine) -> str:
    return "ask the host, or " if engine.event.plan_of == "the host's" else ""


def _orders(engine: OptionsEngine, about: str) -> Iterator[MedicalOrder]:
    return (order for order in engine.programme.medical_orders.values() if order.about == about)


def _held(order: MedicalOrder) -> str:
    until = f" until {order.until.isoformat()}" if order.until else ""
    return f"signed by {order.signer}, {order.signed_on.isoformat()}{until}"
