"""A logbook in a PostgreSQL database, behind the same few calls as a SQLite file.

Rule of this file: SQLAlchemy and its driver are imported only here and in server_url.py,
and only when a server is asked for: they cost more memory and time than a flying day may spend.
Everything they say becomes a LogbookError; what is the same for a file stays in store.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from callout.logbook import migrations
from callout.logbook.dialect import has, postgres
from callout.logbook.errors import (
    DiskFullError,
    LockedError,
    LogbookError,
    NotALogbookError,
    ReadOnlyError,
    ServerLostError,
)
from callout.logbook.places import Server
from callout.logbook.server_url import engine_for, not_installed

if TYPE_CHECKING:
    import sqlalchemy

PATIENCE = 20.0
"""Seconds a server has for each answer."""

_AT_THE_START = (
    "SET synchronous_commit = on",  # whatever the server's own default is
    "SET lock_timeout = '5s'",
    "SET client_min_messages = warning",
)


class ServerConnection:
    """One connection; every statement outside BEGIN is a transaction of its own."""

    def __init__(self, server: Server, *, read_only: bool, patience: float = PATIENCE) -> None:
        self._server = server
        self._open = False
        try:
            import sqlalchemy
        except ImportError:
            raise not_installed() from None
        engine = engine_for(server, patience)
        self._sql = sqlalchemy
        self._known: dict[str, list[sqlalchemy.TextClause]] = {}
        try:
            self._connection = engine.connect()
        except Exception as error:
            raise self._sentence(error) from None
        for setting in _AT_THE_START:
            self.execute(setting)
        if read_only:
            self.execute("SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY")

    def execute(self, sql: str, parameters: Sequence[object] = (), /) -> ServerRows:
        """Carry out one statement; LogbookError says what went wrong."""
        try:
            rows: ServerRows | None = None
            for clause in self._clauses(sql):
                values = {f"p{n}": _storable(value) for n, value in enumerate(parameters)}
                found = self._connection.execute(clause, values)
                rows = ServerRows(found.fetchall() if found.returns_rows else [])
        except Exception as error:
            raise self._sentence(error) from None
        if sql.startswith("BEGIN"):
            self._open = True
        elif sql in ("COMMIT", "ROLLBACK"):
            self._open = False
        assert rows is not None
        return rows

    def _clauses(self, sql: str) -> list[sqlalchemy.TextClause]:
        if sql not in self._known:
            said = postgres(sql)
            self._known[sql] = [self._sql.text(_bound(one)) for one in said]
        return self._known[sql]

    def rollback(self) -> None:
        """Undo the transaction, if there is one and the server is still there."""
        if self._open:
            self._open = False
            try:
                self.execute("ROLLBACK")
            except LogbookError:
                self.close()  # it ends with its connection

    def close(self) -> None:
        """Let it go."""
        try:
            self._connection.invalidate()
            self._connection.close()
        except Exception:  # noqa: S110 - it is gone, or was never there
            pass

    def _sentence(self, error: Exception) -> LogbookError:
        return _sentence(error, self._server)


class ServerRows:
    """What a statement gave: plain tuples, as SQLite gives them."""

    def __init__(self, rows: Sequence[Any]) -> None:
        self._rows = iter(rows)

    def fetchone(self) -> tuple[Any, ...] | None:
        """The next row, or None."""
        return next(iter(self), None)

    def fetchall(self) -> list[tuple[Any, ...]]:
        """All rows that are left."""
        return list(self)

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        """Row by row."""
        return (tuple(row) for row in self._rows)


def open_to_write(server: Server, patience: float = PATIENCE) -> ServerConnection:
    """Give a connection to a migrated logbook; makes its tables in an empty database."""
    connection = ServerConnection(server, read_only=False, patience=patience)
    try:
        _refuse_others(connection, server)
        migrations.migrate(connection, server)
    except BaseException:
        connection.close()
        raise
    return connection


def open_to_read(server: Server, patience: float = PATIENCE) -> ServerConnection:
    """Give a connection that cannot write."""
    connection = ServerConnection(server, read_only=True, patience=patience)
    try:
        _refuse_others(connection, server)
        pending = set(migrations.pending(connection, server)) - migrations.ONLY_FASTER
        if pending and not migrations.applied(connection):
            raise NotALogbookError(f"{server} is empty: no session was written to it yet.")
        if pending:
            raise LogbookError(
                f"The logbook {server} was written by an older callout. It is brought up to date "
                "when the next session is run with it."
            )
    except BaseException:
        connection.close()
        raise
    return connection


def _refuse_others(connection: ServerConnection, server: Server) -> None:
    if has(connection, "sessions") and not migrations.applied(connection):
        raise NotALogbookError(
            f"{server} is not a callout logbook: it has a table of the name sessions already. It "
            "was left as it is. Give an empty database with --logbook postgresql://…"
        )


_QUESTION = re.compile(r"\?|:")


def _bound(sql: str) -> str:
    """Each "?" by the name of its value; a colon of the statement's own stays one."""
    numbers = iter(range(10**6))
    return _QUESTION.sub(lambda m: f":p{next(numbers)}" if m[0] == "?" else r"\:", sql)


def _storable(value: object) -> object:
    """Text that PostgreSQL can hold: it knows no NUL, so that is spelled out."""
    return value.replace("\x00", "\\x00") if isinstance(value, str) else value


_BY_STATE: dict[str, tuple[type[LogbookError], str]] = {
    "28": (
        LogbookError,
        "The server of the logbook {place} does not let you in: check user, password and sslmode.",
    ),
    "3D": (
        LogbookError,
        "The server has no database for the logbook {place}: have it made, as with createdb.",
    ),
    "42501": (
        ReadOnlyError,
        "The logbook {place} cannot be written: its server does not allow it to this user.",
    ),
    "25006": (ReadOnlyError, "The logbook {place} cannot be written: its server is read-only."),
    "53100": (
        DiskFullError,
        "The server of the logbook {place} has no room left. What was written before is kept.",
    ),
    "55P03": (
        LockedError,
        "The logbook {place} is locked by another program that is writing to it. Try again.",
    ),
}
"""SQLSTATE, or how it begins -> sentence (postgresql.org/docs, appendix A)."""

_LOST = ("57", "08", "53300", "")
"""States, or their beginnings, of a server that is not there, or not now."""


def _sentence(error: Exception, server: Server) -> LogbookError:
    """What the driver said, as a sentence."""
    if isinstance(error, LogbookError):
        return error
    state, message = _said(error)
    for start in (state, state[:2]):
        if start in _BY_STATE and state:
            kind, text = _BY_STATE[start]
            return kind(text.format(place=server))
        if start in _LOST:
            return ServerLostError(
                f"The server of the logbook {server} does not answer ({message})."
            )
    return LogbookError(f"The logbook {server} refused: {message}.")


def _said(error: BaseException) -> tuple[str, str]:
    """(SQLSTATE or "", what was said in one line).

    What the server said may stand behind what came of it: pg8000 says goodbye to a server
    that hung up, and reports that.
    """
    words: list[str] = []
    at: BaseException | None = getattr(error, "orig", None) or error
    while at is not None:
        first = at.args[0] if at.args else ""
        if isinstance(first, dict):  # pg8000's way
            return str(first.get("C", "")), str(first.get("M", "")).rstrip(".")
        if state := getattr(at, "sqlstate", None):  # psycopg's way
            return str(state), " ".join(str(at).split()).rstrip(".")
        words.append(str(at))
        at = at.__cause__ or at.__context__
    return "", " ".join(": ".join(words[:2]).split()).rstrip(".")
