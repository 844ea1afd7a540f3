"""What arrived from a page or a program, as the handlers of its kind take it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID


@dataclass(frozen=True)
class Arrived:
    """Something that arrived: its key, its content, who sent it, their clock, whose programme it is about."""

    key: UUID
    body: Mapping[str, Any]
    by: str
    at: datetime
    organisation_code: str

    def text(self, name: str, longest: int = 500, *, is_required: bool = True) -> str:
        """A field of the content as text, blanks around it dropped. Raises ValueError that names it."""
        given = self.body.get(name, "")
        if not isinstance(given, str) or len(given) > longest or (is_required and not given.strip()):
            raise ValueError(f"{name}: {str(given)[:40]!r} given, text of at most {longest} characters expected")
        return given.strip()

    def one_of(self, name: str, known: tuple[str, ...]) -> str:
        """A field of the content that must be one of some words. Raises ValueError that names them."""
        given = self.text(name)
        if given not in known:
            raise ValueError(f"{name}: {given!r} given, expected one of: {', '.join(known)}")
        return given

    def record_code(self, prefix: str) -> str:
        """The code of a record made from this: the same key gives the same code."""
        return f"{prefix}-{self.key.hex[:12].upper()}"
