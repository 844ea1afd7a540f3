"""The medical time-out: what is read aloud, item by item, and what was answered.

About three spoken minutes, 15 to 30 minutes before the start, with ambulance crew, officials and the visiting side
(source: nfhs-2024). Which items, in which order and in which words: common practice, no source.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, time

from onthree.programme.programme import Programme
from onthree.programme.records import Event, TimeOutAnswer, VisitorAnswer
from onthree.readiness import time_out_lines as lines
from onthree.readiness.finding import Finding, Level
from onthree.readiness.time_out_lines import Heard

CONFIRMED, NOT_AGREED, NOT_ASKED = "confirmed", "not agreed", "not asked yet"
REMAINING = "gaps"
"""The item to which every rule belongs that no other item names."""
OWN_RULE = "time-out-not-agreed"


@dataclass(frozen=True)
class TimeOutItem:
    """One item: what is asked, what we read, the rules it settles; level and who can fix it where it is not agreed."""

    id: str
    title: str
    asks: str
    read: Callable[[Heard], Iterable[str]]
    level: Level
    who: str
    do: str
    rules: tuple[str, ...] = ()


def _item(
    item_id: str,
    title: str,
    asks: str,
    read: Callable[[Heard], Iterable[str]],
    who: str,
    do: str,
    rules: tuple[str, ...] = (),
    level: Level = Level.FIX,
) -> TimeOutItem:
    return TimeOutItem(item_id, title, asks, read, level, who, do, rules)


ITEMS: tuple[TimeOutItem, ...] = (
    _item("people", "Who is here, and who leads", "Name and role, each of us. Who leads until the hands change?",
          lines.people, "lead", "settle before the start who leads, and until when",
          ("lay-unbriefed", "check-off-overdue", "qualification-expired", "double-booked")),
    _item("calling", "Who calls, and in which words", "Who calls? Say the words.",
          lines.calling, "lead", "settle before the start who calls, by what, and in which words",
          ("communication", "backup-untested", "bariatric-lead", "bariatric-wording", "details-unverified")),
    _item("officials", "Officials", "Officials: how do you call us on, and who stops play?",
          lines.officials, "officials", "settle with the officials who calls us on and who stops play",
          ("play-paused-by",)),
    _item("ambulance", "The ambulance", "Where does it stand tonight? May it leave, and who tells us?",
          lines.ambulance, "ambulance service", "settle where the ambulance stands, and what holds when it leaves",
          ("ambulance-may-leave", "rehearsed-with", "vehicle-space")),
    _item("way", "Gate, way out, keys", "Which gate, and who stands there with the key?",
          lines.way, "grounds crew", "walk the way of the cot, open the gate and stand somebody there",
          ("gate-narrow", "gate-key", "plan-posted")),
    _item("hospital", "Hospital", "Where do we go, and who rides along?",
          lines.hospital, "ambulance service", "settle where the ambulance goes, and who rides along",
          ("hospital-agreed", "hospital-children", "rides-along")),
    _item("aed", "AED", "Who fetches the AED? Show it.",
          lines.aed, "lead", "fetch the AED, switch it on and place it",
          ("aed-time",)),
    _item("airway", "Airway and suction", "Who takes the airway? Kit and suction checked?",
          lines.airway, "lead", "bring and check airway kit and suction, and name who uses them",
          ("airway-gear", "standing-orders")),
    _item("cooling", "Cooling, and life first", "Heat stroke: cool first, here? Life first is agreed by all?",
          lines.cooling, "medical direction", "settle what is done first, and where",
          ("cooling-absent", "life-first-unapproved")),
    _item("found supine", "Found on the back", "Is this how we do it?",
          lines.found("supine"), "lead", "settle before the start what is done instead, and for whom",
          ("weight-limit", "agreements-clash", "agreement-undecided", "protocol-unmatched", "fit", "cot-retention")),
    _item("found prone", "Found on the front", "Is this how we do it?",
          lines.found("prone"), "lead", "settle before the start what is done instead, and for whom"),
    _item("equipment", "Equipment removal and tools", "What comes off, where, and who has the tools?",
          lines.equipment, "gear keeper", "bring the tools that are missing, and settle where equipment comes off",
          ("face-mask-tools", "tool-not-ready", "tool-untried", "accessory-misfit")),
    _item("hands", "Hands", "Who is missing? Who comes, and when?",
          lines.hands, "lead", "find the hands that are missing, or settle that the athlete is held until they come",
          ("hands",)),
    _item("gaps", "Known gaps", "What else is open tonight?",
          lines.gaps, "lead", "settle who does what about it", level=Level.TELL),
    _item("visitors", "Visitors", "Visiting side: your largest, your helmets, who leads, who is with you?",
          lines.visitors, "visiting side", "ask the visiting side until it is answered",
          ("visitors-unknown", "host-plan"), Level.TELL),
    _item("read back", "Read back", "Somebody else reads the answers back aloud. All agreed?",
          lines.read_back, "lead", "go through what was not agreed again", level=Level.TELL),
)  # fmt: skip
"""The items in the order in which they are read."""

ITEM_OF: Mapping[str, TimeOutItem] = {item.id: item for item in ITEMS}


@dataclass(frozen=True)
class ItemRead:
    """One item as it is read: its lines, what must be told with it, what is not settled, and what was answered.

    ``answers`` is the latest of each who answered, in the order of their times.
    """

    item: TimeOutItem
    lines: tuple[str, ...]
    to_tell: tuple[Finding, ...]
    unsettled: tuple[Finding, ...]
    answers: tuple[TimeOutAnswer, ...]

    @property
    def standing(self) -> str:
        """Confirmed by everybody who answered, not agreed, or not asked yet."""
        return standing(self.answers)


def standing(answers: Iterable[TimeOutAnswer]) -> str:
    """What the latest answers come to."""
    given = {answer.answer for answer in answers}
    if not given:
        return NOT_ASKED
    return NOT_AGREED if NOT_AGREED in given else CONFIRMED


def time_out(heard: Heard) -> tuple[ItemRead, ...]:
    """Every item of an event's time-out."""
    named = {rule: item.id for item in ITEMS for rule in item.rules}
    by_item: dict[str, list[Finding]] = {}
    for finding in heard.findings:
        by_item.setdefault(named.get(finding.rule, REMAINING), []).append(finding)
    latest = latest_answers(heard.programme, heard.event)
    return tuple(_read(item, heard, by_item.get(item.id, []), latest.get(item.id, ())) for item in ITEMS)


