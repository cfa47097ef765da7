"""The logbook: sessions, their events, and the facts that follow from them.

Rule of this file: append only. When `append` returns, the event and all its
facts are on the disk; when it raises, none of them is to be counted on. A reading
that nothing followed from may be noted instead: it is written with the next entry,
before it, or by `settle`. One thread owns a Logbook: the one that opened it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any

from callout.engine.effects import Record
from callout.engine.events import Event, Reading
from callout.logbook import codec, samples
from callout.logbook.dialect import Connection, has, is_sqlite
from callout.logbook.errors import NoSuchSessionError, NotALogbookError, from_sqlite
from callout.logbook.lock import Lock
from callout.logbook.migrations import COUNTED
from callout.logbook.opening import make_folder, open_to_read, open_to_write, plain_file
from callout.logbook.opening_check import SMALL, left_open
from callout.logbook.places import Place, Server
from callout.logbook.rows import Entry, SessionRow, entry_from, event_of, fact_of, session_from
from callout.logbook.stamp import Stamp
from callout.logbook.tables import TABLES

_SESSIONS = """
SELECT s.session, s.aircraft, s.revision, s.file, s.fingerprint,
    s.now, s.wall, s.boot, s.boot_id, l.now, l.wall, l.boot, l.boot_id,
    (SELECT count(*) FROM entries t WHERE t.session = s.session AND t.kind = 'fact'
        AND t.name = 'ticked'),
    e.now, e.wall, e.boot, e.boot_id, e.how, r.now, r.wall, r.boot, r.boot_id
