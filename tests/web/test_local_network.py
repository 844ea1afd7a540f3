"""Served to the local network: over https that a device with our certificate trusts, and never without signing in."""

import re
import signal
import socket
import ssl
import stat
import subprocess
import sys
import time
from base64 import b64encode
from collections.abc import Iterator
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import HTTPRedirectHandler, HTTPSHandler, ProxyHandler, build_opener

import cv2
import numpy as np
import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import BrowserContext, Error, Playwright, expect, sync_playwright

from onthree.actions import local_authority
from onthree.actions.local_authority import (
    CERTIFICATE_NAME,
    KEY_NAME,
    SERVER_NAME,
    VALID_DAYS,
    Authority,
    local_names,
    prepare_authority,
)
from tests.web.conftest import FLAGS, SIZES
from tests.web.test_serving import COMMAND, ENVIRONMENT, free_port

NAME = "field-laptop.example"
LONGEST_MS = 180_000
NOW = datetime.now(UTC)


class Staying(HTTPRedirectHandler):
    """Shows where a redirect leads, without going there."""

    def redirect_request(self, *_: object) -> None:
        return None


def get(address: str, trusted: Path | None = None) -> tuple[int, dict[str, str], str]:
    context = ssl.create_default_context(cafile=str(trusted) if trusted else None)
    opener = build_opener(ProxyHandler({}), HTTPSHandler(context=context), Staying())
    try:
        with opener.open(address, timeout=60) as answer:
            return answer.status, dict(answer.headers), answer.read().decode()
    except HTTPError as error:
        with error:
            return error.code, dict(error.headers), error.read().decode()


def test_the_keys_are_for_their_owner_only_and_the_authority_stays_the_same(tmp_path: Path) -> None:
    first = prepare_authority(tmp_path, ["localhost", "127.0.0.1"], NOW)
    print_of_first = first.fingerprint
    again = prepare_authority(tmp_path, ["localhost"], NOW)

    assert again.fingerprint == print_of_first
    assert re.fullmatch(r"(?:[0-9A-F]{2}:){31}[0-9A-F]{2}", print_of_first)
    for path in (tmp_path / KEY_NAME, again.server):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert "PRIVATE" not in again.certificate.read_text()


def test_a_certificate_names_every_address_and_ends(tmp_path: Path) -> None:
    prepared = prepare_authority(tmp_path, ["192.0.2.7", "field-laptop.local"], NOW)
    read = x509.load_pem_x509_certificates(prepared.server.read_bytes())[0]
    names = read.extensions.get_extension_for_class(x509.SubjectAlternativeName).value

    assert {str(each.value) for each in names} == {"192.0.2.7", "field-laptop.local"}
    assert (read.not_valid_after_utc - NOW).days <= VALID_DAYS


def test_where_the_address_changes_the_same_authority_vouches_for_the_new_one_and_the_old_one_is_named(
    tmp_path: Path,
) -> None:
    first = prepare_authority(tmp_path, ["192.0.2.7", "field-laptop.local"], NOW)
    again = prepare_authority(tmp_path, ["192.0.2.50", "field-laptop.local"], NOW)
    read = x509.load_pem_x509_certificates(again.server.read_bytes())[0]
    authority = x509.load_pem_x509_certificates(again.certificate.read_bytes())[0]

    assert first.gone == ()
    assert again.gone == ("192.0.2.7",)
    read.verify_directly_issued_by(authority)


def test_this_computer_has_names_that_others_can_use() -> None:
    names = local_names()

    assert names[-2:] == ("localhost", "127.0.0.1")
    assert any(name.endswith(".local") for name in names)
    assert len(set(names)) == len(names)


