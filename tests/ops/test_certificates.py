"""Certificates for the local network, judged by OpenSSL through Python's ssl module."""

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from script import certificates
from script.certificates import Files, Pair, ensure_certificates, fingerprint

NAMES = ["bowl.example", "192.168.4.20"]


def handshake(files: Files, name: str) -> None:
    """A TLS connection to a server with these certificates, by a client that trusts only their authority."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(files.server, files.key(files.server))
    client = ssl.create_default_context(cafile=str(files.authority))
    client.verify_flags |= ssl.VERIFY_X509_STRICT
    ours, theirs = socket.socketpair()
    ours.settimeout(10)
    theirs.settimeout(10)

    def answer() -> None:
        try:
            with server.wrap_socket(theirs, server_side=True) as connection:
                connection.recv(1)
        except (ssl.SSLError, OSError):
            theirs.close()  # the client refused; it says why

    thread = threading.Thread(target=answer)
    thread.start()
    try:
        with client.wrap_socket(ours, server_hostname=name):
            pass
    finally:
        ours.close()
        thread.join()


@pytest.mark.parametrize("name", [*NAMES, "localhost", "127.0.0.1", "::1"])
def test_a_client_that_trusts_the_authority_connects_by_every_name(tmp_path: Path, name: str) -> None:
    handshake(ensure_certificates(tmp_path, NAMES), name)


def test_another_name_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ssl.SSLCertVerificationError, match="Hostname mismatch"):
        handshake(ensure_certificates(tmp_path, NAMES), "elsewhere.example")


@pytest.mark.parametrize("stranger", ["bank.example", "203.0.113.9"])
def test_the_authority_cannot_vouch_for_a_stranger(tmp_path: Path, stranger: str) -> None:
    """Whoever steals its key may sign for any name; clients refuse it (RFC 5280 section 4.2.1.10)."""
    files = ensure_certificates(tmp_path, NAMES)
    authority = certificates._load(files, files.authority)
    assert isinstance(authority, Pair)
    forged = certificates._make_server(authority, [certificates.to_name(stranger)])
    certificates._store(files, files.server, forged)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        handshake(files, stranger)


def test_the_next_start_uses_the_same_certificates(tmp_path: Path) -> None:
    files = ensure_certificates(tmp_path, NAMES)
    before = files.authority.read_bytes(), files.server.read_bytes()
    ensure_certificates(tmp_path, list(reversed(NAMES)))
    assert (files.authority.read_bytes(), files.server.read_bytes()) == before


def test_a_new_private_address_needs_no_new_trust_on_phones(tmp_path: Path) -> None:
    files = ensure_certificates(tmp_path, NAMES)
    authority, server = files.authority.read_bytes(), files.server.read_bytes()
    ensure_certificates(tmp_path, ["bowl.example", "10.1.2.3"])
    assert files.authority.read_bytes() == authority
    assert files.server.read_bytes() != server
    handshake(files, "10.1.2.3")


def test_a_name_the_authority_may_not_vouch_for_makes_a_new_one(tmp_path: Path) -> None:
    files = ensure_certificates(tmp_path, NAMES)
    authority = files.authority.read_bytes()
    ensure_certificates(tmp_path, [*NAMES, "alley.example"])
    assert files.authority.read_bytes() != authority
    handshake(files, "alley.example")


def test_a_certificate_about_to_end_is_renewed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(certificates, "SERVER_LIFE", timedelta(days=29))
    files = ensure_certificates(tmp_path, NAMES)
    monkeypatch.undo()
    authority, server = files.authority.read_bytes(), files.server.read_bytes()
    ensure_certificates(tmp_path, NAMES)
    assert files.authority.read_bytes() == authority
    assert files.server.read_bytes() != server


@pytest.mark.parametrize("damaged", ["server.crt", "server.key", "authority.crt", "authority.key"])
def test_a_damaged_file_is_replaced(tmp_path: Path, damaged: str) -> None:
    files = ensure_certificates(tmp_path, NAMES)
    (tmp_path / damaged).write_bytes(b"half a certif")
    ensure_certificates(tmp_path, NAMES)
    handshake(files, "bowl.example")


def test_keys_are_for_the_owner_alone(tmp_path: Path) -> None:
    files = ensure_certificates(tmp_path / "certificates", NAMES)
    for key in (files.key(files.authority), files.key(files.server)):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert stat.S_IMODE(files.folder.stat().st_mode) == 0o700


def test_phones_accept_how_long_the_server_certificate_lasts(tmp_path: Path) -> None:
    files = ensure_certificates(tmp_path, NAMES)
    found = x509.load_pem_x509_certificate(files.server.read_bytes())
    assert found.not_valid_before_utc < datetime.now(UTC)
    assert found.not_valid_after_utc - found.not_valid_before_utc <= timedelta(days=398)


def test_the_fingerprint_is_that_of_the_certificate_itself(tmp_path: Path) -> None:
    files = ensure_certificates(tmp_path, NAMES)
    der = ssl.PEM_cert_to_DER_cert(files.authority.read_text())
    digest = hashes.Hash(hashes.SHA256())
    digest.update(der)
    assert fingerprint(files.authority).replace(":", "") == digest.finalize().hex().upper()
