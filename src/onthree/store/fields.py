"""Columns that keep a quantity as it was typed, the stored text being the only truth; and columns of words."""

import json
from collections.abc import Callable
from functools import lru_cache
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models

from onthree.units import Length, Mass, QuantityError, read_length, read_mass

Quantity = Mass | Length

_mass = lru_cache(maxsize=4096)(read_mass)
_length = lru_cache(maxsize=4096)(read_length)


@lru_cache(maxsize=4096)
def _words(text: str) -> tuple[str, ...]:
    return tuple(json.loads(text))


class _TypedField(models.CharField):  # type: ignore[type-arg]
    reads: ClassVar[Callable[[str], Quantity]]

    def from_db_value(self, value: str | None, *_: object) -> Quantity | None:
        return None if value is None else type(self).reads(value)

    def to_python(self, value: Any) -> Quantity | None:
        if value is None or isinstance(value, Quantity):
            return value
        try:
            return type(self).reads(str(value))
        except QuantityError as error:
            raise ValidationError(str(error)) from error

    def get_prep_value(self, value: Any) -> str | None:
        if value is None:
            return None
        typed = str(value)
        if isinstance(value, Quantity) and type(self).reads(typed) != value:
            raise ValueError(f"{value!r} cannot be stored: {typed!r} does not read as this value")
        return type(self).reads(typed).typed

    def value_to_string(self, obj: models.Model) -> str:
        return str(self.value_from_object(obj) or "")


class MassField(_TypedField):
    """A Mass, stored as typed, such as ``290 lb``. Text that is no mass is refused (QuantityError)."""

    reads = staticmethod(_mass)


class LengthField(_TypedField):
    """A Length, stored as typed, such as ``6 ft 3 in``. Text that is no length is refused (QuantityError)."""

    reads = staticmethod(_length)


class WordsField(models.JSONField):
    """A list of words, kept as JSON: many rows hold the same few lists, and each is decoded once."""

    def from_db_value(self, value: str | None, *_: object) -> list[str] | None:
        return None if value is None else list(_words(value))

    def deconstruct(self) -> Any:
        name, _, positional, named = super().deconstruct()
        return name, "django.db.models.JSONField", positional, named
