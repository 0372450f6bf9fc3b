"""Certificates for the local network: an authority of this installation's own, and the server's under it.

A phone that trusts the authority trusts it for this machine's names and for private addresses only: the
authority's certificate says so itself (name constraints, RFC 5280 section 4.2.1.10), so a stolen key opens
no other site.
"""

import ipaddress
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LIFE = timedelta(days=3650)
# Phones refuse server certificates that are valid for much longer.
SERVER_LIFE = timedelta(days=397)
RENEW_BEFORE = timedelta(days=30)
# Clocks differ: a certificate made now must hold on a phone that is a little behind.
BACKDATE = timedelta(days=1)
PRIVATE_NETWORKS = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"),  # RFC 1918
    *("100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8"),  # RFC 6598, RFC 3927, RFC 1122
    *("fc00::/7", "fe80::/10", "::1/128"),  # RFC 4193, RFC 4291
)

Name = x509.DNSName | x509.IPAddress


@dataclass(frozen=True)
class Pair:
    """A key and its certificate, as stored."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate


@dataclass(frozen=True)
class Files:
    folder: Path

    @property
    def authority(self) -> Path:
        return self.folder / "authority.crt"

    @property
    def server(self) -> Path:
        return self.folder / "server.crt"

    def key(self, certificate: Path) -> Path:
        return certificate.with_suffix(".key")


def ensure_certificates(folder: Path, names: Sequence[str]) -> Files:
    """Certificates that cover `names` (host names and addresses): those of last time if they still do."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    files = Files(folder)
    wanted = [to_name(name) for name in dict.fromkeys([*names, "localhost", "127.0.0.1", "::1"])]
    authority = _load(files, files.authority)
    if authority is None or not _fresh(authority) or not _permits(authority, wanted):
        authority = _make_authority(wanted)
        _store(files, files.authority, authority)
    server = _load(files, files.server)
    if server is None or not _fresh(server) or not _covers(server, wanted) or not _issued(authority, server):
        _store(files, files.server, _make_server(authority, wanted))
    return files


def fingerprint(certificate: Path) -> str:
    """SHA-256 of the certificate, written as phones and browsers show it."""
    found = x509.load_pem_x509_certificate(certificate.read_bytes()).fingerprint(hashes.SHA256())
    return found.hex(":").upper()


def to_name(text: str) -> Name:
    try:
        return x509.IPAddress(ipaddress.ip_address(text))
    except ValueError:
        return x509.DNSName(text)


def _make_authority(wanted: Sequence[Name]) -> Pair:
    key = ec.generate_private_key(ec.SECP256R1())
    subject = _subject("Burnline on this network")
    permitted: list[x509.GeneralName] = [name for name in wanted if isinstance(name, x509.DNSName)]
    networks = [ipaddress.ip_network(network) for network in PRIVATE_NETWORKS]
    for name in wanted:
        if isinstance(name, x509.IPAddress) and not any(name.value in network for network in networks):
            networks.append(ipaddress.ip_network(str(name.value)))
    permitted += [x509.IPAddress(network) for network in networks]
    certificate = (
        _builder(subject, subject, key, AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    return Pair(key, certificate)


def _make_server(authority: Pair, wanted: Sequence[Name]) -> Pair:
    key = ec.generate_private_key(ec.SECP256R1())
    issuer_key = authority.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    life = min(SERVER_LIFE, authority.certificate.not_valid_after_utc - datetime.now(UTC))
    certificate = (
        _builder(_subject("Burnline server"), authority.certificate.subject, key, life)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(wanted), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(issuer_key), critical=False
        )
        .sign(authority.key, hashes.SHA256())
    )
    return Pair(key, certificate)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, life: timedelta
) -> x509.CertificateBuilder:
    now = datetime.now(UTC)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATE)
        .not_valid_after(now + life)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _subject(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _usage(signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _fresh(pair: Pair) -> bool:
    return datetime.now(UTC) + RENEW_BEFORE < pair.certificate.not_valid_after_utc


def _issued(authority: Pair, server: Pair) -> bool:
    try:
        server.certificate.verify_directly_issued_by(authority.certificate)
    except Exception:  # any reason is a reason to make a new one
        return False
    return True


def _covers(server: Pair, wanted: Sequence[Name]) -> bool:
    names = server.certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return set(wanted) == set(names)


def _permits(authority: Pair, wanted: Sequence[Name]) -> bool:
    """Whether the authority's own constraints allow it to vouch for every name."""
    permitted = authority.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
    subtrees = permitted.permitted_subtrees or []
    domains = {entry.value for entry in subtrees if isinstance(entry, x509.DNSName)}
    networks = [
        ipaddress.ip_network(str(entry.value)) for entry in subtrees if isinstance(entry, x509.IPAddress)
    ]
    return all(
        name.value in domains
        if isinstance(name, x509.DNSName)
        else any(ipaddress.ip_address(str(name.value)) in net for net in networks)
        for name in wanted
    )


def _load(files: Files, certificate: Path) -> Pair | None:
    """What is stored, or None when it is missing, damaged or does not belong together."""
    try:
        key = serialization.load_pem_private_key(files.key(certificate).read_bytes(), password=None)
        found = x509.load_pem_x509_certificate(certificate.read_bytes())
    except (OSError, ValueError):
        return None
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != found.public_key():
        return None
    return Pair(key, found)


def _store(files: Files, certificate: Path, pair: Pair) -> None:
    key = pair.key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    _write(files.key(certificate), key, 0o600)
    _write(certificate, pair.certificate.public_bytes(serialization.Encoding.PEM), 0o644)


def _write(path: Path, content: bytes, mode: int) -> None:
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    draft.unlink(missing_ok=True)
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
