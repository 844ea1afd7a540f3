"""What the pages show of the evidence: sentences whose sources are links, and where a technique stands in the order."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from onthree.actions.evidence_pages import evidence_used
from onthree.evidence.order import Cancelled
from onthree.rehearsals.own import OwnMeasured
from onthree.sources import all_sources
from onthree.techniques.library import bundled_library
from onthree.techniques.technique import Technique
from onthree.transfers.differences import evidence_lines
from onthree.transfers.evidence_used import Driving, why, worn_in_words
from onthree.transfers.options import OptionResult

Pieces = tuple[tuple[str, str], ...]
"""A sentence in parts: text, and the key of the source that stands after it, or nothing."""

_KEYS = re.compile(r" ?\[([a-z0-9-]+)\]")


@dataclass(frozen=True)
class StandsShown:
    """One kind before another: for which equipment, by the techniques of each, and why."""

    lower: str
    higher: str
    worn: str
    lower_techniques: tuple[Technique, ...]
    higher_techniques: tuple[Technique, ...]
    why: tuple[Pieces, ...]


@dataclass(frozen=True)
class DisagreementShown:
    """Two kinds without order, and what each source found of the first."""

    one: str
    other: str
    said: tuple[Pieces, ...]


@dataclass(frozen=True)
class OptionEvidence:
    """What an option rests on: the techniques that handle, what the evidence says of it, own rehearsals by title."""

    techniques: tuple[Technique, ...]
    said: tuple[Pieces, ...]
    own: tuple[tuple[str, OwnMeasured], ...]


def pieces(text: str) -> Pieces:
    """A sentence with the keys of sources in brackets, taken apart; a bracket that names no source stays text."""
    parts = _KEYS.split(text)
    found: list[tuple[str, str]] = []
    for said, key in zip(parts[::2], [*parts[1::2], ""], strict=True):
        found.append((said, key) if not key or key in all_sources() else (f"{said} [{key}]", ""))
    return tuple(found)


def stands(pairs: Iterable[Driving]) -> tuple[StandsShown, ...]:
    """Places in the order."""
    used = evidence_used()
    return tuple(
        StandsShown(
            pair.lower,
            pair.higher,
            worn_in_words(pair.worn),
            used.techniques_of[pair.lower],
            used.techniques_of[pair.higher],
            tuple(map(pieces, why(used, pair))),
        )
        for pair in pairs
    )


def disagreements(found: Iterable[Cancelled]) -> tuple[DisagreementShown, ...]:
    """Sources that say less and more."""
    return tuple(
        DisagreementShown(
            each.one.kind,
            each.other.kind,
            tuple(pieces(contrast.said_of(each.one.kind)) for contrast in (*each.for_one, *each.for_other)),
        )
        for each in found
    )


def handling_techniques(result: OptionResult) -> tuple[Technique, ...]:
    """The techniques of an option that handle the athlete, each once and as the library has it."""
    known = bundled_library().by_id
    ids = dict.fromkeys(step.technique.id for step in result.option.steps if step.technique.handling.counts)
    return tuple(known[each] for each in ids if each in known)


def option_evidence(
    result: OptionResult, planned: OptionResult | None, own: Mapping[str, OwnMeasured]
) -> OptionEvidence:
    """What an option rests on; ``planned`` is the option it is compared with, None for the planned one itself.

    Beside the planned option only what differs from it is told.
    """
    techniques = handling_techniques(result)
    if planned:
        alike = {one.id for one in handling_techniques(planned)}
        said = evidence_lines(evidence_used().order, planned.option, result.option)
        return OptionEvidence(tuple(one for one in techniques if one.id not in alike), tuple(map(pieces, said)), ())
    there = (one for one in techniques if one.id in own and own[one.id].runs)
    return OptionEvidence(techniques, (), tuple((one.title, own[one.id]) for one in there))
