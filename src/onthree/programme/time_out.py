"""What is heard from others for an event: answers at the medical time-out, and what the visiting side wrote before."""

import re
from dataclasses import dataclass
from datetime import date, time

from onthree.programme.fields import CODE_HELP, Kind, described
from onthree.units import Mass, read_mass

TIME_OUT_ITEMS = (
    "people",
    "calling",
    "officials",
    "ambulance",
    "way",
    "hospital",
    "aed",
    "airway",
    "cooling",
    "found supine",
    "found prone",
    "equipment",
    "hands",
    "gaps",
    "visitors",
    "read back",
)
"""The items of the medical time-out, in the order in which they are read aloud (common practice, no source)."""

TIME_OUT_ANSWERS = ("confirmed", "not agreed")
MOST_LARGEST = 12


def _event() -> str:
    event: str = described(
        "Event", Kind.REFERENCE, "Code of the event.", example="E-1", required=True, refers_to="Event"
    )
    return event


@dataclass(frozen=True, kw_only=True)
class TimeOutAnswer:
    """What somebody answered to one item of a medical time-out."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="TO-1", required=True)
    event: str = _event()
    item: str = described(
        "Item", Kind.CHOICE, "What was read aloud.", example="ambulance", required=True, choices=TIME_OUT_ITEMS
    )
    who: str = described("Answered by", Kind.TEXT, "Name or role.", example="ambulance crew lead", required=True)
    day: date = described("Date", Kind.DATE, "When.", example="2026-11-27", required=True)
    at: time | None = described("Time", Kind.CLOCK, "Local time.", example="18:35")
    answer: str = described(
        "Answer", Kind.CHOICE, "What they answered.", example="confirmed", required=True, choices=TIME_OUT_ANSWERS
    )
    note: str = described("Note", Kind.TEXT, "In their words.", example="stands at the south gate tonight")


@dataclass(frozen=True, kw_only=True)
class VisitorAnswer:
    """What the visiting side answered to five lines before an event: their own word, nobody checked it."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="VA-1", required=True)
    event: str = _event()
    side: str = described("Answered by", Kind.TEXT, "Name and role.", example="visiting athletic trainer")
    largest: str = described(
        "Largest athletes",
        Kind.TEXT,
        "Jersey number and mass with equipment, each with its unit, the largest first. Blank: not said.",
        example="72: 310 lb, 55: 140 kg",
    )
    helmets: str = described(
        "Helmets and face masks",
        Kind.TEXT,
        "Model, and how the mask is fastened.",
        example="four screws, one quick release",
    )
    leads: str = described(
        "Who leads", Kind.TEXT, "On their side, and where they stand.", example="their athletic trainer, at the bench"
    )
    reach: str = described("How to reach them", Kind.TEXT, "Before and during the event.", example="radio, channel 2")
    brings: str = described(
        "What they bring", Kind.TEXT, "People and gear, and what we should know.", example="one physician, no tools"
    )
    day: date = described("Date", Kind.DATE, "When it arrived.", example="2026-11-26", required=True)
    at: time | None = described("Time", Kind.CLOCK, "Local time.", example="14:20")


_ONE = re.compile(r"#?\s*(\d{1,2})\s*[:=]\s*(.+)")


def read_largest(text: str) -> tuple[tuple[int, Mass], ...]:
    """Jersey numbers and masses from ``72: 310 lb, 55: 140 kg``. Raises ValueError that tells all it cannot read."""
    found: dict[int, Mass] = {}
    problems = []
    parts = [part.strip() for part in re.split(r"[,;\n]", text) if part.strip()]
    for part in parts:
        match = _ONE.fullmatch(part)
        try:
            if match is None:
                raise ValueError(f"{part!r} given, a jersey number and a mass such as 72: 310 lb expected")
            if int(match[1]) in found:
                raise ValueError(f"{part!r} given, each number once expected: leave one out")
            found[int(match[1])] = read_mass(match[2].strip())
        except ValueError as error:
            problems.append(str(error))
    if len(parts) > MOST_LARGEST:
        problems.append(f"{len(parts)} athletes given, at most {MOST_LARGEST} expected: name the largest only")
    if problems:
        raise ValueError("; ".join(problems))
    return tuple(found.items())
