"""What the checks ask of what is stored already: a whole programme answers it, and so does a reading as they go."""

from collections.abc import Collection, Mapping
from typing import Any, Protocol

from onthree.programme.records import Organisation, Record


class Stored(Protocol):
    """What is stored: whose it is, the codes of each kind, and the records that may contradict what is given."""

    @property
    def organisation(self) -> Organisation:
        """Whose it is."""

    def codes(self, record_type: type[Record]) -> Collection[str]:
        """Every code of a kind."""

    def table(self, record_type: type[Record]) -> Mapping[str, Any]:
        """Records of a kind by code."""
