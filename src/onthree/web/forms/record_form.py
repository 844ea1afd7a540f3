"""A form for one record, made from the descriptions of its fields: what is shown, and what was typed into it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from onthree.actions.records import FieldsError
from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.records import Record
from onthree.store.listing import codes_of
from onthree.web.forms.kinds import ADDRESS_OF, KIND_NAMED, beside_code
from onthree.workbook.problems import Problem
from onthree.workbook.values import FILL_IN, range_shown, read_value

MOST_OPTIONS = 200
"""Codes offered in one list; of more kinds one searches."""

_MANY = (Kind.REFERENCES, Kind.PRESENCES)
_LONG = ("note", "reason", "ambulance_access", "bariatric_call")
_ORDERED = ("preference",)  # choices whose order says something
_UNITS = {Kind.MASS: "With its unit, kg or lb.", Kind.LENGTH: "With its unit: cm, m, in, or 6 ft 3 in."}
_BY_WIDGET = {Kind.CHOICE: "select", Kind.YES_NO: "select", Kind.DATE: "date", Kind.CLOCK: "time"}


@dataclass(frozen=True)
class FormField:
    """One field of a form: how it is typed, what stands in it, what it was, and what is wrong with it.

    ``options`` are values and their words; ``searches`` is the kind whose codes are looked for while typing.
    """

    field: FieldDescription
    widget: str
    value: str
    was: str
    errors: tuple[str, ...] = ()
    options: tuple[tuple[str, str], ...] = ()
    searches: str = ""
    adds: bool = False

    @property
    def id(self) -> str:
        """Its identifier on the page."""
        return f"field-{self.field.name}"

    @property
    def chosen(self) -> frozenset[str]:
        """The words that are ticked."""
        return frozenset(part.strip() for part in self.value.split(","))

    @property
    def described_by(self) -> str:
        """Identifiers of what is said about it."""
        return f"{self.id}-help{f' {self.id}-error' if self.errors else ''}"

    @property
    def help(self) -> str:
        """What to type: meaning, unit, bounds, an example."""
        bounds = f"{range_shown(self.field)}." if range_shown(self.field) else ""
        example = f"Such as {self.field.example}." if self.field.example and self.widget not in _TAPPED else ""
        help_text = self.field.help.replace("With unit.", "").strip() if self.field.kind in _UNITS else self.field.help
        told = (help_text, _UNITS.get(self.field.kind, ""), bounds[:1].upper() + bounds[1:], example)
        return " ".join(filter(None, told))


_TAPPED = ("select", "ticks", "date", "time")


def form_of(
    kind: type[Record],
    values: Mapping[str, str],
    was: Mapping[str, str],
    problems: Mapping[str, tuple[Problem, ...]] | None = None,
    organisation_code: str | None = None,
) -> tuple[FormField, ...]:
    """The fields of a form with what stands in them."""
    return tuple(
        _form_field(field, values.get(field.name, ""), was.get(field.name, ""), problems or {}, organisation_code)
        for field in fields_of(kind)
        if field.kind is not Kind.CODE or not was
    )


def typed_in(kind: type[Record], post: QueryDict) -> dict[str, str]:
    """What was typed, by field name. Ticked words keep the order they had where nothing else was ticked."""
    given = {}
    for field in fields_of(kind):
        text = ", ".join(post.getlist(field.name)) if field.kind is Kind.CHOICES else post.get(field.name, "")
        was = post.get(f"was-{field.name}", "")
        is_same = field.kind is Kind.CHOICES and field.name not in _ORDERED and _words(text) == _words(was)
        given[field.name] = was if is_same else text
    return given


def were(kind: type[Record], post: QueryDict) -> dict[str, str]:
    """What stood in the form when it was opened."""
    return {field.name: post.get(f"was-{field.name}", "") for field in fields_of(kind)}


@dataclass(frozen=True)
class Decision:
    """A field that two people see differently: mine, what is saved by now, and which of the two was changed."""

    field: FieldDescription
    mine: str
    saved: str
    was: str

    @property
    def chosen(self) -> str:
        """Which of the two is ticked at first: what only one of them changed; nothing where both did."""
        if self.mine == self.was:
            return "saved"
        return "mine" if self.saved == self.was else ""


def decisions(
    kind: type[Record], mine: Mapping[str, str], saved: Mapping[str, str], was: Mapping[str, str]
) -> tuple[Decision, ...]:
    """The fields in which what I typed differs from what is saved."""
    return tuple(
        Decision(field, mine[field.name], saved[field.name], was.get(field.name, ""))
        for field in fields_of(kind)
        if not _is_same(field, mine[field.name], saved[field.name])
    )


def _is_same(field: FieldDescription, mine: str, saved: str) -> bool:
    """Whether two texts say the same: ``250lb`` is typed otherwise and weighs the same."""
    if mine.strip() == saved:
        return True
    try:
        return bool(read_value(field, mine) == read_value(field, saved))
    except ValueError:
        return False


def _words(text: str) -> set[str]:
    return {part.strip() for part in text.split(",") if part.strip()}


def _form_field(
    field: FieldDescription, value: str, was: str, problems: Mapping[str, tuple[Problem, ...]], whose: str | None
) -> FormField:
    errors = tuple(_told(problem) for problem in problems.get(field.name, ()))
    about: dict[str, Any] = {"value": value, "was": was, "errors": errors}
    if field.refers_to:
        return _reference(field, about, whose)
    if field.kind is Kind.CHOICES and field.name not in _ORDERED:
        return FormField(field, "ticks", **about, options=tuple((each, each) for each in field.choices))
    if field.kind is Kind.YES_NO:
        return FormField(field, "select", **about, options=_with(value, (("yes", "yes"), ("no", "no"))))
    if field.kind is Kind.CHOICE:
        return FormField(field, "select", **about, options=_with(value, tuple((each, each) for each in field.choices)))
    widget = "long" if field.name in _LONG else _BY_WIDGET.get(field.kind, "text")
    is_odd = (widget == "date" and value and not _is_read(field, value)) or (widget == "time" and errors)
    return FormField(field, "text" if is_odd else widget, **about)


def _reference(field: FieldDescription, about: dict[str, Any], whose: str | None) -> FormField:
    kind = KIND_NAMED[field.refers_to]
    listed, count = codes_of(field.refers_to, beside_code(kind), most=MOST_OPTIONS, organisation_code=whose)
    if field.kind in _MANY or count > MOST_OPTIONS:
        return FormField(field, "search", **about, searches=ADDRESS_OF[kind], adds=field.kind in _MANY)
    options = tuple((code, " ".join(filter(None, (code, *words)))) for code, *words in listed)
    return FormField(field, "select", **about, options=_with(about["value"], options))


def _with(value: str, options: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    """The options, and what was typed where it is none of them, so that it is not lost."""
    return options if not value or value in dict(options) else ((value, value), *options)


def _is_read(field: FieldDescription, value: str) -> bool:
    try:
        read_value(field, value)
    except ValueError:
        return False
    return True


def _told(problem: Problem) -> str:
    """A problem beside its field, in plain words: that it is left blank, or what was given and what is expected."""
    if not problem.given:
        needed = f"Left blank. Needed: {problem.expected.replace('a reference ', 'a code ')}."
        return needed if problem.fix == FILL_IN else f"{needed} {problem.fix[:1].upper()}{problem.fix[1:]}."
    return str(problem).removeprefix(f"{problem.place}: ")


def told(error: FieldsError) -> list[tuple[str, str, str]]:
    """Every problem for the head of the page: identifier of the field, its header, what is wrong."""
    return [
        (f"field-{name}" if name else "", problem.column, _told(problem))
        for name, of_field in error.problems.items()
        for problem in of_field
    ]
