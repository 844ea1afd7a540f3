"""What the pages of records have in common: the kind and record of an address, what a person may see of it."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

from onthree.actions.records import SHEET_OF, NotFoundError, Saved, record_as_saved
from onthree.programme.fields import FieldDescription, fields_of
from onthree.programme.records import Athlete, Record
from onthree.programme.roles import Right
from onthree.store.calendar import find_organisation
from onthree.web.access import Person, asking
from onthree.web.forms.kinds import ADDRESS_OF, KIND_AT, SINGULAR, beside_code, is_size
from onthree.web.forms.shown_values import shown_value
from onthree.web.pages import page

LEG = "ready"


def record_page(request: HttpRequest, template: str, *, status: int = 200, **content: Any) -> HttpResponse:
    """A page of records, with whose they are."""
    whose = find_organisation(asking(request).organisation_code)
    organisation = whose[1] if whose else None
    return page(request, f"records/{template}", status=status, leg=LEG, organisation=organisation, **content)


def kind_at(slug: str) -> type[Record]:
    """The kind of an address. Raises Http404."""
    try:
        return KIND_AT[slug]
    except KeyError:
        raise Http404(f"there are no records called {slug!r}: open Records and choose a kind") from None


def found(kind: type[Record], code: str, person: Person) -> Saved:
    """The record of the person's organisation. Raises Http404."""
    try:
        return record_as_saved(kind, code, person.organisation_code)
    except NotFoundError as error:
        raise Http404(str(error)) from None


def may_edit(request: HttpRequest) -> bool:
    """Whether who asks may change records."""
    return asking(request).may(Right.EDIT)


def seen(person: Person, kind: type[Record], fields: tuple[FieldDescription, ...]) -> tuple[FieldDescription, ...]:
    """The fields that a person may see."""
    return tuple(field for field in fields if person.may(Right.SIZES) or not is_size(kind, field))


def about_kind(request: HttpRequest, kind: type[Record]) -> dict[str, Any]:
    """What every page of a kind shows."""
    return {
        "title": SHEET_OF[kind],
        "slug": ADDRESS_OF[kind],
        "one": SINGULAR[kind],
        "may_edit": may_edit(request),
    }


def name_of(record: Record) -> str:
    """A few words beside the code."""
    if isinstance(record, Athlete):
        return "" if record.number is None else f"number {record.number}, {record.team}"
    fields = {field.name: field for field in fields_of(type(record))}
    words = (shown_value(fields[name], getattr(record, name)).text for name in beside_code(type(record)))
    return " ".join(filter(None, words))
