"""The certificate by which the page is HTTPS: made on this machine, for this machine.

Rule of this file: the key never leaves the folder and only its owner can read it. It
signs nothing but itself, so a phone that trusts it trusts this one page and no other.
`cryptography` is imported here only.
"""

from __future__ import annotations

import ipaddress
import os
import ssl
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cryptography import x509

DAYS = 390
"""Browsers take certificates for at most 398 days (CA/Browser Forum baseline, from memory)."""

RENEWED_BEFORE = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Certified:
    """What a server needs, and what a person may compare.

    Fields:
        context: for the server
        fingerprint: SHA-256 of the certificate, in pairs of hexadecimal digits
    """

    context: ssl.SSLContext
    fingerprint: str


def certified(folder: Path, host: str, now: datetime | None = None) -> Certified:
    """The certificate kept in the folder, made anew if it is for another address or old."""
    now = now or datetime.now(UTC)
    path = folder / "glance.pem"
    return _as_kept(path, host, now) or _made(path, host, now)


def _as_kept(path: Path, host: str, now: datetime) -> Certified | None:
    """What lies there, if it will do and no other program puts its own there meanwhile."""
    kept = _kept(path, host, now)
    if kept is None:
        return None
    try:
        context = _context(path)
    except OSError:  # ssl.SSLError is one: key and certificate of two programs
        return None
    return Certified(context, _fingerprint(kept)) if kept == _kept(path, host, now) else None


def _context(path: Path) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(path)
    return context


def _kept(path: Path, host: str, now: datetime) -> x509.Certificate | None:
    """What lies there, if it will do."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        data = path.read_bytes()
        certificate = x509.load_pem_x509_certificate(data)
        load_pem_private_key(data, None)
        names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, x509.ExtensionNotFound):
        return None
    fits = ipaddress.ip_address(host) in names.get_values_for_type(x509.IPAddress)
    fresh = (
        certificate.not_valid_before_utc <= now < (certificate.not_valid_after_utc - RENEWED_BEFORE)
    )
    return certificate if fits and fresh else None


def _made(path: Path, host: str, now: datetime) -> Certified:
    """A new one, put there: readable by its owner alone from the first byte on.

    It is written beside its place under a name that no other program takes.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    private, certificate = _new(host, now)
    descriptor, beside = tempfile.mkstemp(prefix=".glance-", dir=path.parent)  # mode 600
    fresh = Path(beside)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(private + _pem(certificate))
        context = _context(fresh)
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
    return Certified(context, _fingerprint(certificate))


def _new(host: str, now: datetime) -> tuple[bytes, x509.Certificate]:
    """A key, as PEM, and the certificate that it signed."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "callout on this machine")])
    address = x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(host))])
    use = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=DAYS))
        .add_extension(address, critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(use, critical=False)
        .sign(key, hashes.SHA256())
    )
    private = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    return private, certificate


def _pem(certificate: x509.Certificate) -> bytes:
    from cryptography.hazmat.primitives import serialization

    return certificate.public_bytes(serialization.Encoding.PEM)


def _fingerprint(certificate: x509.Certificate) -> str:
    from cryptography.hazmat.primitives import hashes

    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()
