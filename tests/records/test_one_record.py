"""One record is saved as typed or not at all; whoever comes second is told; its history has old and new."""

from datetime import timedelta

import pytest

from onthree.actions.records import (
    ChangedMeanwhileError,
    FieldsError,
    NotFoundError,
    record_as_saved,
    save_one,
    take_back,
    typed_values,
)
from onthree.demo.conference import DEMO_TODAY, conference_records
from onthree.programme.records import RECORD_TYPES, Athlete, Event, Gear, Hospital, Organisation, Record, Team, Venue
from onthree.store.beside import stored_beside
from onthree.store.histories import history_of
from onthree.store.listing import codes_of, counts_of, list_records
from onthree.store.records import save_records

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def conference() -> None:
    save_records(conference_records(), by="test")


def edited(kind: type[Record], code: str, by: str = "Ann", **changes: str) -> Record:
    """Save a record with some fields typed otherwise."""
    saved = record_as_saved(kind, code)
    return save_one(kind, {**saved.typed, **changes}, saved.version, DEMO_TODAY, by)


def test_every_kind_is_listed_shown_and_saved_again_unchanged() -> None:
    counts = counts_of()
    for kind in RECORD_TYPES:
        listed = list_records(kind, most=2)
        assert listed.count == counts[kind] > 0
        for record in listed.records:
            saved = record_as_saved(kind, record.code)
            assert saved.record == record
            assert save_one(kind, saved.typed, saved.version, DEMO_TODAY, "Ann") == record
            assert record_as_saved(kind, record.code).version == saved.version


def test_a_mass_is_kept_as_it_was_typed() -> None:
    edited(Athlete, "T1-52", mass="300 lb")

    assert str(record_as_saved(Athlete, "T1-52").record.mass) == "300 lb"  # type: ignore[union-attr]


def test_every_problem_is_told_at_its_field_and_nothing_is_saved() -> None:
    before = record_as_saved(Athlete, "T1-52")
    with pytest.raises(FieldsError) as raised:
        edited(Athlete, "T1-52", mass="300", number="seven", team="T-9", shoulder_breadth="60 cm",
               padded_shoulder_breadth="50 cm")  # fmt: skip

    problems = raised.value.problems
    assert set(problems) == {"mass", "number", "team", "padded_shoulder_breadth"}
    assert "'300' given" in str(problems["mass"][0])
    assert "a code of the sheet Teams expected" in str(problems["team"][0])
    assert record_as_saved(Athlete, "T1-52") == before


def test_one_jersey_number_on_two_athletes_is_refused() -> None:
    taken = next(each for each in list_records(Athlete, where={"team": "T-1"}).records if each.code != "T1-52")
    with pytest.raises(FieldsError, match="a number of their own"):
        edited(Athlete, "T1-52", number=str(taken.number))  # type: ignore[union-attr]


def test_only_the_team_of_an_athlete_is_read_beside_them_yet_every_code_is_known() -> None:
    beside = stored_beside(Athlete, {"code": "T1-52", "team": "T-1", "number": "52"})

    assert beside is not None
    assert {athlete.team for athlete in beside.table(Athlete).values() if isinstance(athlete, Athlete)} == {"T-1"}
    assert len(beside.codes(Athlete)) == counts_of()[Athlete] > len(beside.table(Athlete))
    assert len(beside.table(Team)) == counts_of()[Team]


def test_whoever_saves_second_is_told_and_overwrites_nothing() -> None:
    opened = record_as_saved(Gear, "G-1")
    edited(Gear, "G-1", by="Ann", condition="worn")
    with pytest.raises(ChangedMeanwhileError) as raised:
        save_one(Gear, {**opened.typed, "condition": "damaged"}, opened.version, DEMO_TODAY, "Ben")

    saved = raised.value.saved
    assert saved
    assert (saved.by, saved.typed["condition"]) == ("Ann", "worn")
    assert record_as_saved(Gear, "G-1").typed["condition"] == "worn"


