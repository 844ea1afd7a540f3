"""Every field of every record is described, once, in words a person can follow."""

import dataclasses

import pytest

from onthree.programme.fields import FieldDescription, Kind, fields_of
from onthree.programme.programme import TABLES
from onthree.programme.records import RECORD_TYPES, SHEETS, Organisation
from onthree.units import read_length, read_mass

FIELDS = [(kind, field) for kind in RECORD_TYPES for field in fields_of(kind)]
EACH_FIELD = pytest.mark.parametrize(("kind", "field"), FIELDS, ids=lambda each: getattr(each, "name", ""))


def test_a_sheet_for_every_kind_of_record_in_the_order_of_references() -> None:
    assert tuple(SHEETS.values()) == RECORD_TYPES
    assert (Organisation, *TABLES) == RECORD_TYPES


@pytest.mark.parametrize("kind", RECORD_TYPES)
def test_the_first_column_is_the_code(kind: type) -> None:
    code = fields_of(kind)[0]

    assert (code.name, code.kind, code.is_required) == ("code", Kind.CODE, True)


@pytest.mark.parametrize("kind", RECORD_TYPES)
def test_headers_of_a_sheet_are_unique(kind: type) -> None:
    headers = [field.header.casefold() for field in fields_of(kind)]

    assert len(set(headers)) == len(headers)


@EACH_FIELD
def test_a_field_is_described_by_header_help_and_example(kind: type, field: FieldDescription) -> None:
    assert field.header and field.help.endswith(".") and field.example


@EACH_FIELD
def test_choices_and_references_say_what_may_stand_there(kind: type, field: FieldDescription) -> None:
    refers = field.kind in (Kind.REFERENCE, Kind.REFERENCES, Kind.PRESENCES)

    assert bool(field.choices) == (field.kind in (Kind.CHOICE, Kind.CHOICES))
    assert bool(field.refers_to) == refers
    if refers:
        assert field.refers_to in {each.__name__ for each in TABLES}


@EACH_FIELD
def test_an_example_of_a_choice_is_one(kind: type, field: FieldDescription) -> None:
    if field.choices:
        assert {part.strip() for part in field.example.split(",")} <= set(field.choices)


@EACH_FIELD
def test_an_example_lies_within_its_bounds(kind: type, field: FieldDescription) -> None:
    read = {
        Kind.MASS: lambda text: read_mass(text).kg,
        Kind.LENGTH: lambda text: read_length(text).m,
        Kind.INTEGER: int,
        Kind.NUMBER: float,
    }
    if field.kind in read:
        lowest, given, highest = (read[field.kind](text) for text in (field.lowest, field.example, field.highest))
        assert lowest <= given <= highest


@EACH_FIELD
def test_what_is_left_blank_is_not_known(kind: type, field: FieldDescription) -> None:
    default = next(each.default for each in dataclasses.fields(kind) if each.name == field.name)

    assert field.is_required == (default is dataclasses.MISSING)
    assert default in (dataclasses.MISSING, None, "", ())
