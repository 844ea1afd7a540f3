"""Films sent in pieces: they go on where they stopped, arrive once, and are refused with the reason."""

import shutil
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from onthree.actions import film_upload
from onthree.actions.runs import run_of
from onthree.programme.roles import Role
from tests.web.films import FILM, declare, piece, sent, signed_in, started

pytestmark = pytest.mark.django_db
CONTENT = FILM.read_bytes()
HALF = len(CONTENT) // 2


@pytest.fixture(autouse=True)
def store_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ONTHREE_FOLDER", str(tmp_path))
    return tmp_path


def test_a_film_goes_on_where_it_stopped_and_is_attached_when_whole(conference: Client, store_folder: Path) -> None:
    run = started(conference)
    address = declare(conference, run, FILM)

    assert piece(conference, address, 0, CONTENT[:HALF]).json()["offset_bytes"] == HALF
    head = conference.head(address)
    assert (head.status_code, head.headers["Upload-Offset"]) == (200, str(HALF))
    again = piece(conference, address, 0, CONTENT[:HALF])
    assert (again.status_code, again.headers["Upload-Offset"]) == (409, str(HALF))
    last = piece(conference, address, HALF, CONTENT[HALF:])

    (recording,) = run_of(run).recordings
    assert last.json()["recording"] == recording.code
    assert (store_folder / "films" / recording.file).read_bytes() == CONTENT
    assert (recording.kind, recording.offset_s) == ("film with tags", 0)
    assert piece(conference, address, len(CONTENT), b"").json()["recording"] == recording.code
    assert len(run_of(run).recordings) == 1


def test_a_piece_that_was_damaged_is_refused_and_nothing_is_added(conference: Client) -> None:
    address = declare(conference, started(conference), FILM)

    answer = piece(conference, address, 0, CONTENT[:HALF], digest=b"0" * 32)

    assert (answer.status_code, answer.json()["detail"]) == (422, "the piece was damaged on its way: send it again")
    assert conference.get(address).json()["offset_bytes"] == 0


def test_a_crash_before_attaching_is_finished_by_an_empty_piece(conference: Client, store_folder: Path) -> None:
    """The film lies whole under its name, and the server ended before it was attached."""
    run = started(conference)
    address = declare(conference, run, FILM)
    piece(conference, address, 0, CONTENT[:HALF])
    (part,) = (store_folder / "films-unfinished").glob("*.part")
    part.unlink()
    key = address.rpartition("/")[2]
    (store_folder / "films").mkdir()
    shutil.copy(FILM, store_folder / "films" / f"roll-head-late-{key[:8]}.mp4")

    assert conference.get(address).json()["offset_bytes"] == len(CONTENT)
    assert piece(conference, address, len(CONTENT), b"").json()["recording"] == run_of(run).recordings[0].code


def test_a_file_of_the_wrong_kind_is_refused_with_the_reason_and_not_kept(
    conference: Client, store_folder: Path, tmp_path: Path
) -> None:
    wrong = tmp_path / "notes.mp4"
    wrong.write_bytes(b"not a film " * 50)
    run = started(conference)
    address = declare(conference, run, wrong)

    answer = piece(conference, address, 0, wrong.read_bytes())

    assert answer.status_code == 422
    assert answer.json()["detail"].startswith("notes.mp4: ")
    assert conference.get(address).json()["problem"] == answer.json()["detail"]
    assert run_of(run).recordings == ()
    assert [path for path in store_folder.rglob("*") if path.is_file() and path.suffix == ".part"] == []


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"size_bytes": 0}, "size: 0 bytes given"),
        ({"size_bytes": film_upload.MOST_BYTES + 1}, "bytes given, 1 to"),
        ({"kind": "drawing"}, "kind: 'drawing' given"),
        ({"offset_s": "soon"}, "offset_s: 'soon' given"),
        ({"name": " "}, "name: ' ' given"),
    ],
)
def test_what_is_declared_is_checked_first(conference: Client, more: dict[str, Any], told: str) -> None:
    body = {"run": "RUN-3", "name": "a.mp4", "size_bytes": 9, "kind": "film", **more}
    answer = conference.put(f"/api/films/uploads/{uuid4()}", body, "application/json")

    assert answer.status_code == 422
    assert told in answer.json()["detail"]


