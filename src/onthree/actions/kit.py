"""The last resort: one HTML file with time-out, cards and life-first pages, and the answers it kept, taken in later."""

import json
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from importlib.resources import files
from typing import Any
from uuid import UUID

from onthree.actions.event_answer import EventAnswer
from onthree.actions.event_cards import alike_answers
from onthree.actions.gear_check import gear_to_check
from onthree.actions.outbox import Receipt, receive
from onthree.actions.outbox_kinds import KINDS
from onthree.actions.run_pages import role_names, technique_titles
from onthree.actions.time_out import items_of
from onthree.programme.people import AGE_GROUPS
from onthree.programme.rehearsals import GUESSED_PLANES, INCIDENT_KINDS, STAND_INS
from onthree.programme.roles import Right
from onthree.rehearsals.debrief import CAUTIONS
from onthree.techniques.life_first import life_first_pages
from onthree.transfers.standing import DEFER, LIFE_FIRST, PLANNED

FORMAT = "onthree answers 1"
MOST_PEOPLE = 6
_MOST_BYTES = 5_000_000


@dataclass(frozen=True)
class KitAnswers:
    """What came of a file of answers: receipts of what was taken, why others were not, and whose clock was wrong."""

    taken: tuple[Receipt, ...]
    refused: tuple[str, ...]
    moved: tuple[str, ...]

    @property
    def new_count(self) -> int:
        """How many had not arrived before."""
        return sum(receipt.is_new for receipt in self.taken)


def kit_html(answer: EventAnswer, made_at: datetime) -> str:
    """The kit of an event as one HTML file that asks nobody for anything; the store must be open."""
    from django.template.loader import render_to_string
    from django.utils.safestring import mark_safe

    static = files("onthree") / "web" / "static" / "onthree"
    script = (static / "kit.js").read_text(encoding="utf-8")
    style = "\n".join(
        (static / name).read_text(encoding="utf-8") for name in ("onthree.css", "time_out.css", "rehearsals.css")
    )
    about: dict[str, Any] = {
        "script": mark_safe(script),
        "style": mark_safe(style),
        "script_hash": b64encode(sha256(script.encode()).digest()).decode(),
        "answer": answer,
        "event": answer.event,
        "venue": answer.programme.venues[answer.event.venue],
        "organisation": answer.programme.organisation,
        "items": items_of(answer, shows_sizes=False),
        "gear": gear_to_check(answer),
        "cards": [(position, list(alike_answers(answer, position))) for position in answer.sentences],
        "life_first_pages": life_first_pages(),
        "cautions": CAUTIONS,
        "stand_ins": STAND_INS,
        "age_groups": AGE_GROUPS,
        "people": range(1, MOST_PEOPLE + 1),
        "roles": role_names(),
        "techniques": technique_titles(),
        "incidents": INCIDENT_KINDS,
        "planes": GUESSED_PLANES,
        "standing": (LIFE_FIRST, PLANNED, DEFER),
        "format": FORMAT,
        "made_at": f"{made_at.date().isoformat()} {made_at:%H:%M}",
        "made": made_at.isoformat(timespec="seconds"),
    }
    return render_to_string("onthree/kit.html", about)


def take_kit_answers(
    content: bytes, by: str, rights: frozenset[Right], organisation_code: str | None = None
) -> KitAnswers:
    """Take in a file of answers, each exactly once; what cannot be taken does not stop the rest.

    A clock that says before the kit was made, or later than now, is set to that moment, and told.

    Raises ValueError where the file is no such file.
    """
    taken, refused, moved = [], [], []
    file = _read(content)
    made, now = _moment(file, "made") if "made" in file else None, datetime.now(UTC)
    for place, one in enumerate(file["answers"], 1):
        try:
            kind = one["kind"]
            if kind not in KINDS or KINDS[kind].right not in rights:
                may = ", ".join(sorted(name for name in KINDS if KINDS[name].right in rights))
                raise ValueError(f"kind {str(kind)[:40]!r} given, one of these expected of you: {may}")
            at = _moment(one, "at_client")
            taken.append(receive(UUID(one["key"]), kind, one["body"], by, at, organisation_code, not_before=made))
            if at > now or (made and at < made):
                moved.append(f"answer {place}: the clock of the device said {at:%Y-%m-%d %H:%M %z}, which cannot be")
        except (KeyError, TypeError, AttributeError) as error:
            refused.append(f"answer {place}: {error} is missing or of the wrong kind")
        except (ValueError, LookupError) as error:
            refused.append(f"answer {place}: {error}")
    return KitAnswers(tuple(taken), tuple(refused), tuple(moved))


def _moment(given: Mapping[str, Any], name: str) -> datetime:
    at = datetime.fromisoformat(str(given[name]))
    if at.tzinfo is None:
        raise ValueError(f"{name} {given[name]!r} given, a time with a zone expected")
    return at


def _read(content: bytes) -> Mapping[str, Any]:
    expected = "the file of answers that a kit or a page saved expected: choose another file"
    if len(content) > _MOST_BYTES:
        raise ValueError(f"{len(content)} bytes given, {expected}")
    try:
        given = json.loads(content)
    except ValueError as error:
        raise ValueError(f"not readable as JSON ({error}), {expected}") from None
    if not isinstance(given, dict) or given.get("format") != FORMAT or not isinstance(given.get("answers"), list):
        raise ValueError(f"no {FORMAT!r} given, {expected}")
    return given
