"""The published evidence as one looks it up: all of it, of one technique, of one source, or what holds a text."""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

from onthree.actions.event_answer import NotFoundError
from onthree.evidence.contrast import bundled_contrasts
from onthree.evidence.lines import ContrastLine, ValueLine, contrast_line, value_line
from onthree.evidence.measured import QUANTITY_WORDS, Measured
from onthree.evidence.order import Cancelled, bundled_order
from onthree.evidence.values import published_values
from onthree.sources import Source, all_sources
from onthree.techniques.library import bundled_library
from onthree.techniques.technique import Technique
from onthree.transfers.evidence_used import Driving, EvidenceUsed, KindUsed


@dataclass(frozen=True)
class Asked:
    """What is looked for: words that all must stand in the line, a technique, what was measured; empty asks for all."""

    words: str = ""
    technique: str = ""
    quantity: str = ""


@dataclass(frozen=True)
class Lines:
    """Contrasts and values, each in the order of its file."""

    contrasts: tuple[ContrastLine, ...]
    values: tuple[ValueLine, ...]

    @property
    def count(self) -> int:
        """How many lines there are."""
        return len(self.contrasts) + len(self.values)


@dataclass(frozen=True)
class SourceCounted:
    """A source, and how many contrasts and values come from it."""

    source: Source
    contrasts_count: int
    values_count: int
    drives: bool
    """Whether a contrast of it puts one option before another."""


@dataclass(frozen=True)
class TechniqueEvidence:
    """What is known of the kind of handling of a technique."""

    technique: Technique
    kind: KindUsed
    driving: tuple[Driving, ...]
    disagreements: tuple[Cancelled, ...]
    lines: Lines


@dataclass(frozen=True)
class SourceEvidence:
    """A source with its lines, and the places in the order that rest on it."""

    source: Source
    lines: Lines
    driving: tuple[Driving, ...]


@cache
def evidence_used() -> EvidenceUsed:
    """The bundled evidence beside the bundled techniques."""
    return EvidenceUsed(bundled_library(), bundled_order())


def find_lines(asked: Asked) -> Lines:
    """The contrasts and values that are asked for. Raises NotFoundError for an unknown technique or quantity."""
    if asked.technique:
        _technique(asked.technique)
    if asked.quantity and asked.quantity not in QUANTITY_WORDS:
        raise NotFoundError(f"nothing is measured as {asked.quantity!r}: known are {', '.join(QUANTITY_WORDS)}")
    return _lines(asked)


def technique_evidence(technique_id: str) -> TechniqueEvidence:
    """The evidence of one technique. Raises NotFoundError naming the nearest ones."""
    technique, used = _technique(technique_id), evidence_used()
    kind = technique.handling.evidence
    return TechniqueEvidence(
        technique,
        next(each for each in used.kinds if each.kind == kind),
        used.driving_of(kind),
        used.disagreements_of(kind),
        _lines(Asked(technique=technique_id)),
    )


def source_evidence(key: str) -> SourceEvidence:
    """What comes from one source. Raises NotFoundError naming the nearest ones."""
    if key not in all_sources():
        raise NotFoundError(f"no source has the key {key!r}: {_nearest(key, all_sources())}")
    found = Lines(
        tuple(contrast_line(each) for each in bundled_contrasts() if each.source == key),
        tuple(value_line(each) for each in published_values() if each.source == key),
    )
    driving = (pair for pair in evidence_used().driving if any(each.source == key for each in pair.contrasts))
    return SourceEvidence(all_sources()[key], found, tuple(driving))


@cache
def sources_counted() -> tuple[SourceCounted, ...]:
    """Every source of a contrast or value, by key."""
    contrasts = [each.source for each in bundled_contrasts()]
    values = [each.source for each in published_values()]
    driving = {each.source for pair in evidence_used().driving for each in pair.contrasts}
    return tuple(
        SourceCounted(all_sources()[key], contrasts.count(key), values.count(key), key in driving)
        for key in sorted({*contrasts, *values})
    )


def _lines(asked: Asked) -> Lines:
    kind = _technique(asked.technique).handling.evidence if asked.technique else ""
    contrasts = (
        each
        for each in bundled_contrasts()
        if kind in ("", each.lower, each.higher)
        and asked.quantity in ("", each.measured_quantity)
        and _holds(asked.words, each, (each.lower, each.higher))
    )
    values = (
        each
        for each in published_values()
        if kind in ("", each.handling)
        and asked.quantity in ("", each.measured_quantity)
        and _holds(asked.words, each, (each.handling, each.condition, each.plane, each.instrument))
    )
    return Lines(tuple(map(contrast_line, contrasts)), tuple(map(value_line, values)))


def _holds(words: str, measured: Measured, names: Iterable[str]) -> bool:
    """Whether every word stands somewhere in the line."""
    told = (*names, measured.source, measured.printed, measured.people, measured.stance, measured.sample)
    cited = all_sources()[measured.source].citation
    text = " ".join((*told, QUANTITY_WORDS[measured.measured_quantity], cited)).casefold()
    return all(word in text for word in words.casefold().split())


def _technique(technique_id: str) -> Technique:
    known = bundled_library().by_id
    if technique_id not in known:
        raise NotFoundError(f"no technique has the identifier {technique_id!r}: {_nearest(technique_id, known)}")
    return known[technique_id]


def _nearest(given: str, known: Iterable[str]) -> str:
    names = list(known)
    near = get_close_matches(given, names, n=3, cutoff=0.5)
    return f"did you mean {', '.join(near)}?" if near else f"there are {len(names)}"
