"""What one's own runs measured in some techniques, to stand beside what was published; never pooled with it."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from onthree.programme.records import Organisation
from onthree.rehearsals.own import OwnMeasured, own_measured_of


@dataclass(frozen=True)
class OwnAnswer:
    """Whose runs they are, None where the store is empty; and for each technique what they measured in it."""

    organisation: Organisation | None
    of: Mapping[str, OwnMeasured]


def own_measured(technique_ids: Collection[str], on: date, organisation_code: str | None = None) -> OwnAnswer:
    """What was measured in some techniques by a day; a technique that nobody rehearsed has no runs.

    Raises LookupError for an unknown organisation, and where the store holds several and none is named.
    """
    from onthree.store.calendar import find_organisation
    from onthree.store.own_runs import load_own_runs

    owner = find_organisation(organisation_code)
    found = load_own_runs(owner[0], technique_ids, on) if owner and technique_ids else []
    return OwnAnswer(
        owner[1] if owner else None,
        {
            technique: own_measured_of(technique, (run for its, run in found if its == technique))
            for technique in dict.fromkeys(technique_ids)
        },
    )
