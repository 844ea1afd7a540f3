"""The preview of an import: what is new, what changes from what to what, and what stays."""

from dataclasses import replace
from datetime import date

from onthree.programme.programme import programme_of
from onthree.programme.records import Athlete, Organisation, Team
from onthree.units import read_mass
from onthree.workbook.changes import Changes, FieldChange, preview

ORGANISATION = Organisation(code="ORG", name="Invented conference")
TEAM = Team(code="T-1", name="Herons")
ATHLETE = Athlete(code="T1-52", team="T-1", number=52, mass=read_mass("290 lb"))
STORED = programme_of([ORGANISATION, TEAM, ATHLETE], date(2026, 11, 25))


def test_everything_is_new_in_an_empty_store() -> None:
    assert preview(None, [ORGANISATION, TEAM]) == Changes((ORGANISATION, TEAM), (), 0, ())


def test_the_same_again_changes_nothing() -> None:
    changes = preview(STORED, STORED.records())

    assert changes == Changes((), (), 3, ())
    assert changes.is_empty
    assert list(changes.lines()) == []


def test_changed_fields_are_shown_as_typed_and_what_is_not_there_is_kept() -> None:
    edited = replace(ATHLETE, mass=read_mass("131.5 kg"), number=None)
    added = Team(code="T-2", name="Otters")

    changes = preview(STORED, [edited, added])

    assert not changes.is_empty
    assert changes.added == (added,)
    assert changes.kept == (ORGANISATION, TEAM)
    assert [(change.record, change.fields) for change in changes.changed] == [
        (
            edited,
            tuple(
                FieldChange(one.field, old, new)
                for one, old, new in zip(changes.changed[0].fields, ("52", "290 lb"), ("", "131.5 kg"), strict=True)
            ),
        )
    ]
    assert changes.summary == "1 added, 1 changed, 0 unchanged, 2 kept that the workbook does not have."
    assert list(changes.lines()) == [
        "added: Teams, T-2",
        "changed: Athletes, T1-52, Number: 52 -> blank",
        "changed: Athletes, T1-52, Body mass: 290 lb -> 131.5 kg",
    ]


def test_the_same_code_in_two_kinds_is_two_records() -> None:
    changes = preview(STORED, [Team(code="T1-52", name="Newts")])

    assert len(changes.added) == 1
    assert len(changes.kept) == 3
