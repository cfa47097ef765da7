"""A logbook on a server over TLS: a real PostgreSQL with a certificate of its own making.

The certificate is made by `cryptography`; whether a connection is encrypted is what the
server itself says of it (pg_stat_ssl, postgresql.org/docs).
"""

from __future__ import annotations

import contextlib
import ipaddress
import socket
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from postgres_server import Postgres, running

from callout.logbook.errors import LogbookError
from callout.logbook.places import Server
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

NOW = Stamp(0.0, "2031-05-04T09:30:00.000Z", 0.0, "boot")


def certificate() -> tuple[bytes, bytes]:
    """Self-signed, for localhost by name alone; (certificate, key) in PEM form."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "a club's server, invented")])
    began = datetime.now(UTC) - timedelta(days=1)
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name)
        .public_key(key.public_key()).serial_number(x509.random_serial_number())
        .not_valid_before(began).not_valid_after(began + timedelta(days=30))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    secret = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )  # fmt: skip
    return made.public_bytes(serialization.Encoding.PEM), secret


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """(URL of an empty database that takes encrypted connections only, its certificate)."""
    made, key = certificate()
    root = tmp_path_factory.mktemp("tls") / "club.pem"
    root.write_bytes(made)
    files = {
        "server.crt": made,
        "server.key": key,
        "pg_hba.conf": b"local all all trust\nhostssl all all 127.0.0.1/32 trust\n",
    }
    with contextlib.ExitStack() as stack:
        server, port = started(stack, files)
        _database(server, port)
        yield f"postgresql://postgres@localhost:{port}/club", root


def started(stack: contextlib.ExitStack, files: dict[str, bytes]) -> tuple[Postgres, int]:
    """A server on a port; on another one where somebody took it before the server did."""

    def once() -> tuple[Postgres, int]:
        port = free_port()
        settings = f"-c ssl=on -c listen_addresses=127.0.0.1 -p {port}"
        return stack.enter_context(running(settings, files)), port

    for _ in range(4):
        with contextlib.suppress(subprocess.CalledProcessError):
            return once()
    return once()


def _database(server: Postgres, port: int) -> None:
    server.run("createdb", "-h", str(server.folder), "-p", str(port), "-U", "postgres", "club")


@pytest.mark.parametrize("mode", ["prefer", "require", "verify-ca", "verify-full"])
def test_a_session_is_written_and_read_over_an_encrypted_connection(club, mode: str):
    url, root = club
    known = f"&sslrootcert={root}" if "verify" in mode else ""
    with Logbook.open(Server(f"{url}?sslmode={mode}{known}")) as logbook:
        number = logbook.begin("Rig", "1", "rig.yaml", mode, NOW)
        logbook.finish(number, "ended", NOW)
        query = "SELECT ssl, version FROM pg_stat_ssl WHERE pid = pg_backend_pid()"
        ((encrypted, version),) = logbook.select(query)
        assert mode == logbook.session(number).fingerprint

    assert encrypted is True
    assert version.startswith("TLSv1.")


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ("sslmode=verify-full", "certificate verify failed"),  # nobody knows this certificate
        ("sslmode=verify-ca", "certificate verify failed"),
        ("sslmode=disable", "check user, password and sslmode"),  # the server takes no other
        ("sslmode=require&sslrootcert=x", "sslrootcert asks for sslmode=verify-full"),
        ("sslmode=verify-full&sslrootcert=none.pem", "the certificate none.pem cannot be read"),
        ("sslmode=allow", "sslmode must be disable, prefer, require, verify-ca, verify-full"),
    ],
)  # fmt: skip
def test_what_is_not_encrypted_as_asked_is_refused_in_a_sentence(club, options: str, why: str):
    with pytest.raises(LogbookError, match=why):
        Logbook.open(Server(f"{club[0]}?{options}".rstrip("?")))


def test_a_certificate_of_another_name_is_refused_where_the_name_counts(club):
    """It is for localhost, and the server is asked for by its number."""
    url, root = club
    by_number = url.replace("localhost", str(ipaddress.ip_address("127.0.0.1")))
    with pytest.raises(LogbookError, match="certificate verify failed"):
        Logbook.open(Server(f"{by_number}?sslmode=verify-full&sslrootcert={root}"))
    with Logbook.open(Server(f"{by_number}?sslmode=verify-ca&sslrootcert={root}")) as logbook:
        assert logbook.has("sessions")


def test_nothing_is_said_of_encryption_and_it_is_encrypted_where_the_server_can(club):
    with Logbook.open(Server(club[0])) as logbook:
        query = "SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()"
        assert [(True,)] == list(logbook.select(query))


def test_a_server_without_tls_is_refused_where_it_is_asked_for(postgres, database):
    """By its socket, which is never encrypted."""
    with pytest.raises(LogbookError, match="sslmode"):
        Logbook.open(Server(f"{database.url}&sslmode=require"))


def test_what_this_machine_keeps_for_a_server_does_not_hang_on_how_it_is_encrypted():
    plain = Server("postgresql://club@db.example/log?host=/run")
    secret = Server("postgresql://ann@db.example/log?sslmode=require&host=/run&sslrootcert=c.pem")

    assert plain.key == secret.key == "db.example/log?host=/run"
    assert "db.example/log" == Server("postgresql://db.example/log?sslmode=require").key
