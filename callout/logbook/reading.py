"""What a logbook gives back: sessions, entries, events, facts, readings.

Rule of this file: it only reads, in the words that SQLite and PostgreSQL share
(dialect.py), and turns what the database says into LogbookError.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from callout.engine.effects import Record
from callout.engine.events import Event
from callout.logbook import samples
from callout.logbook.dialect import Connection, has, is_sqlite
from callout.logbook.errors import NoSuchSessionError, from_sqlite
from callout.logbook.migrations import TICKED
from callout.logbook.places import Place, Server
from callout.logbook.rows import Entry, SessionRow, entry_from, event_of, fact_of, session_from
from callout.logbook.stamp import RECORDING, Stamp

_SESSIONS = f"""
SELECT s.session, s.aircraft, s.revision, s.file, s.fingerprint,
    s.now, s.wall, s.boot, s.boot_id, l.now, l.wall, l.boot, l.boot_id,
    (SELECT count(*) FROM entries t WHERE t.session = s.session AND {TICKED}),
    e.now, e.wall, e.boot, e.boot_id, e.how, r.now, r.wall, r.boot, r.boot_id
FROM sessions s
LEFT JOIN ends e ON e.session = s.session
LEFT JOIN samples r ON r.batch = (SELECT max(batch) FROM samples b WHERE b.session = s.session)
LEFT JOIN entries l ON l.seq = (SELECT max(seq) FROM entries m WHERE m.session = s.session)
"""  # noqa: S608 - our own words

_SNAPSHOT = {True: "BEGIN", False: "BEGIN ISOLATION LEVEL REPEATABLE READ"}
"""How a transaction that sees one state begins, in SQLite and in PostgreSQL."""

_ENTRY = "seq, session, event, kind, name, about, data, now, wall, boot, boot_id"


class Readable:
    """An open logbook, to read."""

    def __init__(self, connection: Connection, path: Place) -> None:
        self._connection = connection
        self.path = path

    @property
    def file(self) -> Path:
        """Its file, where it has one."""
        assert not isinstance(self.path, Server)
        return self.path

    def events(self, session: int) -> list[tuple[float, Event]]:
        """(session seconds, event) in the order they happened, for replay."""
        found: list[tuple[float, Event]] = []
        rows = self.samples(session)
        ahead = next(rows, None)
        for entry in self.entries(session, "event"):
            while ahead is not None and ahead[0] < entry.seq:
                found += ahead[1]
                ahead = next(rows, None)
            found.append((entry.stamp.now, event_of(entry)))
        while ahead is not None:
            found += ahead[1]
            ahead = next(rows, None)
        return found

    def samples(self, session: int) -> Iterator[tuple[int, list[samples.Noted]]]:
        """(seq of the entry they came after, readings) in the order they were noted."""
        self._need(session)
        query = "SELECT after, data FROM samples WHERE session = ? ORDER BY batch"
        with self._sentences():
            for after, data in self._connection.execute(query, (session,)):
                yield after, samples.unpack(data)

    def packed(self, session: int) -> Iterator[bytes]:
        """The rows of `samples` as they are stored, in order."""
        query = "SELECT data FROM samples WHERE session = ? ORDER BY batch"
        for (data,) in self.select(query, session):
            yield bytes(data)

    def facts(self, session: int) -> list[tuple[float, Record]]:
        """(session seconds, fact) in the order they were appended."""
        return [(e.stamp.now, fact_of(e)) for e in self.entries(session, "fact")]

    def foreign(self, since: int = 0) -> frozenset[int]:
        """Sessions from a number on that came from another logbook: it tells no order."""
        if not self.has("origins"):
            return frozenset()
        query = "SELECT session FROM origins WHERE known = 0 AND session >= ?"
        return frozenset(n for (n,) in self.select(query, since))

    def entries(self, session: int, kind: str = "") -> Iterator[Entry]:
        """Entries as they are stored, in order; `kind` "" for events and facts."""
        self._need(session)
        wanted = "session = ?" + (" AND kind = ?" if kind else "")
        values = (session, kind) if kind else (session,)
        query = f"SELECT {_ENTRY} FROM entries WHERE {wanted} ORDER BY seq"  # noqa: S608 - fixed
        with self._sentences():
            for row in self._connection.execute(query, values):
                yield entry_from(row)

    def sessions(self, since: int = 0) -> list[SessionRow]:
        """Every session from number `since` on, oldest first."""
        return self._sessions("WHERE s.session >= ? ORDER BY s.session", since)

    def session(self, session: int) -> SessionRow:
        """One session; NoSuchSessionError if there is none of this number."""
        self._need(session)
        return self._sessions("WHERE s.session = ?", session)[0]

    def unfinished(
        self, fingerprint: str | None = None, file: str | None = None
    ) -> SessionRow | None:
        """Find the last session without an end mark, of this fingerprint and file where given."""
        where, values = "WHERE e.session IS NULL", []
        if self.has("origins"):  # what another machine wrote is not taken up here
            where += " AND s.session NOT IN (SELECT session FROM origins WHERE known = 0)"
        for column, wanted in (("s.fingerprint", fingerprint), ("s.file", file)):
            if wanted is not None:
                where += f" AND {column} = ?"
                values.append(storable(wanted))
        rows = self._sessions(where + " ORDER BY s.session DESC LIMIT 1", *values)
        return rows[0] if rows else None

    def _sessions(self, clause: str, *values: object) -> list[SessionRow]:
        with self._sentences():
            rows = self._connection.execute(_SESSIONS + clause, values).fetchall()
        return [session_from(row) for row in rows]

    def last_of(self, session: int) -> Stamp:
        """When a session ended, or the last that is known of it."""
        row = self.session(session)
        return row.ended or row.last

    def ended_after(self, aircraft: str, wall: str, since: int) -> list[int]:
        """Sessions of an aircraft from number `since` on whose end may lie after a wall time.

        To the second; those that have no end are all among them.
        """
        query = (
            "SELECT s.session FROM sessions s LEFT JOIN ends e ON e.session = s.session "
            "WHERE s.session >= ? AND s.aircraft = ? AND s.boot_id <> ? "
            "AND (e.session IS NULL OR substr(e.wall, 1, 19) >= ?) ORDER BY s.session"
        )
        found = self.select(query, since, storable(aircraft), RECORDING, wall[:19])
        return [number for (number,) in found]

    def latest(self, most: int) -> list[SessionRow]:
        """At most so many sessions, the latest, oldest of them first."""
        return self._sessions("ORDER BY s.session DESC LIMIT ?", most)[::-1]

    def numbers(self) -> list[int]:
        """The number of every session, oldest first."""
        return [n for (n,) in self.select("SELECT session FROM sessions ORDER BY session")]

    def how_many(self) -> int:
        """How many sessions there are."""
        return int(next(self.select("SELECT count(*) FROM sessions"))[0])

    def select(self, query: str, *values: object) -> Iterator[tuple[Any, ...]]:
        """Rows of a query that only reads, for other files of this room."""
        with self._sentences():
            yield from self._connection.execute(query, values)

    def copy_to(self, path: Path) -> None:
        """Write a file as this one is now, whoever writes to it meanwhile."""
        assert isinstance(self._connection, sqlite3.Connection)
        try:
            with closing(sqlite3.connect(path)) as copy:
                self._connection.backup(copy)
        except sqlite3.Error as error:
            raise from_sqlite(error, path) from None

    def has(self, name: str) -> bool:
        """Whether there is a table or an index of this name."""
        with self._sentences():
            return has(self._connection, name)

    def _need(self, session: int) -> None:
        with self._sentences():
            query = "SELECT 1 FROM sessions WHERE session = ?"
            found = self._connection.execute(query, (session,)).fetchone()
        if found is None:
            raise NoSuchSessionError(f"The logbook {self.path} holds no session {session}.")

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Let every read within see one state of the file, whatever is written meanwhile."""
        with self._sentences():
            try:
                self._connection.execute(_SNAPSHOT[is_sqlite(self._connection)])
                yield
            finally:
                self._connection.rollback()

    @contextmanager
    def _sentences(self) -> Iterator[None]:
        """Turn what SQLite says into LogbookError, but for defects of ours (a wrong thread)."""
        try:
            yield
        except sqlite3.ProgrammingError:
            raise
        except sqlite3.Error as error:
            raise from_sqlite(error, self.file) from None


def storable(text: str) -> str:
    """Text that SQLite can hold: half a surrogate pair (a broken file name) is spelled out."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")
