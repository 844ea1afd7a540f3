"""How a record describes its own fields, once: sheet, guide, validation and forms all come from this description."""

import dataclasses
from dataclasses import MISSING, dataclass
from enum import StrEnum
from functools import cache
from typing import Any


class Kind(StrEnum):
    """What a field holds, and so how it is typed, checked, stored and shown."""

    CODE = "code"
    TEXT = "text"
    INTEGER = "whole number"
    NUMBER = "number"
    MASS = "mass"
    LENGTH = "length"
    DATE = "date"
    CLOCK = "time of day"
    CHOICE = "choice"
    CHOICES = "choices"
    WORDS = "words"
    YES_NO = "yes or no"
    REFERENCE = "reference"
    REFERENCES = "references"
    PRESENCES = "who or what is there"


LISTS = (Kind.CHOICES, Kind.WORDS, Kind.REFERENCES, Kind.PRESENCES)
"""Kinds of which a field holds any number, separated by commas where they are typed."""

Number = float
"""A number whose unit stands in its header, or in the name of the quantity beside it."""

CODE_HELP = "Your own short code, used by the other sheets. Keep it once it is given."


@dataclass(frozen=True)
class FieldDescription:
    """One field of a record: column header, kind, help and bounds, these as a person types them (``20 kg``)."""

    name: str
    header: str
    kind: Kind
    help: str
    example: str
    is_required: bool
    lowest: str = ""
    highest: str = ""
    choices: tuple[str, ...] = ()
    refers_to: str = ""


def described(
    header: str,
    kind: Kind,
    help: str,
    *,
    example: str = "",
    required: bool = False,
    lowest: str = "",
    highest: str = "",
    choices: tuple[str, ...] = (),
    refers_to: str = "",
) -> Any:
    """A dataclass field that carries its description; optional fields default to None, or to nothing for lists."""
    default: Any = MISSING if required else (() if kind in LISTS else ("" if kind is Kind.TEXT else None))
    description = FieldDescription("", header, kind, help, example, required, lowest, highest, choices, refers_to)
    return dataclasses.field(default=default, metadata={"description": description})


def fields_of(record_type: type) -> tuple[FieldDescription, ...]:
    """The described fields of a record type, in the order of its columns."""
    return _fields_of(record_type)


@cache
def _fields_of(record_type: type) -> tuple[FieldDescription, ...]:
    return tuple(
        dataclasses.replace(field.metadata["description"], name=field.name) for field in dataclasses.fields(record_type)
    )
