"""The tables are written by hand; this holds them to the description that every record gives of its own fields."""

from typing import Any

import pytest
from django.db import models

from onthree.programme.fields import LISTS, FieldDescription, Kind, fields_of
from onthree.programme.records import SHEETS, Organisation
from onthree.store.fields import LengthField, MassField, WordsField
from onthree.store.rows import EVENT_LISTS, TABLE_OF

CLASS_OF = {
    Kind.CODE: models.CharField,
    Kind.TEXT: models.TextField,
    Kind.INTEGER: models.PositiveSmallIntegerField,
    Kind.NUMBER: models.FloatField,
    Kind.MASS: MassField,
    Kind.LENGTH: LengthField,
    Kind.DATE: models.DateField,
    Kind.CLOCK: models.TimeField,
    Kind.CHOICE: models.CharField,
    Kind.CHOICES: WordsField,
    Kind.WORDS: WordsField,
    Kind.YES_NO: models.BooleanField,
    Kind.REFERENCE: models.ForeignKey,
    Kind.REFERENCES: models.ManyToManyField,
    Kind.PRESENCES: models.ManyToManyField,
}
NEVER_UNKNOWN = (Kind.TEXT, *LISTS)  # blank, or an empty list
OWN_TABLE = (Kind.REFERENCES, Kind.PRESENCES)
DESCRIBED = [(kind, field) for kind in SHEETS.values() for field in fields_of(kind)]
TABLES = {a_list.name: a_list for a_list in EVENT_LISTS}
each_field = pytest.mark.parametrize(("kind", "field"), DESCRIBED, ids=[f"{k.__name__}.{f.name}" for k, f in DESCRIBED])


def column(kind: type[Any], field: FieldDescription) -> Any:
    """The model's field of the same name."""
    return TABLE_OF[kind]._meta.get_field(field.name)


@each_field
def test_a_field_is_stored_as_what_it_is(kind: type[Any], field: FieldDescription) -> None:
    assert type(column(kind, field)) is CLASS_OF[field.kind]


@each_field
def test_what_is_required_is_never_null(kind: type[Any], field: FieldDescription) -> None:
    assert column(kind, field).null == (not field.is_required and field.kind not in NEVER_UNKNOWN)


@each_field
def test_what_is_optional_may_be_left_blank(kind: type[Any], field: FieldDescription) -> None:
    is_list = field.kind in OWN_TABLE  # filled through a table of its own
    assert is_list or column(kind, field).blank == (not field.is_required)


@each_field
def test_choices_are_the_same(kind: type[Any], field: FieldDescription) -> None:
    if field.kind is Kind.CHOICE:
        assert tuple(value for value, _ in column(kind, field).choices) == field.choices
    else:
        assert not column(kind, field).choices


@each_field
def test_a_reference_refers_to_the_same_kind(kind: type[Any], field: FieldDescription) -> None:
    related = column(kind, field).related_model
    assert (related.__name__ if related else "") == field.refers_to


@each_field
def test_whole_numbers_fit_their_column(kind: type[Any], field: FieldDescription) -> None:
    if field.kind is Kind.INTEGER:
        assert int(field.lowest) >= 0
        assert int(field.highest) <= 32767


@pytest.mark.parametrize("kind", SHEETS.values())
def test_a_table_holds_nothing_else(kind: type[Any]) -> None:
    own = {"id"} if kind is Organisation else {"id", "organisation"}
    table: Any = TABLE_OF[kind]._meta
    assert {field.name for field in (*table.fields, *table.many_to_many)} == {f.name for f in fields_of(kind)} | own


@pytest.mark.parametrize("kind", SHEETS.values())
def test_a_code_is_unique_within_its_organisation(kind: type[Any]) -> None:
    unique = [constraint.fields for constraint in TABLE_OF[kind]._meta.total_unique_constraints]
    assert column(kind, fields_of(kind)[0]).unique if kind is Organisation else ("organisation", "code") in unique


@pytest.mark.parametrize(("kind", "field"), [each for each in DESCRIBED if each[1].kind in OWN_TABLE])
def test_a_list_has_its_table(kind: type[Any], field: FieldDescription) -> None:
    a_list = TABLES[field.name]
    assert column(kind, field).remote_field.through is a_list.table
    assert ("from_min" in a_list.column_names) == (field.kind is Kind.PRESENCES)


@pytest.mark.parametrize("table", [*TABLE_OF.values(), *(a_list.table for a_list in EVENT_LISTS)])
def test_a_table_has_its_history_and_its_references_are_protected(table: Any) -> None:
    references = [field for field in table._meta.fields if isinstance(field, models.ForeignKey)]

    assert {field.remote_field.on_delete for field in references} <= {models.PROTECT}
    assert {field.attname for field in table._meta.fields} <= {
        field.attname for field in table.history.model._meta.fields
    }
