"""The life-first pages, each with whether medical direction approved it; shown whatever the store can say."""

from dataclasses import dataclass
from datetime import date

from onthree.actions.event_answer import NotFoundError
from onthree.actions.opening import open_programme_store, store_is_there
from onthree.programme.programme import Programme
from onthree.programme.records import MedicalOrder
from onthree.readiness.approval import approval, approval_words
from onthree.techniques.life_first import LifeFirstPage, life_first_pages

NO_STORE = "No programme is in the store: nothing is known about what medical direction approved."


@dataclass(frozen=True)
class ApprovedPage:
    """A page and the order that approves it on the day, None where there is none."""

    page: LifeFirstPage
    order: MedicalOrder | None

    @property
    def approval(self) -> str:
        """Whether it is approved, in words."""
        return approval_words(self.order)


@dataclass(frozen=True)
class LifeFirstAnswer:
    """Every page in its order; the programme with its medical orders only, or why no approval could be looked up."""

    pages: tuple[ApprovedPage, ...]
    programme: Programme | None
    told: str

    def page(self, called: str) -> ApprovedPage:
        """The page with this identifier; hyphens will do. Raises NotFoundError."""
        for each in self.pages:
            if each.page.id == called.replace("-", "_"):
                return each
        known = ", ".join(each.page.id for each in self.pages)
        raise NotFoundError(f"life-first page {called!r} given, expected one of: {known}")


def life_first_answer(on: date, *, is_open: bool, organisation_code: str | None = None) -> LifeFirstAnswer:
    """The pages with their approvals on a day. A store that is missing or fails takes no page away, and makes none."""
    programme, told = _programme(on, is_open, organisation_code)
    pages = (
        ApprovedPage(page, approval(programme, page.about, on) if programme else None) for page in life_first_pages()
    )
    return LifeFirstAnswer(tuple(pages), programme, told)


def _programme(on: date, is_open: bool, organisation_code: str | None) -> tuple[Programme | None, str]:
    from django.db import DatabaseError

    try:
        if not is_open:
            if not store_is_there():
                return None, NO_STORE
            open_programme_store()
        from onthree.store.orders import load_orders

        programme = load_orders(on, organisation_code)
    except (LookupError, OSError, DatabaseError) as error:
        return None, f"What medical direction approved could not be looked up: {error}"
    return programme, "" if programme else NO_STORE
