"""A published value or contrast as a line of words: every page that lists them says each in the same words."""

from dataclasses import dataclass

from onthree.evidence.contrast import Contrast, Found
from onthree.evidence.measured import METRIC_WORDS, PLANES, QUANTITY_WORDS, Measured, what_it_is_not
from onthree.evidence.values import PublishedValue


@dataclass(frozen=True, kw_only=True)
class HowMeasured:
    """What a line says of how it was measured, as printed, and its address: source key and the place in it."""

    measured: str
    worn: str
    people: str
    sample: str
    printed: str
    source: str
    where: str
    is_not: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ContrastLine:
    """One contrast: what was found of the first kind against the second in flexion, lateral bending, axial rotation."""

    id: str
    kind: str
    against: str
    planes: tuple[str, ...]
    how: HowMeasured


@dataclass(frozen=True, kw_only=True)
class ValueLine:
    """One value: mean and spread as printed, empty where the source has a finding in words only."""

    handling: str
    condition: str
    plane: str
    mean: str
    spread: str
    metric: str
    instrument: str
    how: HowMeasured


def contrast_line(contrast: Contrast) -> ContrastLine:
    """A contrast in words."""
    found: dict[str, Found] = dict(contrast.planes)
    return ContrastLine(
        id=contrast.id,
        kind=contrast.lower,
        against=contrast.higher,
        planes=tuple(_spoken(found[plane]) for plane in PLANES),
        how=_how(contrast),
    )


def value_line(value: PublishedValue) -> ValueLine:
    """A value in words."""
    return ValueLine(
        handling=value.handling,
        condition=value.condition,
        plane=_spoken(value.plane),
        mean=f"{value.mean} {value.unit}" if value.mean else "",
        spread=f"{value.spread} ({_spoken(value.spread_kind)})" if value.spread else "",
        metric=METRIC_WORDS[value.metric],
        instrument=value.instrument,
        how=_how(value),
    )


def _how(measured: Measured) -> HowMeasured:
    return HowMeasured(
        measured=f"{QUANTITY_WORDS[measured.measured_quantity]}, {METRIC_WORDS[measured.metric]}",
        worn=_spoken(measured.equipment),
        people=f"{measured.people}; stance {measured.stance}",
        sample=measured.sample,
        printed=measured.printed,
        source=measured.source,
        where=measured.where,
        is_not=what_it_is_not(measured),
    )


def _spoken(word: str) -> str:
    return word.replace("_", " ")
