"""Rules about tools and accessories: ready, tried on the helmets worn there, fitting the carrying devices there."""

from collections.abc import Iterator, Mapping, Sequence

from onthree.programme.records import Athlete, Gear
from onthree.readiness.finding import Finding, Level
from onthree.readiness.wording import finding, teams_of, wears_equipment
from onthree.techniques.state import ACCESSORIES, CARRYING_DEVICES, TOOLS
from onthree.techniques.verdict import Verdict, of_all
from onthree.transfers.options import OptionsEngine
from onthree.transfers.sentence import name_athletes

_LEVELS = {Verdict.NO: Level.FIX, Verdict.UNKNOWN: Level.UNKNOWN}
_READ = {True: Verdict.OK, False: Verdict.NO, None: Verdict.UNKNOWN}
_SHOWN = {True: "yes", False: "no", None: "not recorded"}
_TOOLS_FOR = {
    "screws": ("powered screwdriver", "cutting tool"),
    "quick release": ("quick-release tool", "cutting tool"),
}

Tried = Mapping[str, Mapping[str, tuple[str, ...]]]
"""Kind of tool there and in service, to its items, to the helmet models each was tried on."""


def tool_not_ready(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Powered screwdrivers at the event that are not charged or lack the right bit, or at which nobody looked."""
    drivers = engine.situation.of_kind("powered screwdriver")
    return tuple(found for item in drivers for found in _not_ready(engine, item.gear))


def _not_ready(engine: OptionsEngine, gear: Gear) -> Iterator[Finding]:
    verdict = of_all((_READ[gear.is_charged], _READ[gear.has_right_bit]))
    if verdict is Verdict.OK:
        return
    name = f"the {gear.name} ({gear.code})"
    wrong = ["not charged"] if gear.is_charged is False else []
    wrong += ["without the right bit"] if gear.has_right_bit is False else []
    yield finding(
        engine,
        "tool-not-ready",
        _LEVELS[verdict],
        gear.code,
        f"{name}: {' and '.join(wrong)}" if wrong else f"not known whether {name} is charged and has the right bit",
        (("charged", _SHOWN[gear.is_charged]), ("right bit", _SHOWN[gear.has_right_bit])),
        do=f"charge {gear.code}, put in the right bit, try it on a helmet, and record it",
        who="gear keeper",
    )


def tool_untried(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Helmet models worn there on which no item of a kind of tool that is there was ever tried."""
    wearers: dict[str, list[Athlete]] = {}
    for athlete in engine.programme.roster(engine.event):
        if athlete.face_mask != "no face mask":
            wearers.setdefault(athlete.helmet.casefold(), []).append(athlete)
    not_recorded = wearers.pop("", [])
    tried = _tried(engine)
    models = (found for athletes in wearers.values() for found in _untried(engine, athletes, tried))
    return (*models, *_helmet_not_recorded(engine, not_recorded))


def _tried(engine: OptionsEngine) -> Tried:
    there = [item.gear for item in engine.situation.gear if item.gear.in_service]
    return {
        kind: {gear.code: gear.helmets for gear in there if gear.kind == kind}
        for kind in TOOLS
        if any(gear.kind == kind for gear in there)
    }


def _untried(engine: OptionsEngine, athletes: Sequence[Athlete], tried: Tried) -> Iterator[Finding]:
    """What is said about the athletes who wear one model; where no fastening is known, any tool might be asked for."""
    model = athletes[0].helmet
    fastenings = {athlete.face_mask for athlete in athletes if athlete.face_mask}
    kinds = {kind for fastening in fastenings for kind in _TOOLS_FOR[fastening]} if fastenings else {*TOOLS}
    untried = {
        kind: items
        for kind, items in tried.items()
        if kind in kinds and not any(model.casefold() == one.casefold() for on in items.values() for one in on)
    }
    if not untried:
        return
    tools = " and no ".join(untried)
    yield finding(
        engine,
        "tool-untried",
        Level.FIX if fastenings else Level.UNKNOWN,
        model,
        f"no {tools} there is recorded as tried on the helmet: {model}",
        (
            ("worn by", name_athletes(athletes, teams_of(engine))),
            ("face mask", ", ".join(sorted(fastenings)) or "fastening not recorded"),
            *(
                (code, f"tried on: {', '.join(on) or 'not recorded'}")
                for items in untried.values()
                for code, on in items.items()
            ),
        ),
        do=f"take a face mask off a helmet of this model with the {' and the '.join(untried)}, and record it",
        who="gear keeper",
    )


def _helmet_not_recorded(engine: OptionsEngine, athletes: Sequence[Athlete]) -> Iterator[Finding]:
    if not athletes:
        return
    yield finding(
        engine,
        "tool-untried",
        Level.UNKNOWN,
        "helmet not recorded",
        f"helmet not recorded: {name_athletes(athletes, teams_of(engine))}; no tool is known to take off the face mask",
        (("athletes", str(len(athletes))),),
        do="record the helmet model, or that no face mask is worn",
        who="lead",
    )


def accessory_misfit(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Carrying devices there that no straps or head blocks there fit, and straps that do not reach over pads there.

    Where nothing of the kind is there at all, that is another rule's.
    """
    devices = [gear for kind in CARRYING_DEVICES for gear in _usable(engine, kind)]
    return (
        *(found for kind in ACCESSORIES for device in devices for found in _misfit(engine, kind, device)),
        *(found for gear in _usable(engine, "straps") for found in _over_pads(engine, gear)),
    )


def _usable(engine: OptionsEngine, kind: str) -> tuple[Gear, ...]:
    return tuple(item.gear for item in engine.situation.of_kind(kind) if item.gear.in_service is not False)


def _misfit(engine: OptionsEngine, kind: str, device: Gear) -> Iterator[Finding]:
    items = _usable(engine, kind)
    verdict = min((_fits(item, device) for item in items), default=Verdict.OK)
    if verdict is Verdict.OK:
        return
    name = f"the {device.name} ({device.code})"
    yield finding(
        engine,
        "accessory-misfit",
        _LEVELS[verdict],
        f"{kind}/{device.code}",
        f"no {kind} there fit {name}" if verdict is Verdict.NO else f"not known whether {kind} there fit {name}",
        tuple((item.code, _fits_shown(item)) for item in items),
        do=f"bring {kind} that fit {device.code}, or leave {device.code} at home"
        if verdict is Verdict.NO
        else f"try the {kind} on {device.code} and record it",
        who="gear keeper",
    )


def _fits(item: Gear, device: Gear) -> Verdict:
    """Whether an accessory fits a device: by its kind, and by the items it was tried on where these are named."""
    is_other_item = bool(item.fits_items) and device.code not in item.fits_items
    is_other_kind = bool(item.fits) and device.kind not in item.fits
    if is_other_item or is_other_kind:
        return Verdict.NO
    is_known = bool(item.fits or item.fits_items) and item.in_service is not None
    return Verdict.OK if is_known else Verdict.UNKNOWN


def _fits_shown(item: Gear) -> str:
    fits = f"fit {', '.join(item.fits) or 'not recorded'}"
    tried = f", tried on {', '.join(item.fits_items)}" if item.fits_items else ""
    return fits + tried + (", in service: not recorded" if item.in_service is None else "")


def _over_pads(engine: OptionsEngine, gear: Gear) -> Iterator[Finding]:
    verdict = _READ[gear.reaches_over_pads]
    if verdict is Verdict.OK or not wears_equipment(engine):
        return
    name = f"the {gear.name} ({gear.code})"
    yield finding(
        engine,
        "accessory-misfit",
        _LEVELS[verdict],
        gear.code,
        f"{name} do not reach over pads" if verdict is Verdict.NO else f"not known whether {name} reach over pads",
        (("over pads", _SHOWN[gear.reaches_over_pads]),),
        do="bring longer straps" if verdict is Verdict.NO else f"try {gear.code} over the largest pads and record it",
        who="gear keeper",
    )
