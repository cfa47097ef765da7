"""A server's URL as SQLAlchemy and the driver take it.

Rule of this file: what libpq's users know of URLs holds: `host` may be the folder of a unix
socket, `sslmode` asks for encryption, PGPASSWORD and PGUSER stand in for what is left out.
"""

from __future__ import annotations

import os
import ssl
from typing import TYPE_CHECKING

from callout.logbook.errors import LogbookError
from callout.logbook.places import Server

if TYPE_CHECKING:
    import sqlalchemy


def not_installed() -> LogbookError:
    """What to install."""
    return LogbookError(
        "A logbook on a server needs SQLAlchemy and a driver: pip install 'callout[postgres]'."
    )


def engine_for(server: Server, patience: float) -> sqlalchemy.Engine:
    """What makes connections to it; LogbookError for a URL that cannot be followed."""
    import sqlalchemy
    from sqlalchemy.pool import NullPool

    try:
        url = sqlalchemy.make_url(server.url)
    except (sqlalchemy.exc.ArgumentError, ValueError):
        raise LogbookError(
            f"{server} cannot be read as a URL. Write postgresql://USER@HOST/DATABASE."
        ) from None
    arguments: dict[str, object] = {}
    if url.drivername in ("postgresql", "postgresql+pg8000"):
        url = url.set(drivername="postgresql+pg8000")
        url, arguments = _for_pg8000(url, server, patience)
    try:
        return sqlalchemy.create_engine(
            url, poolclass=NullPool, isolation_level="AUTOCOMMIT", connect_args=arguments
        )
    except ImportError:
        raise not_installed() from None
    except sqlalchemy.exc.NoSuchModuleError:
        raise LogbookError(
            f"There is no driver {url.drivername!r}. Write postgresql://USER@HOST/DATABASE."
        ) from None


def _for_pg8000(
    url: sqlalchemy.URL, server: Server, patience: float
) -> tuple[sqlalchemy.URL, dict[str, object]]:
    """What libpq's URLs say with `host`, `sslmode` and PGPASSWORD, as pg8000 takes it."""
    query = dict(url.query)
    arguments: dict[str, object] = {"timeout": patience, "application_name": "callout"}
    folder = query.pop("host", "")
    if folder:
        arguments["unix_sock"] = f"{folder}/.s.PGSQL.{query.pop('port', url.port or 5432)}"
    mode, root = query.pop("sslmode", "prefer"), query.pop("sslrootcert", "")
    if mode not in ("disable", "prefer", *_ENCRYPTED):
        raise LogbookError(
            f"{server}: sslmode must be disable, prefer, {', '.join(_ENCRYPTED)}, not {mode!r}."
        )
    if root and mode not in ("verify-ca", "verify-full"):
        raise LogbookError(f"{server}: sslrootcert asks for sslmode=verify-full beside it.")
    if mode == "disable":
        arguments["ssl_context"] = False
    elif mode != "prefer":  # which is what the driver does by itself
        arguments["ssl_context"] = _context(server, str(mode), str(root))
    if query:
        known = "host, port, sslmode and sslrootcert"
        raise LogbookError(f"{server}: {sorted(query)[0]!r} is not known; {known} are.")
    if url.password is None and "PGPASSWORD" in os.environ:
        url = url.set(password=os.environ["PGPASSWORD"])
    if url.username is None:
        url = url.set(username=os.environ.get("PGUSER") or os.environ.get("USER") or "postgres")
    return url.set(query={}), arguments


_ENCRYPTED = ("require", "verify-ca", "verify-full")
"""Encrypted: to whoever answers; to a server with a certificate that is known; and whose name
is the host's, too (postgresql.org/docs, "SSL Support")."""


def _context(server: Server, mode: str, root: str) -> ssl.SSLContext:
    """What encrypts; `root` is the file of a certificate that is trusted beside the system's."""
    context = ssl.create_default_context()
    if root:
        try:
            context.load_verify_locations(root)
        except (OSError, ssl.SSLError) as error:
            raise LogbookError(
                f"{server}: the certificate {root} cannot be read ({error}). Give a file in PEM "
                "form with sslrootcert=FILE."
            ) from None
    if mode != "verify-full":
        context.check_hostname = False
    if mode == "require":
        context.verify_mode = ssl.CERT_NONE
    return context
