"""Home: how the coming events stand, what is due, what changed; and that none of it slows down with the data."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from onthree.actions.accounts import add_person
from onthree.actions.due import due_on
from onthree.demo.conference import DEMO_TODAY, conference_records
from onthree.programme.records import Agency, Athlete, CheckOff, Gear, Record, Responder, Team, Upkeep, Venue
from onthree.programme.roles import Role
from onthree.readiness.due import Due, DueKind, by_urgency
from onthree.store.models import Account
from onthree.store.records import save_records

TODAY = date(2026, 11, 25)
LINKS = ("/", "/measure/", "/choose/", "/ready/")


def lines(kind: DueKind) -> dict[str, date | None]:
    found = [each for each in due_on(TODAY) if each.kind is kind]
    return {one.code: one.due for each in found for one in (*each.dated, *each.never_recorded)}


def test_gear_is_due_by_its_own_interval_and_the_log_counts(conference: Client) -> None:
    item = Gear(code="G-91", kind="scoop", name="x", inspected_on=date(2026, 10, 1), inspect_every_days=30)
    kept = replace(item, code="G-92")
    out = replace(item, code="G-93", in_service=False)
    logged = Upkeep(code="UP-92", gear="G-92", day=date(2026, 11, 20), done="inspected")
    never = Gear(code="G-94", kind="scoop", name="x")
    save_records([item, kept, out, never, logged], by="test")
    due = lines(DueKind.INSPECTION)

    assert due["G-91"] == date(2026, 10, 31)
    assert due["G-92"] == date(2026, 12, 20)
    assert due["G-94"] is None
    assert "G-93" not in due


def test_check_offs_rehearsals_and_reviews_are_due_after_their_intervals(conference: Client) -> None:
    someone = Responder(code="R-91", name="someone", kind="medical-team member")
    old = CheckOff(code="C-91", responder="R-91", skill="log roll", done_on=date(2024, 1, 1))
    renewed = CheckOff(code="C-92", responder="R-91", skill="scoop", done_on=date(2024, 1, 1))
    newer = replace(renewed, code="C-93", done_on=date(2026, 11, 1))
    agency = Agency(code="AG-91", name="agency", rehearsed_on=date(2020, 1, 1))
    venue = Venue(code="V-91", name="field", details_verified_on=TODAY)
    save_records([someone, old, renewed, newer, agency, venue], by="test")

    (of_r91,) = [one for each in due_on(TODAY) for one in each.dated if one.code == "R-91"]
    assert of_r91.what == "check off someone: log roll"
    assert "AG-91" in lines(DueKind.REHEARSAL)
    reviews = [one.what for each in due_on(TODAY) if each.kind is DueKind.REVIEW for one in each.never_recorded]
    assert "try the second way to call at field" in reviews
    assert "check the details of field" not in reviews


def test_the_most_urgent_comes_first() -> None:
    never, soon, late = (
        Due(DueKind.REVIEW, code, code, due) for code, due in zip("abc", (None, TODAY, date(2020, 1, 1)), strict=True)
    )

    assert by_urgency((never, soon, late)) == (late, soon, never)
    assert [one.late_days(TODAY) for one in (never, soon)] == [0, 0]


@pytest.mark.parametrize("address", ["/", "/measure/", "/ready/"])
def test_what_is_due_leads_to_the_record_it_speaks_of(conference: Client, address: str) -> None:
    page = conference.get(address).content.decode()
    links = re.findall(r'<section class="due".*?</section>', page, re.DOTALL)
    found = {link for section in links for link in re.findall(r'<li><a href="([^"]+)"', section)}

    assert found
    assert [link for link in found if conference.get(link).status_code != 200] == []


def test_home_says_what_changed_and_by_whom(conference: Client) -> None:
    save_records([Gear(code="G-91", kind="scoop", name="x")], by="r.marsh")
    page = " ".join(conference.get("/").content.decode().split())

    assert "In the last seven days" in page
    assert "Gear G-91: added" in page
    assert "r.marsh" in page


def test_somebody_who_signs_in_sees_what_changed_since_the_last_visit(conference: Client, settings: object) -> None:
    settings.LOOPBACK_ONLY = False  # type: ignore[attr-defined]
    add_person("reader", Role.READER, "heron over wet turf")
    client = Client()
    client.post("/sign-in/", {"username": "reader", "password": "heron over wet turf"})
    assert "In the last seven days" in client.get("/").content.decode()
    Account.objects.update(seen_at=timezone.now() - timedelta(hours=5))
    save_records([Gear(code="G-91", kind="scoop", name="x")], by="r.marsh")
    Account.objects.update(seen_at=timezone.now() - timedelta(hours=2))
    page = client.get("/").content.decode()

    assert "Since your last visit" in page
    assert "Nothing." not in page


@pytest.mark.parametrize("address", LINKS)
def test_no_page_asks_more_of_the_store_when_there_is_more(conference: Client, address: str) -> None:
    def asked() -> int:
        conference.get(address)
        with CaptureQueriesContext(connection) as questions:
            assert conference.get(address).status_code == 200
        return len(questions)

    before = asked()
    team = next(one.code for one in conference_records() if isinstance(one, Team))
    more: list[Record] = []
    for number in range(40):
        more += [Gear(code=f"G-X{number}", kind="scoop", name="x"), Venue(code=f"V-X{number}", name="field")]
        more += [Athlete(code=f"A-X{number}", team=team, number=None)]
    events = [one for one in conference_records() if type(one).__name__ == "Event"]
    more += [replace(one, code=f"{one.code}-X{number}") for one in events for number in range(5)]
    save_records(more, by="test")

    assert asked() == before
    assert before < 60


def test_a_warm_answer_is_not_worked_out_again_until_something_is_written(
    conference: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from onthree.actions import current_answer

    worked_out: list[str] = []
    real = current_answer.answer_for

    def counted(programme: object, event: object, what_if: object) -> object:
        worked_out.append("once")
        return real(programme, event, what_if)  # type: ignore[arg-type]

    monkeypatch.setattr(current_answer, "answer_for", counted)
    for _ in range(3):
        conference.get("/events/E-1/")
    assert len(worked_out) == 1
    save_records([Gear(code="G-91", kind="scoop", name="x")], by="test")
    conference.get("/events/E-1/")

    assert len(worked_out) == 2
    assert DEMO_TODAY == TODAY
