"""What the pages show, as dataclasses for the templates: an answer in the order in which a person reads it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from onthree.actions.event_answer import EventAnswer
from onthree.actions.lift_answer import LiftAnswer
from onthree.programme.records import Athlete, Team
from onthree.readiness.answers import answer_lines
from onthree.readiness.finding import Finding, Level
from onthree.rehearsals.own import OwnMeasured
from onthree.sources import source
from onthree.techniques.life_first import DECIDED_LOCALLY, LifeFirstPage
from onthree.techniques.technique import Fact
from onthree.transfers.causes import Cause
from onthree.transfers.options import AthleteAnswer, OptionResult, Wait, Way, by_kind
from onthree.transfers.sentence import way
from onthree.transfers.shared_lift import SharedLift, share_shown
from onthree.transfers.situation import Situation
from onthree.units import load_shown, total
from onthree.web.evidence_shown import OptionEvidence, handling_techniques, option_evidence

_MEANING = {
    Level.TELL: "It changes what people do: say it at the time-out.",
    Level.FIX: "Mend it before the start.",
    Level.UNKNOWN: "Nobody knows. Not known is not fine.",
    Level.WATCH: "Nothing to do now.",
    Level.SIGNED: "Known, and signed by those who may. It stays seen, and no option changes.",
}


@dataclass(frozen=True)
class FindingShown:
    """One finding with the citation of its source, and what was done about it as lines."""

    finding: Finding
    source: str
    answers: tuple[str, ...]
    key: UUID
    """Under which an answer from the page without its script arrives once."""


@dataclass(frozen=True)
class Short:
    """One athlete's answer for one found position, in a few words."""

    position: str
    status: str
    words: str


@dataclass(frozen=True)
class Row:
    """One athlete in the table."""

    athlete: Athlete
    load: str
    answers: tuple[Short, ...]


@dataclass(frozen=True)
class TeamTable:
    """The athletes of one team."""

    team: Team
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class LiftShown:
    """How the lift on one device would be shared; a row: people, at best, equal arms, one lets go, at which holds."""

    device: str
    load: str
    missing: str
    rows: tuple[tuple[str, ...], ...]
    told: tuple[str, ...]


@dataclass(frozen=True)
class StepShown:
    """One technique of an option, and the wait before it."""

    title: str
    is_handling: bool
    wait: Wait | None


@dataclass(frozen=True)
class OptionShown:
    """One option in full."""

    status: str
    title: str
    result: OptionResult
    steps: tuple[StepShown, ...]
    uses: tuple[str, ...]
    others_count: int
    after: str
    cautions: tuple[str, ...]
    """Those that no option before it on the page has said."""
    rests: OptionEvidence | None
    """None where the option is not possible: then it is not ranked by evidence."""


@dataclass(frozen=True)
class PositionShown:
    """Everything about one athlete found in one position; sets of causes as sentences."""

    answer: AthleteAnswer
    options: tuple[OptionShown, ...]
    fixes: tuple[str, ...]
    blocked_by: tuple[str, ...]


@dataclass(frozen=True)
class PartShown:
    """One part of a life-first page: a title, its lines with the numbers of their sources, a note under it."""

    title: str
    lines: tuple[tuple[str, str], ...]
    note: str = ""


@dataclass(frozen=True)
class StandingShown:
    """How an event stands: athletes without a clear option of all, and open findings by level in words."""

    unclear_count: int
    athletes_count: int
    open_findings: tuple[str, ...]


_NO_TECHNIQUE = "no technique for this"
_OPEN_WORDS = {Level.TELL: "to tell before start", Level.FIX: "to fix before", Level.UNKNOWN: "not known"}


def standing_of(answer: EventAnswer) -> StandingShown:
    """How an event stands, in counts."""
    levels = [finding.level for finding in answer.findings if finding.is_open]
    counted = ((levels.count(level), words) for level, words in _OPEN_WORDS.items())
    return StandingShown(
        answer.without_a_clear_option,
        len(answer.programme.roster(answer.event)),
        tuple(f"{count} {words}" for count, words in counted if count),
    )