FROM sessions s
LEFT JOIN ends e ON e.session = s.session
LEFT JOIN samples r ON r.batch = (SELECT max(batch) FROM samples b WHERE b.session = s.session)
LEFT JOIN entries l ON l.seq = (SELECT max(seq) FROM entries m WHERE m.session = s.session)
"""

_SNAPSHOT = {True: "BEGIN", False: "BEGIN ISOLATION LEVEL REPEATABLE READ"}
"""How a transaction that sees one state begins, in SQLite and in PostgreSQL."""

_ENTRY = "seq, session, event, kind, name, about, data, now, wall, boot, boot_id"


class Logbook:
    """An open logbook, of a file or a server; made by `Logbook.open` or `Logbook.read`."""

    def __init__(
        self,
        connection: Connection,
        path: Place,
        lock: Lock | None,
        *,
        unclean: bool = False,
    ) -> None:
        self._connection = connection
        self._lock = lock
        self._noted: list[samples.Noted] = []
        self._of = 0
        self.path, self.unclean = path, unclean

    @classmethod
    def open(cls, path: Place, small: int = SMALL) -> Logbook:
        """Open to write; creates the file and its folders, or the tables of a database.

        Raises LogbookError (see errors.py): in use by another callout, not a
        logbook, damaged, newer than this program, read-only, disk full, no server.
        """
        if isinstance(path, Server):
            from callout.logbook import server

            return cls(server.open_to_write(path), path, None)
        path = plain_file(path)
        make_folder(path)
        lock = Lock.take(path)
        unclean = left_open(path)
        try:
            return cls(open_to_write(path, small), path, lock, unclean=unclean)
        except NotALogbookError:
            lock.forget()
            raise
        except BaseException:
            lock.release()
            raise

    @classmethod
    def read(cls, path: Place, small: int = SMALL) -> Logbook:
        """Open to read only, also while another program writes; LogbookError as in `open`."""
        if isinstance(path, Server):
            from callout.logbook import server

            return cls(server.open_to_read(path), path, None)
        path = plain_file(path)
        return cls(open_to_read(path, small), path, None)

    @property
    def file(self) -> Path:
        """Its file, where it has one."""
        assert not isinstance(self.path, Server)
        return self.path

    def close(self) -> None:
        """Close the file and let other programs write to it."""
        self._connection.close()
        if self._lock is not None:
            self._lock.release()

    def __enter__(self) -> Logbook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def begin(self, aircraft: str, revision: str, file: str, fingerprint: str, stamp: Stamp) -> int:
        """Start a session, durable on return; gives its number.

        `file` is the aircraft file's path, `fingerprint` a digest of all that was
        read from it: a session is resumed only with the lists it began with.
        """
        texts = [_storable(text) for text in (aircraft, revision, file, fingerprint)]
        with self._transaction():
            return self._insert("sessions", (None, *texts, *_columns(stamp)))

    def append(self, session: int, event: Event, facts: Sequence[Record], stamp: Stamp) -> None:
        """Write one event with its facts: all of them or none, durable on return.

        Raises LogbookError: the disk is full or read-only, the file is locked,
        the session is unknown or has ended, a field holds what its type forbids.
        """
        when = _columns(stamp)
        happened = (type(event).__name__, "", codec.to_text(event))
        derived = [(_storable(f.fact), _storable(f.about), codec.to_text(f)) for f in facts]
        with self._transaction():
            self._need(session)
            self._write_noted(session, when)
            seq = self._insert("entries", (None, session, None, "event", *happened, *when))
            for fact in derived:
                self._insert("entries", (None, session, seq, "fact", *fact, *when))
        self._noted.clear()

    def note(self, session: int, reading: Reading, now: float) -> None:
        """Remember a reading that nothing followed from; a kill may lose what is not settled.

        `now` is the session time of the step that took it.
        """
        self._of = session
        self._noted.append((now, reading))

    @property
    def noted_since(self) -> float | None:
        """Session time (s) of the oldest reading that is not on the disk yet."""
        return self._noted[0][0] if self._noted else None

    def settle(self, stamp: Stamp) -> None:
        """Write what was noted, durable on return; LogbookError as in `append`."""
        if self._noted:
            with self._transaction():
                self._write_noted(self._of, _columns(stamp))
            self._noted.clear()

    def _write_noted(self, session: int, when: tuple[float, str, float, str]) -> None:
        """One row of what was noted so far, behind the session's last entry."""
        if not self._noted:
            return
        query = "SELECT coalesce(max(seq), 0) FROM entries WHERE session = ?"
        (after,) = self._connection.execute(query, (session,)).fetchone()
        row = (session, after, len(self._noted), samples.pack(self._noted))
        self._insert("samples", (None, *row, *when))

    def finish(self, session: int, how: str, stamp: Stamp) -> None:
        """Put the end mark, durable on return; LogbookError if the session has one."""
        with self._transaction():
            self._need(session)
            self._write_noted(session, _columns(stamp))
            self._insert("ends", (session, _storable(how), *_columns(stamp)))
        self._noted.clear()

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

    def facts(self, session: int) -> list[tuple[float, Record]]:
        """(session seconds, fact) in the order they were appended."""
        return [(e.stamp.now, fact_of(e)) for e in self.entries(session, "fact")]

    def counted(self, aircraft: str, after: int = 0) -> Iterator[Entry]:
        """Facts behind entry `after` that count across sessions, of an aircraft, in order."""
        query = (  # our own words
            f"SELECT {_ENTRY} FROM entries WHERE {COUNTED} AND +session IN "  # noqa: S608
            "(SELECT session FROM sessions WHERE aircraft = ?) AND seq > ? ORDER BY seq"
        )
        yield from map(entry_from, self.select(query, _storable(aircraft), after))

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
        for column, wanted in (("s.fingerprint", fingerprint), ("s.file", file)):
            if wanted is not None:
                where += f" AND {column} = ?"
                values.append(_storable(wanted))
        rows = self._sessions(where + " ORDER BY s.session DESC LIMIT 1", *values)
        return rows[0] if rows else None

    def _sessions(self, clause: str, *values: object) -> list[SessionRow]:
        with self._sentences():
            rows = self._connection.execute(_SESSIONS + clause, values).fetchall()
        return [session_from(row) for row in rows]

    def select(self, query: str, *values: object) -> Iterator[tuple[Any, ...]]:
        """Rows of a query that only reads, for other files of this room."""
        with self._sentences():
            yield from self._connection.execute(query, values)

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

    def _insert(self, table: str, values: Sequence[object]) -> int:
        """Write a row; gives its number, which the database chooses where it is None."""
        chosen = values[0] is not None
        known = values if chosen else values[1:]
        rows = self._connection.execute(TABLES[table].insert(keyed=chosen), known).fetchall()
        return int(rows[0][0])

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
    def _transaction(self) -> Iterator[None]:
        """All or nothing, whatever raises."""
        with self._sentences():
            try:
                self._connection.execute("BEGIN IMMEDIATE")
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                self._connection.rollback()
                raise

    @contextmanager
    def _sentences(self) -> Iterator[None]:
        """Turn what SQLite says into LogbookError, but for defects of ours (a wrong thread)."""
        try:
            yield
        except sqlite3.ProgrammingError:
            raise
        except sqlite3.Error as error:
            raise from_sqlite(error, self.file) from None


def _storable(text: str) -> str:
    """Text that SQLite can hold: half a surrogate pair (a broken file name) is spelled out."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def _columns(stamp: Stamp) -> tuple[float, str, float, str]:
    return (float(stamp.now), stamp.wall, float(stamp.boot), stamp.boot_id)