def test_a_full_disk_is_said_before_anything_is_sent(conference: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage("/")._replace(free=10)
    monkeypatch.setattr(film_upload.shutil, "disk_usage", lambda path: usage)

    declare(conference, started(conference), FILM, status=507)


def test_names_lead_nowhere_else(conference: Client, store_folder: Path) -> None:
    run = started(conference)
    sent(conference, run, name="../../etc/pass wd.mp4")

    (film,) = (store_folder / "films").iterdir()
    assert film.name.startswith("pass-wd-")


def test_only_those_who_record_send_films(conference: Client) -> None:
    declare(signed_in(Role.RESPONDER), "RUN-3", FILM)
    declare(signed_in(Role.READER), "RUN-3", FILM, status=403)
    declare(signed_in(Role.AMBULANCE_PARTNER), "RUN-3", FILM, status=403)


def test_parts_of_a_film_are_served(conference: Client) -> None:
    run = started(conference)
    address = f"/rehearsals/{run}/films/{sent(conference, run)}/video"

    whole = conference.get(address)
    assert (whole.status_code, whole.headers["Accept-Ranges"]) == (200, "bytes")
    assert b"".join(whole) == CONTENT  # type: ignore[arg-type]
    for asked, expected in (
        ("bytes=10-19", CONTENT[10:20]),
        ("bytes=-7", CONTENT[-7:]),
        ("bytes=0-", CONTENT),
        (f"bytes=0-{len(CONTENT) - 1}", CONTENT),
        (f"bytes={HALF}-", CONTENT[HALF:]),
    ):
        part = conference.get(address, headers={"Range": asked})
        assert part.status_code == 206
        assert b"".join(part) == expected  # type: ignore[arg-type]
    assert part.headers["Content-Range"] == f"bytes {HALF}-{len(CONTENT) - 1}/{len(CONTENT)}"
    beyond = conference.get(address, headers={"Range": f"bytes={len(CONTENT)}-"})
    assert (beyond.status_code, beyond.headers["Content-Range"]) == (416, f"bytes */{len(CONTENT)}")


def test_no_other_file_is_ever_served_as_a_film(conference: Client, tmp_path: Path) -> None:
    """A recording names whatever somebody typed; only films of the store's folder are opened."""
    from dataclasses import replace

    from onthree.store.records import save_records

    secret = tmp_path / "secret-key"
    secret.write_text("secret")
    film = run_of("RUN-4").recordings[0]
    for name in (str(secret), "../secret-key", "secret-key"):
        save_records([replace(film, file=name)], by="test")
        assert conference.get(f"/rehearsals/RUN-4/films/{film.code}/video").status_code == 404


def test_films_are_for_those_who_may_see_them(conference: Client) -> None:
    address = "/rehearsals/RUN-3/films/REC-3/video"

    assert signed_in(Role.RESPONDER).get(address).status_code == 200
    assert signed_in(Role.READER).get(address).status_code == 403


def test_a_film_on_its_way_is_called_off_and_begins_anew(conference: Client, store_folder: Path) -> None:
    run = started(conference)
    address = declare(conference, run, FILM)
    piece(conference, address, 0, CONTENT[:HALF])
    page = f"/rehearsals/{run}/films/"
    assert "Throw away what is here" in conference.get(page).content.decode()

    assert conference.delete(address).status_code == 200
    assert list((store_folder / "films-unfinished").glob("*.part")) == []
    assert conference.get(address).status_code == conference.delete(address).status_code == 404
    assert piece(conference, address, HALF, CONTENT[HALF:]).status_code == 404

    address = declare(conference, run, FILM)
    piece(conference, address, 0, CONTENT[:HALF])
    assert conference.post(f"{page}call-off/{address.rpartition('/')[2]}/").status_code == 302
    assert conference.get(address).status_code == 404


def test_a_film_that_is_whole_is_not_called_off(conference: Client, store_folder: Path) -> None:
    run = started(conference)
    address = declare(conference, run, FILM)
    assert piece(conference, address, 0, CONTENT).status_code == 200

    answer = conference.delete(address)
    assert (answer.status_code, "belongs to" in answer.json()["detail"]) == (409, True)
    refused = conference.post(f"/rehearsals/{run}/films/call-off/{address.rpartition('/')[2]}/")
    assert (refused.status_code, "nothing was called off" in refused.content.decode()) == (400, True)
    assert len(list((store_folder / "films").iterdir())) == 1


def test_a_refused_film_is_listed_with_the_reason_until_it_is_forgotten(conference: Client, tmp_path: Path) -> None:
    wrong = tmp_path / "notes.mp4"
    wrong.write_bytes(b"not a film " * 50)
    run = started(conference)
    address = declare(conference, run, wrong)
    piece(conference, address, 0, wrong.read_bytes())
    page = f"/rehearsals/{run}/films/"
    assert "refused: notes.mp4: " in conference.get(page).content.decode()

    conference.post(f"{page}call-off/{address.rpartition('/')[2]}/")
    assert "refused:" not in conference.get(page).content.decode()
    declare(conference, run, wrong)


def test_nobody_else_calls_a_film_off(conference: Client) -> None:
    address = declare(conference, "RUN-3", FILM)

    assert signed_in(Role.READER).delete(address).status_code == 403
    assert conference.get(address).status_code == 200


def test_a_film_that_is_sent_again_keeps_its_clock_where_none_is_given(conference: Client) -> None:
    run = started(conference)
    sent(conference, run, offset_s=-1.25, taken_by="phone A")
    sent(conference, run, offset_s=None)

    (recording,) = run_of(run).recordings
    assert (recording.offset_s, recording.taken_by) == (-1.25, "phone A")