def _read(item: TimeOutItem, heard: Heard, found: list[Finding], answers: tuple[TimeOutAnswer, ...]) -> ItemRead:
    others = [each for each in found if each.rule != OWN_RULE]
    return ItemRead(
        item,
        tuple(item.read(heard)),
        tuple(each for each in others if each.level is Level.TELL),
        tuple(each for each in others if each.level in (Level.FIX, Level.UNKNOWN)),
        answers,
    )


def latest_answers(programme: Programme, event: Event) -> Mapping[str, tuple[TimeOutAnswer, ...]]:
    """Item to the latest answer of each who answered it by the day of the event."""
    rows = [row for row in programme.time_out_answers.values() if row.event == event.code and row.day <= event.day]
    latest: dict[str, dict[str, TimeOutAnswer]] = {}
    for row in sorted(rows, key=_when):
        by_who = latest.setdefault(row.item, {})
        by_who.pop(row.who.casefold(), None)
        by_who[row.who.casefold()] = row
    return {item: tuple(by_who.values()) for item, by_who in latest.items()}


def visitor_answer(programme: Programme, event: Event) -> VisitorAnswer | None:
    """The latest answer of the visiting side by the day of the event."""
    rows = [row for row in programme.visitor_answers.values() if row.event == event.code and row.day <= event.day]
    return sorted(rows, key=_when)[-1] if rows else None


def _when(row: TimeOutAnswer | VisitorAnswer) -> tuple[date, time]:
    """Times are kept to the minute: within one, the order in which rows were saved holds, which sorting keeps."""
    return row.day, row.at or time.min
