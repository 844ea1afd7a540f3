"""Script and markup typed into every text field of every kind of record: shown as text by every page, never as page."""

from django.test import Client

from onthree.actions.records import record_as_saved
from onthree.programme.fields import Kind, fields_of
from onthree.programme.records import Team
from onthree.store.listing import list_records
from onthree.store.records import save_records
from onthree.web.forms.kinds import KIND_AT
from tests.web.addresses import ADDRESSES
from tests.web.forms import read
from tests.web.test_records import edited

SCRIPT = "\"'><script>alert('x')</script><img src=x onerror=alert(1)>{{7*7}}#read(\"/etc/passwd\")*x*"
REFUSED = {
    "agreements": {"technique"},
    "incidents": {"technique"},
    "known-gaps": {"rule"},
    "measured": {"quantity"},
    "plan-marks": {"drawn"},
    "run-phases": {"technique"},
    "run-roles": {"role", "technique"},
    "told": {"rule"},
}
"""Text fields that take only what the program knows; script in them is refused at the field, shown there as text."""
EVENT_PAGES = ("", "athletes/T1-52/", "time-out/", "cards/", "gear-check/", "everything/", "visitor-link/", "standing/")
RUN_PAGES = ("", "record/", "films/", "debrief/", "result/")


def script_typed_into(client: Client, slug: str, code: str) -> set[str]:
    """Type script into every text field of a record; the fields that refuse it. What is refused is shown as text."""
    texts = {each.name for each in fields_of(KIND_AT[slug]) if each.kind is Kind.TEXT}
    refused: set[str] = set()
    for _ in range(4):  # some are judged only once others can be read
        response = edited(client, f"/records/edit/{slug}/{code}/", **dict.fromkeys(texts - refused, SCRIPT))
        if response.status_code == 302:
            break
        found = read(response.content.decode())
        assert response.status_code == 400 and found.runs == [] and SCRIPT in " ".join(found.words), slug
        refused |= {each for each in texts if f'id="field-{each}-error"' in response.content.decode()}
    assert response.status_code == 302, (slug, response.content.decode().partition('id="problems"')[2][:600])
    saved = record_as_saved(KIND_AT[slug], code).typed
    assert all(saved[name] == SCRIPT for name in texts - refused), slug
    return refused


def test_script_in_every_text_field_of_every_kind_is_text_on_every_page(conference: Client) -> None:
    refused = {}
    for slug, kind in KIND_AT.items():
        code = list_records(kind, most=1).records[0].code
        refused |= {slug: names} if (names := script_typed_into(conference, slug, code)) else {}
        has_text = any(each.kind is Kind.TEXT and each.name not in refused.get(slug, ()) for each in fields_of(kind))
        for address in (
            f"/records/{slug}/{code}/",
            f"/records/history/{slug}/{code}/",
            f"/records/edit/{slug}/{code}/",
        ):
            found = read(conference.get(address).content.decode())
            assert found.runs == [], address
            assert not has_text or SCRIPT in "\n".join(found.words), address
    assert refused == REFUSED

    assert SCRIPT in "\n".join(read(conference.get("/").content.decode()).words)  # in the name of the next event
    pages = [*ADDRESSES, *(f"/records/{slug}/" for slug in KIND_AT)]
    pages += [f"/events/E-1/{each}" for each in EVENT_PAGES] + [f"/rehearsals/RUN-1/{each}" for each in RUN_PAGES]
    for address in pages:
        html = conference.get(address).content.decode()
        assert read(html).runs == [], address
        assert "<img src=x" not in html, address


def test_script_in_a_code_is_text_and_leads_to_its_record(conference: Client) -> None:
    code = "<img/src=x/onerror=alert(1)>"
    save_records([Team(code=code, name="Larks")], by=SCRIPT)
    for address in ("/records/teams/", f"/records/teams/{code}/", f"/records/edit/teams/{code}/", "/records/athletes/"):
        response = conference.get(address)
        assert response.status_code == 200, address
        assert read(response.content.decode()).runs == [] and "<img" not in response.content.decode(), address