def life_first_parts(page: LifeFirstPage) -> tuple[PartShown, ...]:
    """Everything of a life-first page below the actions; parts without lines are left out."""
    parts = (
        PartShown("Signs", _marked(page, ((sign.says, sign) for sign in page.sign))),
        PartShown("Afterwards", _marked(page, ((line.does, line) for line in page.afterwards))),
        PartShown("What is known", _marked(page, ((str(fact), fact) for fact in page.known))),
        *(
            PartShown(
                f"The sources differ: {conflict.about}",
                _marked(page, ((side.says, side) for side in (conflict.one, conflict.other))),
                DECIDED_LOCALLY,
            )
            for conflict in page.conflict
        ),
    )
    return tuple(part for part in parts if part.lines)


def _marked(page: LifeFirstPage, lines: Iterable[tuple[str, Fact]]) -> tuple[tuple[str, str], ...]:
    return tuple((text, page.mark(fact)) for text, fact in lines)


def level_meanings() -> tuple[tuple[Level, str], ...]:
    """Each level and what it asks for."""
    return tuple(_MEANING.items())


def finding_shown(found: Finding) -> FindingShown:
    """A finding with its source and what was done about it."""
    return FindingShown(found, str(source(found.source)), answer_lines(found), uuid4())


def tables_of(answer: EventAnswer, positions: Sequence[str]) -> tuple[TeamTable, ...]:
    """A table for each team of the event, athlete by athlete."""
    of_positions = [answer.answers[position] for position in positions]
    short = {kind: short_of(alike[0]) for found in of_positions for kind, alike in by_kind(found).items()}
    rows = [
        Row(found[0].athlete, load_of(found[0]), tuple(short[each.kind] for each in found))
        for found in zip(*of_positions, strict=True)
    ]
    return tuple(
        TeamTable(team, tuple(row for row in rows if row.athlete.team == code)) for code, team in answer.teams.items()
    )


def position_of(answer: AthleteAnswer, own: Mapping[str, OwnMeasured]) -> PositionShown:
    """Everything about one athlete found in one position, with what one's own runs measured in some techniques."""
    options, said = [], set[str]()
    for place, each in enumerate(answer.ways):
        cautions = each.result.cautions if each.result.status == "possible" else ()
        new = tuple(text for text in dict.fromkeys(cautions) if text not in said)
        is_planned = place == 0 and answer.planned is not None
        is_ranked = each.result.status == "possible"
        rests = option_evidence(each.result, None if is_planned else answer.planned, own) if is_ranked else None
        options.append(_option(each, new, rests, is_planned=is_planned))
        said.update(new)
    blocks = _unique(_joined(cause.sentence for cause in block) for block in answer.blocked_by)
    return PositionShown(answer, tuple(options), _unique(map(_fix, answer.fixes)), blocks)


def planned_techniques(answers: Iterable[AthleteAnswer]) -> tuple[str, ...]:
    """The identifiers of the techniques that handle the athlete in the planned options."""
    planned = (each.planned for each in answers if each.planned)
    return tuple(dict.fromkeys(one.id for result in planned for one in handling_techniques(result)))


def load_of(answer: AthleteAnswer) -> str:
    """Body and equipment as one load, or what of it is not known."""
    missing = [part.name for part in answer.worn if part.mass is None]
    if missing:
        return f"not known ({' and '.join(missing)})"
    return load_shown(total(part.mass for part in answer.worn if part.mass))


def worn_parts(answer: AthleteAnswer) -> tuple[tuple[str, str], ...]:
    """What the load is made of."""
    return tuple((part.name, load_shown(part.mass) if part.mass else "not known") for part in answer.worn)


def hands_of(situation: Situation) -> str:
    """How many people there are, and from which minute after the call."""
    minutes = sorted({hand.from_min for hand in situation.hands} | {0})
    counts = [(minute, sum(hand.from_min == minute for hand in situation.hands)) for minute in minutes]
    return ", ".join(f"{count} {from_minute(minute)}" for minute, count in counts)


