"""Gear: upkeep in two taps, kept once; what is due; labels whose QR codes open the pages of the items."""

from datetime import date

import cv2
import numpy as np
import pytest
from django.test import Client

from onthree.actions.gear_upkeep import upkeep_state
from onthree.documents.gear_labels import LABELS_A_PAGE, GearLabel, gear_labels_pdf
from onthree.documents.typeset import png_of
from onthree.programme.records import Gear, Upkeep
from onthree.store.listing import list_records
from onthree.store.records import save_records
from tests.web.conftest import PageAt, assert_accessible
from tests.web.test_records import form_in, text_of

DAY = date(2026, 11, 25)


def test_an_entry_is_added_once_however_often_it_is_sent(conference: Client) -> None:
    before = list_records(Upkeep, where={"gear": "G-1"}).count
    sent = {"done": "cleaned", "day": "2026-11-25", "key": "a1b2c3", "note": "wiped"}
    for _ in range(2):
        assert conference.post("/records/upkeep/add/G-1/", sent).status_code == 302

    assert list_records(Upkeep, where={"gear": "G-1"}).count == before + 1
    page = text_of(conference.get("/records/gear/G-1/?done=cleaned"))  # type: ignore[arg-type]
    assert "Saved: cleaned." in page
    assert "wiped" in page


@pytest.mark.parametrize(
    "wrong", [{"done": "eaten"}, {"day": "yesterday"}, {"key": ""}, {"key": "a b"}, {"day": "1999-01-01"}]
)
def test_what_cannot_be_an_entry_is_refused(conference: Client, wrong: dict[str, str]) -> None:
    sent = {"done": "cleaned", "day": "2026-11-25", "key": "a1b2c3"} | wrong

    assert "Nothing was saved" in text_of(conference.post("/records/upkeep/add/G-1/", sent), 400)  # type: ignore[arg-type]


def test_what_is_due_is_said(db: None) -> None:
    from tests.invented import clean_records

    item = Gear(code="G-x", kind="scoop", name="scoop", inspected_on=date(2026, 9, 1), inspect_every_days=30,
                lubricate_every_days=90)  # fmt: skip
    save_records([*clean_records(), item, Gear(code="G-y", kind="scoop", name="other"),
                  Upkeep(code="U-x", gear="G-x", day=date(2026, 11, 1), done="used")], by="test")  # fmt: skip
    lines = dict(upkeep_state("G-x", DAY).lines)

    assert any(text.startswith("55 days past its inspection") for text in lines)  # 1 September + 30 days is 1 October
    assert lines["The maker asks for lubrication, and none is recorded."]
    assert lines["Used on 2026-11-01 and not cleaned since."]
    assert dict(upkeep_state("G-y", DAY).lines) == {"No inspection is recorded: not known.": True}


def test_the_codes_on_the_labels_open_the_pages_of_the_items() -> None:
    labels = [
        GearLabel(f"G-{n}", "wide scoop", "scoop", f"https://pages.example/records/gear/G-{n}/") for n in range(3)
    ]
    data_of = {}
    import onthree.documents.gear_labels as module

    pages = [[module._label(each) for each in labels]]
    data_of = {"paper": "a4", "on": DAY, "is_invented": True, "columns": module.COLUMNS, "pages": pages}
    picture = cv2.imdecode(np.frombuffer(png_of("gear_labels", data_of, ppi=200)[0], np.uint8), cv2.IMREAD_GRAYSCALE)
    found, texts, _, _ = cv2.QRCodeDetector().detectAndDecodeMulti(picture)

    assert found
    assert sorted(texts) == [each.address for each in labels]


def test_every_item_has_its_label(conference: Client) -> None:
    codes = [each.code for each in list_records(Gear, most=500).records]
    assert all(f'value="{code}" checked' in text_of(conference.get("/records/labels/")) for code in codes[:3])  # type: ignore[arg-type]
    response = conference.get("/records/labels/sheet.pdf", {"base": "https://pages.example:8000/", "code": codes})

    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")
    assert conference.get("/records/labels/sheet.pdf", {"base": "javascript:x", "code": codes}).status_code == 400
    assert conference.get("/records/labels/sheet.pdf", {"base": "https://pages.example"}).status_code == 400
    with pytest.raises(ValueError, match="no item given"):
        gear_labels_pdf([], "a4", DAY, is_invented=False)
    assert LABELS_A_PAGE == 24


@pytest.mark.browser
def test_two_taps_record_upkeep_on_a_telephone(page_at: PageAt) -> None:
    page = page_at("phone")
    page.goto("/records/gear/G-1/")
    assert_accessible(page)
    page.click("button:has-text('Inspected')")
    page.wait_for_selector(".just-saved")

    assert "Saved: inspected" in page.inner_text(".just-saved")


@pytest.mark.browser
def test_two_people_edit_one_item_in_two_browsers(page_at: PageAt) -> None:
    ann, ben = page_at("desktop"), page_at("phone")
    for page, condition in ((ann, "worn"), (ben, "damaged")):
        page.goto("/records/edit/gear/G-1/")
        page.select_option("#field-condition", condition)
    ann.click("button:has-text('Save')")
    ann.wait_for_url("**?saved")
    ben.click("button:has-text('Save')")
    ben.wait_for_selector("text=Two versions of")
    assert_accessible(ben)
    ben.check("input[name=condition][value=damaged]")
    ben.click("text=Save what is chosen")
    ben.wait_for_url("**?saved")

    assert "damaged" in ben.inner_text(".values")
    assert form_in(ben.content()) == {}


def test_the_list_of_gear_says_in_words_what_is_due_and_puts_it_first(conference: object) -> None:
    past = Gear(code="G-91", kind="scoop", name="x", inspected_on=date(2026, 9, 1), inspect_every_days=30)
    today = Gear(code="G-93", kind="scoop", name="x", inspected_on=date(2026, 11, 24), inspect_every_days=1)
    never = Gear(code="G-92", kind="scoop", name="x")
    save_records([past, never, today], by="test")
    page = text_of(conference.get("/records/gear/"))  # type: ignore[attr-defined]

    said = ["overdue by 55 days, since 2026-10-01", "never recorded: not known", "due today, by 2026-11-25"]
    places = [page.index(words) for words in (*said, "15 days left, by 2026-12-10", "out of service")]
    assert places == sorted(places)
    logged = Upkeep(code="U-91", gear="G-91", day=date(2026, 11, 20), done="inspected")
    save_records([logged], by="test")
    assert "25 days left, by 2026-12-20" in text_of(conference.get("/records/gear/"))  # type: ignore[attr-defined]
