"""The page of an event: who can fix what, who was told, late changes with what is lost, cards, gear, known gaps."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from onthree.actions.accounts import add_person
from onthree.programme.roles import Role
from onthree.store.models import KnownGap, Told, Upkeep

EVENT = "/events/E-1/"
PASSWORD = "heron over wet turf"


def text_of(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status
    return " ".join(response.content.decode().replace("&#x27;", "'").split())


def signed_in(role: Role, settings: Any) -> Client:
    settings.LOOPBACK_ONLY = False
    add_person(role.replace(" ", "-"), role, PASSWORD)
    client = Client()
    client.post("/sign-in/", {"username": role.replace(" ", "-"), "password": PASSWORD})
    return client


def test_findings_stand_by_who_can_fix_them(conference: Client) -> None:
    page = text_of(conference, EVENT)
    lead = page.index('id="fix-lead"')

    assert "Lead: " in page[lead : lead + 60]
    assert page.index("Say at the medical") < lead < page.index("Hands by minute") < page.index("Athlete by athlete")


def test_who_was_told_is_kept_from_the_page_without_its_script(conference: Client) -> None:
    page = conference.get(EVENT).content.decode()
    form = next(each for each in re.findall(r"<form.*?</form>", page, re.DOTALL) if 'value="visitors-unknown"' in each)
    fields = dict(re.findall(r'name="(key|event|rule|subject|next)" value="([^"]*)"', form))
    response = conference.post("/send/told/", {**fields, "who": "visiting athletic trainer", "answer": "will do"})

    assert (response.status_code, response["Location"]) == (302, EVENT)
    assert Told.objects.get(who="visiting athletic trainer").rule == "visitors-unknown"
    assert "Told: visiting athletic trainer" in text_of(conference, EVENT)


def test_an_ambulance_that_leaves_says_for_whom_what_is_lost(conference: Client) -> None:
    page = text_of(conference, f"{EVENT}?without=AMB-1")

    assert "without stand-by ambulance (AMB-1)" in page
    assert "<strong>48</strong> of 48 athletes lose something" in page
    assert "Hands: 10 there from the start, 1 from minute 4, planned 12 there from the start" in page
    assert "Lost, found supine: " in page
    assert "Now: not possible (ask for an ambulance" in page
    outcomes = re.findall(r"<p>(Now: [^<]*)</p>", page)
    assert len(outcomes) == len(set(outcomes)), "an outcome is said once, with everyone it befalls"


def test_somebody_ill_changes_nothing_where_hands_are_left_and_something_where_they_are_not(conference: Client) -> None:
    assert "<strong>No</strong> of 48 athletes lose something" in text_of(conference, f"{EVENT}?without=R-12")
    few = ",".join(f"R-{number}" for number in (1, 2, 3, 6, 7, 8, 9, 11, 12))
    assert "<strong>48</strong> of 48 athletes lose something" in text_of(conference, f"{EVENT}?without={few}")


def test_another_unit_is_known_by_its_code_and_unknown_by_its_agency(conference: Client) -> None:
    unknown = text_of(conference, f"{EVENT}?without=AMB-1&unit=AG-1&unit_min=15")
    assert "other unit of Quillmere ambulance" in unknown
    assert "unknown (" in unknown
    assert "2 from minute 15" in unknown
    both = text_of(conference, f"{EVENT}?without=AMB-1&without=R-12&unit=AG-1@15min")
    assert "without stand-by ambulance (AMB-1), " in both
    assert "(R-12); another unit: Quillmere ambulance (invented) (AG-1), 15 min after the call" in both


@pytest.mark.parametrize(
    ("query", "status", "says"),
    [
        ("without=R-99", 404, "expected one of: R-1"),
        ("unit=AG-99@15min", 404, "expected one of"),
        ("unit=AG-1@soon", 400, "a code such as RT-04 or AMB-2@8min expected"),
    ],
)
def test_a_change_that_cannot_be_answered_is_told(conference: Client, query: str, status: int, says: str) -> None:
    assert says in text_of(conference, f"{EVENT}?{query}", status)


def test_cards_hold_every_number_once_for_each_position_and_can_be_filtered(conference: Client) -> None:
    page = conference.get(f"{EVENT}cards/").content.decode()
    cards = re.findall(r"<h3>Found (\w+): <span class=\"jersey\">([^<]*)</span>", page)
    for position in ("supine", "prone"):
        worn = [number for found, called in cards if found == position for number in called.split(", ")]
        assert len(worn) == len(set(worn)) == 48
    only = conference.get(f"{EVENT}cards/?position=prone&surface=wet-turf").content.decode()

    assert "Found supine: <span" not in only
    assert "surface wet turf" in only


def test_everything_is_on_the_page_for_paper(conference: Client) -> None:
    page = text_of(conference, f"{EVENT}everything/")

    for part in ("Say at the medical", "Before the start", "Medical time-out", "Hands by minute", "Event cards"):
        assert part in page


def test_the_gear_check_writes_the_upkeep_log_and_what_is_not_ready_is_a_finding(conference: Client) -> None:
    assert "Here, both latches close and hold" in text_of(conference, f"{EVENT}gear-check/")
    body = {"gear": "G-1", "done": "found not ready", "who": "gear keeper", "note": "latch stiff"}
    item = {"kind": "gear-check", "body": body}
    taken = conference.put(f"/api/outbox/{uuid4()}", item, content_type="application/json").json()
    row = Upkeep.objects.get(code=taken["result"]["code"])
    assert (row.gear.code, row.done, row.by, row.note) == ("G-1", "found not ready", "gear keeper", "latch stiff")
    bad = {"kind": "gear-check", "body": {**body, "done": "fine"}}
    told = conference.put(f"/api/outbox/{uuid4()}", bad, content_type="application/json")

    assert told.status_code == 422
    assert "expected one of: found ready, found not ready" in told.json()["detail"]


GAP = "/events/E-1/known-gap/?rule=weight-limit&subject=G-1"
FIELDS = {"key": "6f1de7c2-7f3e-4b8a-9a57-1f0a4b1d2c3d", "reason": "wide scoop is there", "until": "2027-01-31"}


def test_medical_direction_signs_in_their_own_name(conference: Client, settings: Any) -> None:
    client = signed_in(Role.MEDICAL_DIRECTION, settings)
    assert "Signed as medical-direction" in text_of(client, GAP)
    for _ in range(2):
        assert client.post(GAP, {**FIELDS, "signer": "somebody else"}).status_code == 302
    gap = KnownGap.objects.get(subject="G-1")

    assert (gap.signed_by, gap.signer, gap.event.code) == ("medical direction", "medical-direction", "E-1")
    assert "Known gap, signed by medical direction" in text_of(client, EVENT)


def test_the_lead_records_what_was_signed_on_paper_with_who_signed(conference: Client) -> None:
    assert conference.post(GAP, FIELDS).status_code == 400
    signed = {**FIELDS, "signed_by": "administration", "signer": "director of athletics"}
    assert "later expected" in conference.post(GAP, {**signed, "until": "2020-01-01"}).content.decode()
    assert conference.post(GAP, signed).status_code == 302

    assert KnownGap.objects.get(subject="G-1").signer == "director of athletics"


@pytest.mark.parametrize("role", [Role.RESPONDER, Role.READER, Role.AMBULANCE_PARTNER])
def test_nobody_else_signs(conference: Client, settings: Any, role: Role) -> None:
    client = signed_in(role, settings)

    assert client.get(GAP).status_code == client.post(GAP, FIELDS).status_code == 403
    assert "Sign it as a known gap" not in text_of(client, EVENT)
    assert KnownGap.objects.filter(subject="G-1").count() == 0


def test_a_finding_that_is_not_there_is_told(conference: Client) -> None:
    assert "it may be settled" in text_of(conference, "/events/E-1/known-gap/?rule=hands&subject=x", 404)


def test_the_number_of_questions_to_the_store_does_not_grow(conference: Client) -> None:
    counts = []
    for address in ("/events/E-2/?without=R-1", "/events/E-4/?without=R-1"):  # 44 and 96 athletes
        with CaptureQueriesContext(connection) as asked:
            assert conference.get(address).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1]
