"""What is stored beside one record that is about to be saved: each kind is read when it is first looked at."""

from collections.abc import Mapping

from onthree.programme.records import (
    Athlete,
    Incident,
    Measured,
    Organisation,
    Record,
    Recording,
    RunPhase,
    RunRole,
)
from onthree.store.calendar import find_organisation
from onthree.store.listing import all_codes, list_records

_TOGETHER: Mapping[type[Record], str] = {
    Athlete: "team",
    **dict.fromkeys((RunRole, RunPhase, Incident, Recording, Measured), "run"),
}
"""Kinds of which a record can contradict only those that share this field with it."""
_ALL = 10**9


class Beside:
    """The stored records that one may contradict, and every code; the whole programme need not be read for it.

    ``given`` are the values of the record as typed, by field name.
    """

    def __init__(self, kind: type[Record], given: Mapping[str, str], organisation: Organisation) -> None:
        self._shared = _TOGETHER.get(kind, "")
        self._value = given.get(self._shared, "").strip()
        self.organisation = organisation

    def codes(self, record_type: type[Record]) -> frozenset[str]:
        """Every code of a kind."""
        return all_codes(record_type, self.organisation.code)

    def table(self, record_type: type[Record]) -> dict[str, Record]:
        """The records of a kind that share with the one to be saved what it may contradict them in, by code."""
        is_narrowed = self._value and _TOGETHER.get(record_type) == self._shared
        where = {self._shared: self._value} if is_narrowed else {}
        found = list_records(record_type, where=where, most=_ALL, organisation_code=self.organisation.code)
        return {record.code: record for record in found.records}


def stored_beside(kind: type[Record], given: Mapping[str, str], organisation_code: str | None = None) -> Beside | None:
    """What is stored beside a record as typed; None where nothing is stored yet. Raises LookupError."""
    found = find_organisation(organisation_code)
    return Beside(kind, given, found[1]) if found else None
