"""The logbook: sessions, their events, and the facts that follow from them.

Rule of this file: append only. When `append` returns, the event and all its
facts are on the disk; when it raises, none of them is to be counted on. A reading
that nothing followed from may be noted instead: it is written with the next entry,
before it, or by `settle`. One thread owns a Logbook: the one that opened it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from types import TracebackType

from callout.engine.effects import Record
from callout.engine.events import Event, Reading
from callout.logbook import codec, samples
from callout.logbook.dialect import Connection, is_sqlite
from callout.logbook.errors import NotALogbookError
from callout.logbook.lock import Lock
from callout.logbook.opening import make_folder, need, open_to_read, open_to_write, plain_file
from callout.logbook.opening_check import SMALL, left_open
from callout.logbook.places import Place, Server
from callout.logbook.reading import Readable, storable
from callout.logbook.stamp import Stamp
from callout.logbook.tables import ORIGINS, TABLES

AT_ONCE = 200
"""Rows of one statement: a database takes some 32,000 values at once (sqlite.org/limits.html)."""


class Logbook(Readable):
    """An open logbook, of a file or a server; made by `Logbook.open` or `Logbook.read`."""

    def __init__(
        self,
        connection: Connection,
        path: Place,
        lock: Lock | None,
        *,
        unclean: bool = False,
    ) -> None:
        super().__init__(connection, path)
        self._lock = lock
        self._noted: list[samples.Noted] = []
        self._of = 0
        self.unclean = unclean

    @classmethod
    def open(cls, path: Place, small: int = SMALL, *, new: bool = True) -> Logbook:
        """Open to write; creates the file and its folders, or the tables of a database.

        With `new` false the file must be there: what is changed was written before.

        Raises LogbookError (see errors.py): in use by another callout, not a
        logbook, damaged, newer than this program, read-only, disk full, no server.
        """
        if isinstance(path, Server):
            from callout.logbook import server

            return cls(server.open_to_write(path), path, None)
        path = plain_file(path)
        if not new:
            need(path)
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
        texts = [storable(text) for text in (aircraft, revision, file, fingerprint)]
        with self._transaction():
            return self._insert("sessions", (None, *texts, *_columns(stamp)))

    def append(self, session: int, event: Event, facts: Sequence[Record], stamp: Stamp) -> None:
        """Write one event with its facts: all of them or none, durable on return.

        Raises LogbookError: the disk is full or read-only, the file is locked,
        the session is unknown or has ended, a field holds what its type forbids.
        """
        when = _columns(stamp)
        happened = (type(event).__name__, "", codec.to_text(event))
        derived = [(storable(f.fact), storable(f.about), codec.to_text(f)) for f in facts]
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
            self._insert("ends", (session, storable(how), *_columns(stamp)))
        self._noted.clear()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction for several rows of `put`: all of them or none."""
        with self._transaction():
            yield

    def put(self, table: str, values: Sequence[object]) -> int:
        """Write a row of TABLES within `writing`, its key None where the database chooses it.

        For other files of this room; gives the key.
        """
        return self._insert(table, values)

    def erase(self, query: str, *values: object) -> int:
        """Carry out a DELETE ... RETURNING, within `writing`; gives how many rows it was."""
        return len(self._connection.execute(query, values).fetchall())

    def put_all(self, name: str, rows: Sequence[tuple[object, ...]]) -> None:
        """Write rows with their keys, within `writing`; for other files of this room."""
        table = ORIGINS if name == ORIGINS.name else TABLES[name]
        for begin in range(0, len(rows), AT_ONCE):
            some = rows[begin : begin + AT_ONCE]
            self._connection.execute(table.insert_many(len(some)), [v for row in some for v in row])

    def next_number(self, name: str) -> int:
        """A key that no row of a table has, within `writing`; the next ones are free, too."""
        query = f"SELECT coalesce(max({TABLES[name].key}), 0) FROM {name}"  # noqa: S608
        return int(self._connection.execute(query).fetchone()[0]) + 1

    def let_numbers_follow(self) -> None:
        """After `put_all`: what the database chooses next is beyond what was given."""
        for table in TABLES.values():
            if table.chosen and not is_sqlite(self._connection):  # SQLite does so by itself
                self._connection.execute(
                    f"SELECT setval(pg_get_serial_sequence('{table.name}', '{table.key}'), "  # noqa: S608
                    f"max({table.key})) FROM {table.name} HAVING count(*) > 0"
                )

    def _insert(self, table: str, values: Sequence[object]) -> int:
        """Write a row; gives its number, which the database chooses where it is None."""
        chosen = values[0] is not None
        known = values if chosen else values[1:]
        rows = self._connection.execute(TABLES[table].insert(keyed=chosen), known).fetchall()
        return int(rows[0][0])

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


def _columns(stamp: Stamp) -> tuple[float, str, float, str]:
    return (float(stamp.now), stamp.wall, float(stamp.boot), stamp.boot_id)
