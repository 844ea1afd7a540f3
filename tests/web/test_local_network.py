"""Served to the local network: over https that a device with our certificate trusts, and never without signing in."""

import os
import re
import signal
import socket
import ssl
import stat
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import HTTPRedirectHandler, HTTPSHandler, ProxyHandler, build_opener

import pytest

from onthree.actions.local_authority import KEY_NAME, VALID_DAYS, local_names, prepare_authority

COMMAND = str(Path(sys.executable).with_name("onthree"))
OURS = ("DATABASE_URL", "DJANGO_SETTINGS_MODULE", "ONTHREE_FOLDER")
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
    from cryptography import x509

    prepared = prepare_authority(tmp_path, ["192.0.2.7", "field-laptop.local"], NOW)
    read = x509.load_pem_x509_certificates(prepared.server.read_bytes())[0]
    names = read.extensions.get_extension_for_class(x509.SubjectAlternativeName).value

    assert {str(each.value) for each in names} == {"192.0.2.7", "field-laptop.local"}
    assert (read.not_valid_after_utc - NOW).days <= VALID_DAYS


def test_this_computer_has_names_that_others_can_use() -> None:
    names = local_names()

    assert names[-2:] == ("localhost", "127.0.0.1")
    assert any(name.endswith(".local") for name in names)
    assert len(set(names)) == len(names)


@dataclass(frozen=True)
class Served:
    """A process that serves the local network, and its port."""

    process: subprocess.Popen[str]
    port: int
    folder: Path
    printed: str


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("lan")
    with socket.socket() as chosen:
        chosen.bind(("127.0.0.1", 0))
        port: int = chosen.getsockname()[1]
    environment = {name: value for name, value in os.environ.items() if name not in OURS} | {"PYTHONUNBUFFERED": "1"}
    command = [
        COMMAND,
        "serve",
        "--lan",
        "--folder",
        str(folder),
        "--port",
        str(port),
        "--name",
        "field-laptop.example",
    ]
    process = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert process.stdout
    printed = ""
    while "3  open" not in printed:
        line = process.stdout.readline()
        assert line, printed
        printed += line
    yield Served(process, port, folder, printed)
    process.kill()
    process.communicate()


def test_it_says_the_three_steps_and_the_fingerprint(served: Served) -> None:
    prepared = prepare_authority(served.folder, ["localhost"], NOW)

    assert f"https://field-laptop.example:{served.port}/" in served.printed
    assert f"http://field-laptop.example:{served.port + 1}/set-up/" in served.printed
    assert prepared.fingerprint in served.printed
    assert "█" in served.printed or "▄" in served.printed


def test_a_device_that_trusts_the_authority_is_served_and_must_sign_in(served: Served) -> None:
    trusted = served.folder / "authority.crt"
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
        get(f"http://localhost:{port}/set-up/onthree-authority.crt")[2] == (served.folder / "authority.crt").read_text()
    )
    for address in ("/", "/sign-in/", "/events/E-1/", "/api/life-first"):
        status, headers, _ = get(f"http://localhost:{port}{address}")
        assert (status, headers["Location"]) == (302, f"https://field-laptop.example:{served.port}/")


def test_it_ends_with_ctrl_c(served: Served) -> None:
    served.process.send_signal(signal.SIGINT)

    assert served.process.wait(timeout=30) == 0
