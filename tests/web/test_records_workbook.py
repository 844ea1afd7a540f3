"""A workbook is uploaded with every problem or every change shown first; it is imported as previewed, or not at all."""

import io

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from openpyxl import load_workbook

from onthree.actions.records import record_as_saved, save_one
from onthree.demo.conference import DEMO_TODAY
from onthree.programme.records import Team
from tests.web.conftest import PageAt, assert_accessible
from tests.web.test_records import text_of

CSV = b"Code,Name\nT-1,Herons of Quillmere\nT-77,Larks\n"


@pytest.fixture(autouse=True)
def uploads(settings: LazySettings, tmp_path_factory: pytest.TempPathFactory) -> None:
    settings.FOLDER = tmp_path_factory.mktemp("folder")


def sent(client: Client, content: bytes, name: str = "Teams.csv", status: int = 200) -> str:
    """What the page says of an upload."""
    return text_of(client.post("/records/workbook/", {"workbook": SimpleUploadedFile(name, content)}), status)  # type: ignore[arg-type]


def hidden(page: str, name: str) -> str:
    return page.partition(f'name="{name}" value="')[2].partition('"')[0]


def test_changes_are_shown_first_and_saved_when_confirmed(conference: Client) -> None:
    page = sent(conference, CSV)
    assert "1 added, 1 changed" in page
    assert "added: Teams, T-77" in page
    assert "-> Herons of Quillmere" in page
    assert record_as_saved(Team, "T-1").typed["name"] != "Herons of Quillmere"

    form = {"digest": hidden(page, "digest"), "seen": hidden(page, "seen")}
    done = text_of(conference.post("/records/workbook/confirm/", form))  # type: ignore[arg-type]
    assert "Teams.csv is imported: 1 added, 1 changed" in done
    assert record_as_saved(Team, "T-77").by == "You, at this computer"
    again = text_of(conference.post("/records/workbook/confirm/", form), 400)  # type: ignore[arg-type]
    assert "no longer kept: choose it again" in again


def test_every_problem_is_listed_and_nothing_is_kept(conference: Client) -> None:
    page = sent(conference, b"Code,Name\nT-1,\nT 2,x\n", status=400)

    assert "2 problems, nothing was imported" in page
    assert "Teams.csv, row 2, Name: nothing given" in page
    assert "digest" not in page


def test_what_somebody_saved_meanwhile_is_shown_before_anything_is_imported(conference: Client) -> None:
    page = sent(conference, CSV)
    saved = record_as_saved(Team, "T-1")
    save_one(Team, saved.typed | {"name": "Cranes"}, saved.version, DEMO_TODAY, "Ann")
    form = {"digest": hidden(page, "digest"), "seen": hidden(page, "seen")}
    again = text_of(conference.post("/records/workbook/confirm/", form), 409)  # type: ignore[arg-type]

    assert "nothing was imported, look at the changes again" in again
    assert "Cranes -> Herons of Quillmere" in again
    assert record_as_saved(Team, "T-1").typed["name"] == "Cranes"
    form = {"digest": hidden(again, "digest"), "seen": hidden(again, "seen")}
    conference.post("/records/workbook/confirm/", form)
    assert record_as_saved(Team, "T-1").typed["name"] == "Herons of Quillmere"


def test_a_kept_file_that_was_changed_is_refused(conference: Client, settings: LazySettings) -> None:
    page = sent(conference, CSV)
    digest = hidden(page, "digest")
    (settings.FOLDER / "uploads" / digest / "0").write_bytes(CSV.replace(b"Larks", b"Terns"))
    form = {"digest": digest, "seen": hidden(page, "seen")}

    assert "not the one that was previewed" in text_of(conference.post("/records/workbook/confirm/", form), 400)  # type: ignore[arg-type]


@pytest.mark.parametrize("digest", ["", "../../secret-key", "a" * 64, "/etc/passwd"])
def test_a_made_up_digest_opens_nothing(conference: Client, digest: str) -> None:
    form = {"digest": digest, "seen": ""}

    assert "choose it again" in text_of(conference.post("/records/workbook/confirm/", form), 400)  # type: ignore[arg-type]


def test_other_files_and_too_much_are_refused(conference: Client) -> None:
    assert "plan.pdf given, one workbook" in sent(conference, b"x", "plan.pdf", 400)
    assert "at most 20,000,000 expected" in sent(conference, b"x" * 20_000_001, "Teams.csv", 400)
    assert "nothing was imported" in sent(conference, b"not a workbook", "book.xlsx", 400)
    assert "no file given" in text_of(conference.post("/records/workbook/", {}), 400)  # type: ignore[arg-type]


def test_the_workbook_that_is_downloaded_changes_nothing_when_it_is_uploaded(conference: Client) -> None:
    content = conference.get("/records/workbook/download/").content
    page = sent(conference, content, "all.xlsx")

    assert "0 added, 0 changed" in page
    blank = load_workbook(io.BytesIO(conference.get("/records/workbook/blank/").content))
    assert "Plan marks" in blank.sheetnames


@pytest.mark.browser
def test_a_workbook_is_uploaded_in_a_browser(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto("/records/workbook/")
    assert_accessible(page)
    page.set_input_files("#workbook", {"name": "Teams.csv", "mimeType": "text/csv", "buffer": CSV})
    page.click("text=Check it and show the changes")
    page.wait_for_selector(".changes")
    assert_accessible(page)
    page.click("text=Import it")
    page.wait_for_selector("[role=status]")

    assert "1 added, 1 changed" in page.inner_text("[role=status]")