def from_minute(minute: int) -> str:
    """From when someone or something is there."""
    return f"from minute {minute}" if minute else "there from the start"


def gear_of(situation: Situation) -> tuple[str, ...]:
    """The items at the event."""
    return tuple(f"{there.gear.name} ({there.gear.code}){_later(there.from_min)}" for there in situation.gear)


def vehicles_of(situation: Situation) -> tuple[str, ...]:
    """The ambulances of the event."""
    return tuple(
        f"{there.vehicle.name} ({there.vehicle.code}) of {there.agency.name}{_later(there.from_min)}"
        for there in situation.vehicles
    )


def _later(minute: int) -> str:
    return f", {from_minute(minute)}" if minute else ""


def short_of(answer: AthleteAnswer) -> Short:
    """One athlete's answer in a few words."""
    planned = answer.planned
    if planned is None:
        first, *others = _unique(_joined(cause.do for cause in fix) for fix in answer.fixes) or (_NO_TECHNIQUE,)
        return Short(answer.position, answer.status, first + _other_ways(len(others)))
    hold = f", hold until minute {planned.from_min}" if planned.waits else ""
    return Short(answer.position, answer.status, f"{way(answer)}, {planned.lifters_count} lifters{hold}")


def _other_ways(count: int) -> str:
    """How many other ways there are to mend it; they stand on the page of the athlete."""
    return f"; or {count} other {'way' if count == 1 else 'ways'}" if count else ""


def _option(way: Way, cautions: tuple[str, ...], rests: OptionEvidence | None, *, is_planned: bool) -> OptionShown:
    result = way.result
    waits = {id(wait.step): wait for wait in result.waits}
    steps = tuple(
        StepShown(step.technique.title, step.technique.handling.counts, waits.get(id(step)))
        for step in result.option.steps
    )
    status = "planned" if is_planned else result.status
    return OptionShown(status, result.title, result, steps, _uses(result), way.others_count, way.after, cautions, rests)


def _uses(result: OptionResult) -> tuple[str, ...]:
    devices = tuple(
        f"{there.gear.name} ({there.gear.code})" if there else f"no {kind} at the event"
        for kind, there in result.items.devices.items()
    )
    there = result.items.vehicle
    return (*devices, f"{there.vehicle.name} ({there.vehicle.code})" if there else "no ambulance at the event")


def _fix(causes: Sequence[Cause]) -> str:
    """What to do about all of these, each thing once with everybody who can."""
    who = {cause.do: sorted({other.fixable_by for other in causes if other.do == cause.do}) for cause in causes}
    return _joined(f"{do} ({', '.join(can)})" for do, can in who.items())


def _joined(texts: Iterable[str]) -> str:
    return " and ".join(dict.fromkeys(texts))


def _unique(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def lifts_of(found: LiftAnswer) -> tuple[LiftShown, ...]:
    """The shared lifts of an athlete, device by device."""
    return tuple(_lift(found, lift) for lift in found.lifts)


def _lift(found: LiftAnswer, lift: SharedLift) -> LiftShown:
    told = []
    if people := found.people_by_reference(lift):
        told.append(f"By the reference of {found.reference.printed} each, people: {people}.")
    if lift.crew:
        order = ", ".join(f"{hold}: {name}" for hold, name in lift.crew.best_order)
        told.append(f"As listed, against the limits they stated. {lift.crew.as_listed.sentence}")
        told.append(f"Best order ({order}). {lift.crew.best.sentence}")
    return LiftShown(
        device=f"{lift.device.name} {lift.device.code}",
        load=share_shown(lift.load_kg) if lift.load_kg else "",
        missing=", ".join(lift.missing),
        rows=tuple(
            (
                str(equal.people),
                *map(share_shown, (equal.best_kg, equal.equal_arms_kg, equal.one_short_kg)),
                ", ".join(equal.holds),
            )
            for equal in lift.equal
        ),
        told=tuple(told),
    )
