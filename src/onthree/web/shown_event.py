"""What the pages of an event show around the answer: cards by option, hands by minute, findings by who can fix them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from onthree.actions.event_answer import EventAnswer
from onthree.actions.event_cards import alike_answers
from onthree.readiness.finding import Finding, Level
from onthree.transfers.options import AthleteAnswer
from onthree.transfers.sentence import name_athletes
from onthree.transfers.situation import Situation
from onthree.web.shown import FindingShown, OptionShown, finding_shown, position_of


@dataclass(frozen=True)
class Card:
    """One planned option, or why there is none, and everybody for whom it is planned; fixes as sentences."""

    position: str
    status: str
    called: str
    option: OptionShown | None
    fixes: tuple[str, ...]


@dataclass(frozen=True)
class Minute:
    """Who is there at a minute after the call: how many, who came then, and the length of its bar."""

    minute: int
    count: int
    came: tuple[str, ...]
    width: int


@dataclass(frozen=True)
class Fixable:
    """Everything that one person or side can fix or must tell."""

    who: str
    findings: tuple[FindingShown, ...]
    open_count: int


_LONGEST_BAR = 100


def cards_of(answer: EventAnswer, positions: Sequence[str]) -> tuple[Card, ...]:
    """A card for each planned option of each found position, the exceptions first; those without an option before."""
    return tuple(card for position in positions for card in _cards(answer, position))


def _cards(answer: EventAnswer, position: str) -> Iterable[Card]:
    for alike in alike_answers(answer, position):
        shown = position_of(alike.first, {})
        yield Card(
            position,
            alike.first.status,
            alike.called,
            shown.options[0] if alike.first.planned else None,
            shown.fixes,
        )


def minutes_of(situation: Situation, names: Mapping[str, str]) -> tuple[Minute, ...]:
    """The hands minute by minute, from the call on; ``names`` is code to name as spoken."""
    minutes = sorted(
        {0, *(hand.from_min for hand in situation.hands), *(there.from_min for there in situation.vehicles)}
    )
    most = max(len(situation.hands), 1)
    rows = []
    for minute in minutes:
        count = sum(hand.from_min <= minute for hand in situation.hands)
        people = [names.get(h.code, h.code) for h in situation.hands if h.from_min == minute and not h.vehicle]
        units = [
            f"{there.vehicle.name} ({sum(hand.vehicle == there.vehicle.code for hand in situation.hands)} crew)"
            for there in situation.vehicles
            if there.from_min == minute
        ]
        rows.append(Minute(minute, count, (*people, *units), round(_LONGEST_BAR * count / most)))
    return tuple(rows)


def fixable_of(findings: Iterable[Finding]) -> tuple[Fixable, ...]:
    """The findings by who can fix them, who has most to do first; signed gaps and what is only to be watched last."""
    by_who: dict[str, list[Finding]] = {}
    for finding in findings:
        by_who.setdefault(finding.who, []).append(finding)
    levels = tuple(Level)
    groups = [
        Fixable(
            who,
            tuple(finding_shown(each) for each in sorted(found, key=lambda each: levels.index(each.level))),
            sum(each.is_open for each in found),
        )
        for who, found in by_who.items()
    ]
    return tuple(sorted(groups, key=lambda group: (-group.open_count, group.who)))


@dataclass(frozen=True)
class Lost:
    """What a change does to some athletes found in one position: before, after, and whether that is a loss."""

    position: str
    called: str
    before: str
    after: str
    is_lost: bool


_ORDER = ("possible", "hold", "unknown", "not possible")


def lost_between(planned: EventAnswer, changed: EventAnswer, say: Mapping[int, str]) -> tuple[Lost, ...]:
    """What changed for whom, losses first, alike outcomes together; ``say`` is the few words of each kind of answer."""
    groups: dict[tuple[str, str, str, bool], list[AthleteAnswer]] = {}
    for position, before in planned.answers.items():
        for one, other in zip(before, changed.answers.get(position, ()), strict=False):
            words = say[one.kind], say[other.kind]
            if words[0] != words[1]:
                is_lost = _ORDER.index(other.status) > _ORDER.index(one.status)
                groups.setdefault((position, *words, is_lost), []).append(other)
    found = [
        Lost(position, name_athletes([each.athlete for each in alike], changed.teams), before, after, is_lost)
        for (position, before, after, is_lost), alike in groups.items()
    ]
    outcomes = list(dict.fromkeys(each.after for each in found))
    return tuple(sorted(found, key=lambda each: (not each.is_lost, outcomes.index(each.after), each.position)))
