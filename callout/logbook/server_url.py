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
    mode = query.pop("sslmode", "prefer")
    if mode in ("require", "verify-full"):
        context = ssl.create_default_context()
        if mode == "require":
            context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        arguments["ssl_context"] = context
    elif mode not in ("disable", "prefer"):
        raise LogbookError(
            f"{server}: sslmode must be disable, require or verify-full, not {mode!r}."
        )
    if query:
        known = "host, port and sslmode"
        raise LogbookError(f"{server}: {sorted(query)[0]!r} is not known; {known} are.")
    if url.password is None and "PGPASSWORD" in os.environ:
        url = url.set(password=os.environ["PGPASSWORD"])
    if url.username is None:
        url = url.set(username=os.environ.get("PGUSER") or os.environ.get("USER") or "postgres")
    return url.set(query={}), arguments