def test_a_list_of_an_event_counts_as_a_change_of_the_event() -> None:
    opened = record_as_saved(Event, "E-1")
    edited(Event, "E-1", by="Ann", gear="G-1")
    with pytest.raises(ChangedMeanwhileError):
        save_one(Event, dict(opened.typed), opened.version, DEMO_TODAY, "Ben")

    latest = history_of(Event, "E-1")[0]
    assert latest.by == "Ann"
    assert [(field.name, str(new[0])) for field, _, new in latest.changed] == [("gear", "G-1")]


def test_a_new_record_needs_a_code_of_its_own() -> None:
    typed = {**record_as_saved(Hospital, "H-1").typed, "name": "another"}
    with pytest.raises(FieldsError, match="a code that is not taken"):
        save_one(Hospital, typed, "", DEMO_TODAY, "Ann")

    save_one(Hospital, {**typed, "code": "H-new"}, "", DEMO_TODAY, "Ann")
    assert record_as_saved(Hospital, "H-new").typed["name"] == "another"


def test_the_history_says_who_changed_what_from_what() -> None:
    edited(Venue, "V-1", by="Ann", surface="grass")
    edited(Venue, "V-1", by="Ben", surface="ice")
    latest, before, first = history_of(Venue, "V-1")

    assert [(each.by, each.way) for each in (latest, before, first)] == [
        ("Ben", "changed"), ("Ann", "changed"), ("test", "added"),
    ]  # fmt: skip
    assert [(field.name, old, new) for field, old, new in latest.changed] == [("surface", "grass", "ice")]


def test_what_others_refer_to_stays_and_what_nobody_refers_to_is_taken_back_with_its_history_kept() -> None:
    team = record_as_saved(Team, "T-1")
    with pytest.raises(ValueError, match="other records refer to it"):
        take_back(team.record, team.version, "Ann")

    save_one(Team, {"code": "T-new", "name": "Larks"}, "", DEMO_TODAY, "Ann")
    made = record_as_saved(Team, "T-new")
    take_back(made.record, made.version, "Ben")
    with pytest.raises(NotFoundError, match="there is no record 'T-new'"):
        record_as_saved(Team, "T-new")
    assert [(each.by, each.way) for each in history_of(Team, "T-new")] == [("Ben", "taken back"), ("Ann", "added")]
    with pytest.raises(ChangedMeanwhileError):
        save_one(Team, made.typed, made.version, DEMO_TODAY, "Cleo")


def test_a_record_of_another_organisation_is_not_there() -> None:
    save_records([Organisation(code="OTHER", name="Other"), Team(code="T-other", name="Terns")], by="test")

    assert record_as_saved(Team, "T-other", "OTHER").typed["name"] == "Terns"
    whose = record_as_saved(Organisation, "OTHER", "OTHER")
    with pytest.raises(NotFoundError):
        record_as_saved(Team, "T-1", "OTHER")
    assert [each.code for each in list_records(Team, organisation_code="OTHER").records] == ["T-other"]
    assert codes_of("Team", ("name",), organisation_code="OTHER") == ([("T-other", "Terns")], 1)
    assert history_of(Team, "T-1", "OTHER") == ()
    assert whose.record.code == "OTHER"


def test_a_list_is_searched_by_words_and_jersey_number_and_by_what_it_belongs_to() -> None:
    by_number = list_records(Athlete, search="52", where={"team": "T-1"})
    by_words = list_records(Gear, search="wide scoop")

    assert "T1-52" in [each.code for each in by_number.records]
    assert {each.team for each in by_number.records} == {"T-1"}  # type: ignore[union-attr]
    assert by_words.records
    assert list_records(Athlete, search="nobody at all").count == 0


def test_typed_values_read_as_the_record_again() -> None:
    for record in list_records(Event, most=5).records:
        assert typed_values(record)["day"] == record.day.isoformat()  # type: ignore[union-attr]
    assert record_as_saved(Event, "E-1").at - record_as_saved(Gear, "G-1").at < timedelta(seconds=60)
