"""Several organisations in one store never see each other's records."""

from dataclasses import replace
from typing import Any

import pytest
from django.apps import apps

from onthree.programme.programme import Scope
from onthree.programme.records import Organisation
from onthree.store.load import load_programme, organisation_codes
from onthree.store.records import SaveReport, save_records
from tests.invented import DAY, athlete, clean_records

pytestmark = pytest.mark.django_db

OTHER = tuple(
    replace(each, code="OTHER")
    if isinstance(each, Organisation)
    else replace(each, **{"name": "other"})
    if hasattr(each, "name")
    else each
    for each in clean_records()
)


@pytest.fixture
def two_organisations() -> None:
    """The same codes twice, each with its own names."""
    save_records(clean_records(), by="test")
    assert save_records(OTHER, by="test") == SaveReport(len(OTHER), 0, 0)


@pytest.mark.parametrize("scope", [Scope(), Scope("venue", "V-1"), Scope("event", "E-1")])
def test_each_organisation_has_its_own_records(scope: Scope, two_organisations: None) -> None:
    assert set(load_programme(DAY, scope, organisation_code="ORG").records()) == set(clean_records())
    assert set(load_programme(DAY, scope, organisation_code="OTHER").records()) == set(OTHER)


def test_with_several_organisations_one_must_be_named(two_organisations: None) -> None:
    with pytest.raises(LookupError, match="several organisations: say which one of ORG, OTHER"):
        load_programme(DAY)
    with pytest.raises(LookupError, match="one of the store's expected"):
        save_records([athlete("T1-99", 99, None)], by="test")
    assert organisation_codes() == ("ORG", "OTHER")


def test_an_unknown_organisation_is_refused(two_organisations: None) -> None:
    with pytest.raises(LookupError, match="no organisation has the code 'ORGS': did you mean ORG"):
        load_programme(DAY, organisation_code="ORGS")
    with pytest.raises(LookupError, match="ORGS given"):
        save_records([athlete("T1-99", 99, None)], by="test", organisation_code="ORGS")


def test_records_are_saved_for_the_organisation_named(two_organisations: None) -> None:
    save_records([athlete("T1-99", 99, None)], by="test", organisation_code="OTHER")

    assert "T1-99" in load_programme(DAY, organisation_code="OTHER").athletes
    assert "T1-99" not in load_programme(DAY, organisation_code="ORG").athletes


def test_records_cannot_refer_to_another_organisation(two_organisations: None) -> None:
    save_records([replace(OTHER[2], code="T-OTHER")], by="test", organisation_code="OTHER")

    with pytest.raises(LookupError, match="team 'T-OTHER' given"):
        save_records([athlete("T1-99", 99, None, team="T-OTHER")], by="test", organisation_code="ORG")


def test_records_of_two_organisations_are_refused_at_once() -> None:
    with pytest.raises(ValueError, match="organisations ORG, OTHER given, one expected"):
        save_records([*clean_records(), OTHER[0]], by="test")


def test_every_table_says_whose_its_rows_are() -> None:
    def says_whose(model: Any) -> bool:
        return any(getattr(field, "attname", "") == "organisation_id" for field in model._meta.get_fields())

    nobodys = {model.__name__ for model in apps.get_app_config("store").get_models() if not says_whose(model)}
    of_an_account_or_nobody = {"ApiToken", "FailedLogin"}
    assert nobodys == {"Organisation", "HistoricalOrganisation"} | of_an_account_or_nobody
