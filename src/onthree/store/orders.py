"""What medical direction signed, without the rest of the programme: life-first pages never wait for a large one."""

from datetime import date

from onthree.programme.programme import Programme, programme_of
from onthree.programme.records import MedicalOrder
from onthree.store.calendar import find_organisation
from onthree.store.connection import one_moment
from onthree.store.rows import COLUMN_NAMES, TABLE_OF, record_from


def load_orders(on: date, organisation_code: str | None = None) -> Programme | None:
    """The organisation with its medical orders and nothing else; None where the store is empty. Raises LookupError."""
    with one_moment():
        found = find_organisation(organisation_code)
        if found is None:
            return None
        organisation_id, organisation = found
        rows = TABLE_OF[MedicalOrder]._default_manager.filter(organisation_id=organisation_id).order_by("id")
        orders = [record_from(MedicalOrder, row, {}) for row in rows.values_list(*COLUMN_NAMES[MedicalOrder])]
        return programme_of([organisation, *orders], on)
