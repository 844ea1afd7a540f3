"""A certificate authority of one's own, so that tablets trust the pages of this computer over the local network.

Its key lies in the folder of the store for its owner's eyes only, and never leaves it: whoever has it can pretend to be
any site to the devices that installed the certificate.
"""

import os
import socket
import ssl
import struct
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from ipaddress import ip_address
from pathlib import Path

CERTIFICATE_NAME, KEY_NAME = "authority.crt", "authority.key"
SERVER_NAME = "server.pem"
_ASK_ADDRESS = 0x8915
"""SIOCGIFADDR of netdevice(7): asks for the address of a network card, which stands at bytes 20 to 23 of the answer."""
VALID_DAYS = 397
"""How long a server's certificate holds [days]; some browsers refuse more than 398, from memory."""


@dataclass(frozen=True)
class Authority:
    """The files: the authority's certificate, which devices install, and the server's own with its key.

    ``gone`` are names and addresses of the server's certificate before this one that it no longer has.
    """

    certificate: Path
    server: Path
    gone: tuple[str, ...] = ()

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the authority's certificate, in pairs, as devices show it."""
        digest = sha256(ssl.PEM_cert_to_DER_cert(self.certificate.read_text(encoding="ascii"))).hexdigest().upper()
        return ":".join(digest[place : place + 2] for place in range(0, len(digest), 2))


def prepare_authority(folder: Path, names: Iterable[str], now: datetime) -> Authority:
    """Make the authority in a folder, or take the one that is there, and a new certificate for names and addresses."""
    import trustme

    certificate, key = folder / CERTIFICATE_NAME, folder / KEY_NAME
    if certificate.exists() and key.exists():
        authority = trustme.CA.from_pem(certificate.read_bytes(), key.read_bytes())
    else:
        authority = trustme.CA(
            path_length=0,
            organization_name="onthree, made on this computer",
            organization_unit_name=socket.gethostname(),
        )
        _write(key, authority.private_key_pem.bytes())
        certificate.write_bytes(authority.cert_pem.bytes())
    issued = authority.issue_cert(
        *names, not_before=now - timedelta(days=1), not_after=now + timedelta(days=VALID_DAYS)
    )
    server = folder / SERVER_NAME
    before = _names_in(server.read_bytes()) if server.exists() else ()
    pem = issued.private_key_and_cert_chain_pem.bytes()
    _write(server, pem)
    now_called = _names_in(pem)
    return Authority(certificate, server, tuple(name for name in before if name not in now_called))


def _names_in(pem: bytes) -> tuple[str, ...]:
    """The names and addresses that the first certificate of a file is for."""
    from cryptography import x509

    read = x509.load_pem_x509_certificates(pem)[0]
    names = read.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return tuple(str(each.value) for each in names)


def local_names() -> tuple[str, ...]:
    """The addresses and names under which other devices may reach this computer, the likeliest first."""
    name = socket.gethostname().partition(".")[0].lower()
    found = [_outward_address(), *addresses_of_cards(), *_addresses_of(socket.gethostname())]
    addresses = [each for each in found if each and not ip_address(each).is_loopback]
    return tuple(dict.fromkeys((*addresses, f"{name}.local", name, "localhost", "127.0.0.1")))


def _outward_address() -> str:
    """The address of the network card that leads out; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # an address that stands in documents only (RFC 5737)
            return str(asked.getsockname()[0])
        except OSError:
            return ""


def addresses_of_cards() -> list[str]:
    """The address of each network card, also where no way leads out, as in a network made by this computer (Linux)."""
    try:
        from fcntl import ioctl
    except ImportError:  # elsewhere the name of the computer leads to them
        return []
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        for _, card in socket.if_nameindex():
            with suppress(OSError):  # a card without an address
                told = ioctl(asked.fileno(), _ASK_ADDRESS, struct.pack("256s", card.encode()))
                found.append(socket.inet_ntoa(told[20:24]))
    return found


def _addresses_of(name: str) -> list[str]:
    try:
        return [str(each[4][0]) for each in socket.getaddrinfo(name, None, socket.AF_INET)]
    except OSError:
        return []


def _write(path: Path, content: bytes) -> None:
    """For the owner's eyes only from the first byte on."""
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
    draft.replace(path)