class Served:
    """The local network, served as people start it: with the invented conference, and somebody who may sign in."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self.printed = ""
        self.asked(
            "from onthree.demo.conference import conference_records",
            "from onthree.store.records import save_records",
            "from onthree.actions.accounts import add_person",
            "from onthree.programme.roles import Role",
            "save_records(conference_records(), by='test')",
            "add_person('crew', Role.AMBULANCE_PARTNER, 'heron over wet turf')",
        )

    def asked(self, *lines: str) -> list[str]:
        """What a program prints that has the same store open."""
        opening = "from onthree.actions.opening import open_programme_store"
        program = "\n".join((opening, "open_programme_store()", *lines))
        environment = ENVIRONMENT | {"ONTHREE_FOLDER": str(self.folder)}
        run = [sys.executable, "-c", program]
        return subprocess.run(run, env=environment, capture_output=True, text=True, check=True).stdout.splitlines()

    def start(self) -> None:
        command = [COMMAND, "serve", "--lan", "--folder", str(self.folder), "--port", str(self.port), "--name", NAME]
        environment = ENVIRONMENT | {"PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(
            command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert self.process.stdout
        self.printed = ""
        while "3  open" not in self.printed:
            line = self.process.stdout.readline()
            assert line, self.printed
            self.printed += line

    def kill(self) -> None:
        """As a power cut does: kill -9."""
        self.process.kill()
        self.process.communicate()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the name of the computer leads to its addresses")
def test_the_address_of_a_card_is_found_where_no_way_leads_out() -> None:
    assert "127.0.0.1" in local_authority.addresses_of_cards()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    local = Served(tmp_path_factory.mktemp("lan"))
    local.start()
    yield local
    local.kill()


def test_it_says_the_three_steps_and_the_fingerprint(served: Served) -> None:
    prepared = Authority(served.folder / CERTIFICATE_NAME, served.folder / SERVER_NAME)

    assert f"https://{NAME}:{served.port}/" in served.printed
    assert f"http://{NAME}:{served.port + 1}/set-up/" in served.printed
    assert prepared.fingerprint in served.printed


def test_the_printed_picture_leads_to_the_set_up_page(served: Served) -> None:
    rows = [line for line in served.printed.splitlines() if line and set(line) <= set("█▀▄ ")]
    light = [[sign in half for sign in row] for row in rows for half in ("█▀", "█▄")]
    picture = np.kron(np.array(light, np.uint8) * 255, np.ones((8, 8), np.uint8))

    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == f"http://{NAME}:{served.port + 1}/set-up/"


def test_what_connects_and_says_nothing_holds_up_nobody(served: Served) -> None:
    trusted = served.folder / CERTIFICATE_NAME
    silent = [socket.create_connection(("127.0.0.1", served.port)) for _ in range(4)]
    began_s = time.monotonic()
    status = get(f"https://localhost:{served.port}/life-first/", trusted)[0]
    lasted_s = time.monotonic() - began_s
    for each in silent:
        each.close()

    assert status == 200
    assert lasted_s < 20, "one after the other they would hold up everybody for forty seconds"


def test_where_https_was_left_out_of_the_address_it_leads_there(served: Served) -> None:
    status, headers, _ = get(f"http://localhost:{served.port}/life-first/")

    assert (status, headers["Location"]) == (302, f"https://{NAME}:{served.port}/")


def test_another_name_for_this_computer_is_refused(served: Served) -> None:
    trusted = ssl.create_default_context(cafile=str(served.folder / CERTIFICATE_NAME))
    plain = socket.create_connection(("127.0.0.1", served.port))
    with trusted.wrap_socket(plain, server_hostname="localhost") as guarded:
        guarded.sendall(b"GET /sign-in/ HTTP/1.1\r\nHost: elsewhere.example\r\nConnection: close\r\n\r\n")

        assert guarded.recv(20).startswith(b"HTTP/1.1 400")


def test_a_device_that_trusts_the_authority_is_served_and_must_sign_in(served: Served) -> None:
    trusted = served.folder / CERTIFICATE_NAME
    status, headers, _ = get(f"https://localhost:{served.port}/", trusted)

    assert (status, headers["Location"]) == (302, "/sign-in/?next=/")
    status, headers, _ = get(f"https://localhost:{served.port}/sign-in/", trusted)
    assert status == 200
    assert "Secure" in headers["Set-Cookie"]
    assert get(f"https://localhost:{served.port}/life-first/", trusted)[0] == 200


def test_a_device_that_does_not_is_not_served(served: Served) -> None:
    with pytest.raises(URLError, match="certificate verify failed"):
        get(f"https://localhost:{served.port}/")


def test_without_https_there_is_the_set_up_page_only(served: Served) -> None:
    port = served.port + 1
    status, _, page = get(f"http://localhost:{port}/set-up/")
    assert status == 200
    assert "Install the certificate" in page
    assert (
        get(f"http://localhost:{port}/set-up/onthree-authority.crt")[2]
        == (served.folder / CERTIFICATE_NAME).read_text()
    )
    for address in ("/", "/sign-in/", "/events/E-1/", "/api/life-first"):
        status, headers, _ = get(f"http://localhost:{port}{address}")
        assert (status, headers["Location"]) == (302, f"https://{NAME}:{served.port}/")


def tablet(driver: Playwright, chromium: str, profile: Path, *flags: str) -> BrowserContext:
    """A browser that keeps what it keeps in a folder, as one on a tablet does, and finds this computer by its name."""
    width, height = SIZES["tablet"]
    return driver.chromium.launch_persistent_context(
        profile,
        executable_path=chromium,
        args=[*FLAGS.split(), "--no-proxy-server", f"--host-resolver-rules=MAP {NAME} 127.0.0.1", *flags],
        viewport={"width": width, "height": height},
    )


def trusting(server: Path) -> str:
    """Makes Chromium trust one key and no other, without leave to change what the system trusts."""
    key = x509.load_pem_x509_certificates(server.read_bytes())[0].public_key()
    digest = sha256(key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).digest()
    return f"--ignore-certificate-errors-spki-list={b64encode(digest).decode()}"


@pytest.mark.browser
def test_a_tablet_is_set_up_goes_out_of_reach_and_sends_everything_once(
    served: Served, chromium: str, tmp_path: Path
) -> None:
    set_up, pages = f"http://{NAME}:{served.port + 1}/set-up/", f"https://{NAME}:{served.port}/"
    time_out = f"{pages}events/E-1/time-out/"
    status = "[data-outbox-status]"
    with sync_playwright() as driver:
        stranger = tablet(driver, chromium, tmp_path / "stranger")
        page = stranger.new_page()
        page.goto(set_up)
        assert page.locator("ol.do h2").count() == 3
        assert page.evaluate("!isSecureContext && !navigator.serviceWorker")
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto(pages)
        stranger.close()

        device = tablet(driver, chromium, tmp_path / "tablet", trusting(served.folder / "server.pem"))
        page = device.new_page()
        page.goto(set_up)
        page.get_by_role("link", name=pages, exact=True).click()
        page.locator("main input[name=username]").fill("crew")
        page.locator("main input[name=password]").fill("heron over wet turf")
        page.locator("main").get_by_role("button", name="Sign in").click()
        page.wait_for_url(pages)
        assert all(cookie["secure"] and cookie["httpOnly"] for cookie in device.cookies())
        page.goto(time_out)
        expect(page.locator("html")).to_have_attribute("data-kept", "all", timeout=LONGEST_MS)
        served.kill()
        for number, form in enumerate(page.locator("ol.time-out form").all()[:3]):
            form.get_by_label("Name or role").fill("crew lead")
            form.get_by_label("In their words").fill(f"out of reach {number}")
            form.get_by_role("button", name="Confirmed", exact=True).click()
        expect(page.locator(status)).to_contain_text("3 waiting. No connection", timeout=LONGEST_MS)
        page.close()
        page = device.new_page()
        page.goto(time_out)
        expect(page.locator(status)).to_contain_text("3 waiting", timeout=LONGEST_MS)
        device.close()

        served.start()
        device = tablet(driver, chromium, tmp_path / "tablet", trusting(served.folder / "server.pem"))
        page = device.new_page()
        page.goto(time_out)
        expect(page.locator(status)).to_contain_text("Nothing is waiting", timeout=LONGEST_MS)
        device.close()
    notes = served.asked(
        "from onthree.store.models import TimeOutAnswer",
        "print(*TimeOutAnswer.objects.filter(event__code='E-1').values_list('note', flat=True), sep='\\n')",
    )
    assert sorted(notes) == [f"out of reach {number}" for number in range(3)]


def test_it_ends_with_ctrl_c(served: Served) -> None:
    served.process.send_signal(signal.SIGINT)

    assert served.process.wait(timeout=30) == 0
