"""A value of a record as a page shows it: as typed, with kilograms or metres beside it, references as links."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from onthree.programme.fields import FieldDescription, Kind
from onthree.units import Length, Mass
from onthree.web.forms.kinds import ADDRESS_OF, KIND_NAMED
from onthree.workbook.values import as_typed, number_shown


@dataclass(frozen=True)
class Value:
    """Text as typed, the same in kilograms or metres where it was typed otherwise, and codes that lead somewhere."""

    label: str
    text: str
    also: str = ""
    links: tuple[tuple[str, str, str], ...] = ()

    @property
    def is_known(self) -> bool:
        """Whether anything was typed."""
        return bool(self.text)


@dataclass(frozen=True)
class Moment:
    """A moment by the clock of this computer: for machines, in words, and the time of day alone."""

    iso: str
    words: str
    clock: str


def moment(at: datetime) -> Moment:
    """How a moment is shown."""
    here = at.astimezone()
    return Moment(here.isoformat(timespec="seconds"), f"{here.day} {here:%B %Y, %H:%M:%S}", f"{here:%H:%M:%S}")


def shown_value(field: FieldDescription, value: Any) -> Value:
    """How a value of a field is shown."""
    text = as_typed(field, value)
    if field.refers_to and value:
        slug = ADDRESS_OF[KIND_NAMED[field.refers_to]]
        entries = value if isinstance(value, tuple) else (value,)
        links = tuple((slug, str(getattr(entry, "code", entry)), str(entry)) for entry in entries)
        return Value(field.header, text, links=links)
    return Value(field.header, text, also=_also(field, value))


def _also(field: FieldDescription, value: Any) -> str:
    if field.kind is Kind.MASS and isinstance(value, Mass) and not value.typed.endswith("kg"):
        return f"{number_shown(round(float(value.kg), 1))} kg"
    if field.kind is Kind.LENGTH and isinstance(value, Length) and not value.typed.endswith(("cm", " m", "mm")):
        return f"{number_shown(round(float(value.m) * 100, 1))} cm"
    return ""
