"""The pages of records: every kind listed, shown, added and edited; refusals at their field; nothing lost or leaked."""

import re
from html import unescape
from html.parser import HTMLParser
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from onthree.actions.records import record_as_saved
from onthree.programme.fields import Kind, fields_of
from onthree.programme.records import Athlete, Event, Gear, Organisation, Team
from onthree.store.listing import list_records
from onthree.store.records import save_records
from onthree.web.forms.kinds import ADDRESS_OF, GROUPS, KIND_AT, SINGULAR

SCRIPT = "<script>alert('x')</script>"


def text_of(response: HttpResponse, status: int = 200) -> str:
    assert response.status_code == status, response.content.decode()[:2000]
    return " ".join(unescape(response.content.decode()).split())


class _Form(HTMLParser):
    """Reads what a browser would send of the record form of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.sent: dict[str, Any] = {}
        self.is_inside = False
        self.name = ""
        self.text: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.is_inside |= tag == "form" and given.get("class") == "record-form"
        name, value = given.get("name") or "", given.get("value") or ""
        if not self.is_inside or name in ("look-for", "csrfmiddlewaretoken"):
            return
        if tag == "input" and given.get("type") in ("checkbox", "radio"):
            self.sent |= {name: [*self.sent.get(name, []), value]} if "checked" in given else {}
        elif tag == "input":
            self.sent[name] = value
        elif tag in ("select", "textarea"):
            self.name, self.text = name, "" if tag == "textarea" else None
            self.sent[name] = ""
        elif tag == "option" and "selected" in given:
            self.sent[self.name] = value

    def handle_data(self, data: str) -> None:
        self.text = None if self.text is None else self.text + data

    def handle_endtag(self, tag: str) -> None:
        self.is_inside &= tag != "form"
        if tag == "textarea" and self.text is not None:
            self.sent[self.name], self.text = self.text, None


def form_in(html: str) -> dict[str, Any]:
    """What a browser would send of the record form of a page, unchanged."""
    read = _Form()
    read.feed(html)
    return read.sent


def edited(client: Client, where: str, /, **changes: Any) -> HttpResponse:
    """Open a form, type something else into it, send it."""
    return client.post(where, form_in(client.get(where).content.decode()) | changes)  # type: ignore[return-value]


def test_every_kind_has_its_page_its_group_and_its_word(conference: Client) -> None:
    everything = text_of(conference.get("/records/"))
    for slug, kind in KIND_AT.items():
        listed = text_of(conference.get(f"/records/{slug}/"))
        first = list_records(kind, most=1).records[0]
        assert f'href="/records/{slug}/"' in everything
        assert f"Add {SINGULAR[kind]}" in listed
        assert first.code in text_of(conference.get(f"/records/{slug}/{first.code}/"))
    assert {kind for group in GROUPS.values() for kind in group} == set(ADDRESS_OF)


def test_a_form_sent_as_it_is_changes_nothing_whatever_the_kind(conference: Client) -> None:
    for slug, kind in KIND_AT.items():
        record = list_records(kind, most=1).records[0]
        before = record_as_saved(kind, record.code)
        response = edited(conference, f"/records/edit/{slug}/{record.code}/")
        assert response.status_code == 302, (slug, text_of(response, response.status_code))
        assert record_as_saved(kind, record.code) == before


def test_what_is_typed_is_saved_as_typed_and_shown_with_kilograms(conference: Client) -> None:
    edited(conference, "/records/edit/athletes/T1-52/", mass="300 lb")

    assert '300 lb <span class="also">(136.1 kg)</span>' in text_of(conference.get("/records/athletes/T1-52/"))


def test_every_problem_stands_at_its_field_with_what_was_typed(conference: Client) -> None:
    response = edited(conference, "/records/edit/athletes/T1-52/", mass="300", number="seven", team="T-9")
    page = text_of(response, 400)

    assert "Nothing was saved: 3 problems" in page
    assert page.count("'300' given, a mass such as 131.5 kg or 290 lb expected") == 2  # at the head and at the field
    assert 'value="300"' in page and 'value="seven"' in page
    assert '<option value="T-9" selected>' in page
    assert record_as_saved(Athlete, "T1-52").typed["number"] == "52"


def test_a_record_is_added_with_what_the_address_says(conference: Client) -> None:
    response = edited(conference, "/records/add/gates/?venue=V-1", code="GATE-new", name="west gate", width="2 m")

    assert response.status_code == 302
    assert "west gate" in text_of(conference.get("/records/venues/V-1/"))


def test_a_needed_field_left_blank_and_a_code_that_is_taken_are_told(conference: Client) -> None:
    page = text_of(edited(conference, "/records/add/teams/", code="T-1", name=""), 400)

    assert "Left blank. Needed: a text such as Herons." in page
    assert "a code that is not taken expected" in page


def test_the_second_of_two_people_sees_both_versions_and_decides(conference: Client) -> None:
    address = "/records/edit/gear/G-1/"
    ann, ben = (form_in(conference.get(address).content.decode()) for _ in range(2))
    conference.post(address, ann | {"condition": "worn", "name": "Ann's scoop"})
    both = conference.post(address, ben | {"condition": "damaged", "inspected_on": "2026-11-20"})
    page = text_of(both, 409)  # type: ignore[arg-type]

    assert "Two versions of item of gear G-1" in page
    for text in (
        "Yours: <strong>damaged</strong>",
        "<strong>worn</strong>",
        "<strong>2026-11-20</strong>",
        "Ann's scoop",
    ):
        assert text in page
    sent = form_in(both.content.decode())
    assert sent["name"] == ["Ann's scoop"]  # only Ann changed it
    assert sent["inspected_on"] == ["2026-11-20"]  # only Ben changed it
    assert "condition" not in sent  # both did: nobody has decided yet

    again = text_of(conference.post(address, sent), 409)  # type: ignore[arg-type]
    assert "Nothing was saved yet" in again
    assert record_as_saved(Gear, "G-1").typed["condition"] == "worn"
    conference.post(address, sent | {"condition": "damaged"})
    typed = record_as_saved(Gear, "G-1").typed
    assert (typed["condition"], typed["name"], typed["inspected_on"]) == ("damaged", "Ann's scoop", "2026-11-20")


def test_the_decision_can_be_typed_further_before_it_is_saved(conference: Client) -> None:
    address = "/records/edit/teams/T-1/"
    mine = form_in(conference.get(address).content.decode())
    edited(conference, address, name="Ann's name")
    both = conference.post(address, mine | {"name": "Ben's name"}).content.decode()
    page = conference.post(address, form_in(both) | {"name": "Ben's name", "then": "form"}).content.decode()
    conference.post(address, form_in(page) | {"name": "Cleo's name"})

    assert record_as_saved(Team, "T-1").typed["name"] == "Cleo's name"


def test_what_was_taken_back_meanwhile_can_be_saved_again(conference: Client) -> None:
    edited(conference, "/records/add/teams/", code="T-new", name="Larks")
    mine = form_in(conference.get("/records/edit/teams/T-new/").content.decode())
    saved = record_as_saved(Team, "T-new")
    assert conference.post("/records/take-back/teams/T-new/", {"version": saved.version}).status_code == 302
    page = conference.post("/records/edit/teams/T-new/", mine | {"name": "Terns"})

    assert "It was taken back meanwhile" in text_of(page, 409)  # type: ignore[arg-type]
    conference.post("/records/add/teams/", form_in(page.content.decode()))
    assert record_as_saved(Team, "T-new").typed["name"] == "Terns"


def test_what_others_refer_to_is_not_taken_back(conference: Client) -> None:
    version = record_as_saved(Team, "T-1").version
    page = text_of(conference.post("/records/take-back/teams/T-1/", {"version": version}), 409)  # type: ignore[arg-type]

    assert "other records refer to it" in page


def test_history_has_old_and_new_beside_each_other(conference: Client) -> None:
    edited(conference, "/records/edit/venues/V-1/", surface="grass")
    page = text_of(conference.get("/records/history/venues/V-1/"))

    assert "changed by You, at this computer" in page
    assert re.search(r">Surface</th><td[^>]*>turf</td><td[^>]*>grass</td>", page)
    assert "added by test" in page


def test_script_in_every_text_field_is_shown_as_text(conference: Client) -> None:
    for slug, kind in KIND_AT.items():
        texts = [
            f.name
            for f in fields_of(kind)
            if f.kind is Kind.TEXT and f.name not in ("rule", "technique", "role", "quantity", "subject")
        ]
        record = list_records(kind, most=1).records[0]
        response = edited(conference, f"/records/edit/{slug}/{record.code}/", **dict.fromkeys(texts, SCRIPT))
        pages = [f"/records/{slug}/", f"/records/{slug}/{record.code}/", f"/records/history/{slug}/{record.code}/",
                 f"/records/edit/{slug}/{record.code}/", f"/records/options/{slug}/"]  # fmt: skip
        for raw in (conference.get(address).content.decode() for address in pages):
            assert SCRIPT not in raw
        assert "alert(" not in response.content.decode().replace("&lt;script&gt;alert", "")


@pytest.mark.parametrize(
    "address",
    ["/records/nothing/", "/records/teams/T-99/", "/records/edit/teams/T-99/", "/records/history/teams/T-99/",
     "/records/take-back/teams/T-99/", "/records/add/nothing/"],
)  # fmt: skip
def test_what_is_not_there_is_said(conference: Client, address: str) -> None:
    assert "Not found" in text_of(conference.get(address), 404)  # type: ignore[arg-type]


def test_a_record_of_another_organisation_is_not_found(conference: Client, django_user_model: Any) -> None:
    from onthree.store.models import Account
    from onthree.store.models import Organisation as OrganisationRow

    save_records([Organisation(code="OTHER", name="Other"), Team(code="T-other", name="Terns")], by="test")
    user = django_user_model.objects.create_user("ann", password="a long password")
    Account.objects.create(user=user, role="lead", organisation=OrganisationRow.objects.get(code="OTHER"))
    conference.force_login(user)

    assert "Terns" in text_of(conference.get("/records/teams/T-other/"))
    for address in ("/records/teams/T-1/", "/records/edit/teams/T-1/", "/records/history/teams/T-1/"):
        assert conference.get(address).status_code == 404
    assert (
        conference.post("/records/upkeep/add/G-1/", {"done": "used", "day": "2026-11-25", "key": "a1"}).status_code
        == 404
    )
    assert "Herons" not in text_of(conference.get("/records/teams/"))
    assert "Herons" not in text_of(conference.get("/records/options/teams/"))


@pytest.mark.parametrize(
    ("role", "sees", "edits"), [("editor", True, True), ("responder", True, False), ("reader", False, False)]
)
def test_a_role_sees_and_edits_what_it_may(
    conference: Client, django_user_model: Any, role: str, sees: bool, edits: bool
) -> None:
    from onthree.store.models import Account

    user = django_user_model.objects.create_user("ann", password="a long password")
    Account.objects.create(user=user, role=role)
    edited(conference, "/records/edit/athletes/T1-52/", mass="301.5 lb")
    conference.force_login(user)

    for address in (
        "/records/athletes/T1-52/",
        "/records/history/athletes/T1-52/",
        "/records/athletes/?q=T1-52",
        "/records/teams/T-1/",
    ):
        assert ("301.5 lb" in text_of(conference.get(address)) or "teams" in address) == sees or "teams" in address
        assert sees or "301.5" not in text_of(conference.get(address))
    assert conference.get("/records/edit/athletes/T1-52/").status_code == (200 if edits else 403)
    assert conference.get("/records/workbook/download/").status_code == (200 if sees else 403)


def test_a_list_of_twelve_thousand_athletes_is_paged_with_as_many_queries_as_a_short_one(conference: Client) -> None:
    with CaptureQueriesContext(
        connection,
    ) as few:
        conference.get("/records/athletes/")
    many = [Team(code=f"X-{n}", name=f"team {n}") for n in range(200)]
    save_records(
        [*many, *(Athlete(code=f"X-{n}-{m}", team=f"X-{n}", number=m) for n in range(200) for m in range(60))],
        by="test",
    )
    with CaptureQueriesContext(connection) as more:
        page = text_of(conference.get("/records/athletes/?page=200"))

    assert len(more) == len(few)
    assert re.search(r"9951 to 10000 of 12\d\d\d", page)
    assert len(page) < 200_000
    assert "X-7-33" in text_of(conference.get("/records/athletes/?q=33&team=X-7"))


def test_an_agency_shows_its_shifts_vehicles_and_agreements_and_a_team_the_six_to_measure(conference: Client) -> None:
    agency = text_of(conference.get("/records/agencies/AG-1/"))
    team = text_of(conference.get("/records/teams/T-1/"))

    for title in ("Shifts", "Vehicles", "Agreements"):
        assert f">{title}<" in agency
    assert "The six to measure" in team
    assert ">Athletes<" in team
    assert ">Gates<" in text_of(conference.get("/records/venues/V-1/"))


def test_codes_are_offered_by_word(conference: Client) -> None:
    page = text_of(conference.get("/records/options/gear/?look-for=wide"))

    assert 'data-code="G-' in page


def test_an_event_keeps_its_lists_through_the_form(conference: Client) -> None:
    before = record_as_saved(Event, "E-1").record
    edited(conference, "/records/edit/events/E-1/", tell="head coach")
    after = record_as_saved(Event, "E-1").record

    assert isinstance(before, Event) and isinstance(after, Event)
    assert (after.responders, after.gear, after.vehicles) == (before.responders, before.gear, before.vehicles)
    assert after.tell == "head coach"
