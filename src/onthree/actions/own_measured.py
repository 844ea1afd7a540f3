"""What one's own runs measured in some techniques, to stand beside what was published; never pooled with it."""

from collections.abc import Collection, Mapping
from datetime import date

from onthree.rehearsals.own import OwnMeasured, own_measured_of


def own_measured(
    technique_ids: Collection[str], on: date, organisation_code: str | None = None
) -> Mapping[str, OwnMeasured]:
    """Technique to what was measured in it by a day, without runs where there are none, or where the store is empty.

    Raises LookupError for an unknown organisation, and where the store holds several and none is named.
    """
    from onthree.store.calendar import find_organisation
    from onthree.store.own_runs import load_own_runs

    organisation = find_organisation(organisation_code)
    found = load_own_runs(organisation[0], technique_ids, on) if organisation and technique_ids else []
    return {
        technique: own_measured_of(technique, (run for its, run in found if its == technique))
        for technique in dict.fromkeys(technique_ids)
    }
