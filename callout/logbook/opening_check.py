"""How a logbook's file is checked, so that opening never gets slow and damage is still told.

Rule of this file: it only reads, but for the day of the last whole check, which is kept
in the file's header (PRAGMA user_version, which nothing else here uses).

A small file is checked whole whenever it is opened: 0.45 s at 68 MB. A large one is
checked cheaply (its length, its tables, its latest entries by every index) and whole
when it is closed, where nobody waits for a word: once in DAYS days, and after an end
that was none (a write-ahead log is left beside the file then, sqlite.org/walformat.html).
A file that failed, or is overdue by far with no session to take up, is checked whole
before it is opened.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from callout.logbook.errors import DamagedError, damaged, from_sqlite

SMALL = 32 * 2**20
"""Bytes up to which the whole file is checked every time."""

DAYS, OVERDUE = 30, 120
"""Days after which a large file is checked when it is closed, and when it is opened."""

SUSPECT = -1
"""`user_version` of a file that failed its check."""

_TAIL = 600
"""Latest entries that are read: about those of one flying day."""


def today() -> int:
    """Days since 1970, UTC."""
    return int(time.time() // 86400)


def left_open(path: Path) -> bool:
    """Whether a write-ahead log with something in it lies beside the file."""
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def small(path: Path, most: int = SMALL) -> bool:
    """Whether the whole file is checked each time."""
    return not path.exists() or path.stat().st_size <= most


def check(connection: sqlite3.Connection, path: Path, most: int = SMALL) -> None:
    """Check the file as its size allows; DamagedError says what was found."""
    if small(path, most) or _checked_on(connection) == SUSPECT:
        whole(connection, path)
        return
    cheap(connection, path)


def overdue(connection: sqlite3.Connection, day: int | None = None) -> bool:
    """Whether a large file was checked whole once, and then not for far too long."""
    on = _checked_on(connection)
    return on > 0 and (today() if day is None else day) - on > OVERDUE


def whole(connection: sqlite3.Connection, path: Path) -> None:
    """Check every page."""
    (found,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    if found != "ok":
        raise damaged(path, " ".join(str(found).split()))


def cheap(connection: sqlite3.Connection, path: Path) -> None:
    """Length, tables, and the latest entries by the table and by every index of it."""
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (size,) = connection.execute("PRAGMA page_size").fetchone()
    if not left_open(path) and path.stat().st_size < pages * size:
        raise damaged(path, "it is shorter than it says")
    for table in ("sessions", "entries", "ends", "samples", "migrations"):
        known = "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?"
        if connection.execute(known, (table,)).fetchone() is None:
            continue
        order = {"entries": "seq", "samples": "batch", "migrations": "step"}.get(table, "session")
        query = f"SELECT * FROM {table} ORDER BY {order} DESC LIMIT {_TAIL}"  # noqa: S608
        latest = connection.execute(query).fetchall()
        if table == "entries" and latest:
            _by_index(connection, path, latest)


def _by_index(connection: sqlite3.Connection, path: Path, latest: list[tuple[object, ...]]) -> None:
    """What the index of sessions says of the latest session is what the table says."""
    session = latest[0][1]
    listed = connection.execute("SELECT seq FROM entries WHERE session = ?", (session,))
    in_index = {seq for (seq,) in listed}
    if any(row[0] not in in_index for row in latest if row[1] == session):
        raise damaged(path, "its index does not have its latest entries")


def due(connection: sqlite3.Connection, day: int | None = None) -> bool:
    """Whether the whole file is to be checked when it is closed."""
    return (today() if day is None else day) - _checked_on(connection) >= DAYS


def at_the_end(path: Path, *, unclean: bool, say: Callable[[str], None], most: int = SMALL) -> None:
    """After a session: check a large file whole if that is due, and keep the day.

    `unclean` says that the session before had no end. Ctrl-C leaves it for another
    time. DamagedError as in `check`; the file is then not opened again.
    """
    if small(path, most):
        return
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        try:
            if not (unclean or due(connection)):
                return
            megabytes = path.stat().st_size / 1e6
            say(f"Checking the whole logbook ({megabytes:.0f} MB). Ctrl-C leaves it for later.")
            # With a handler Python gets to run now and then, and so sees a Ctrl-C.
            connection.set_progress_handler(lambda: 0, 100_000)
            _checked(connection, path)
        except sqlite3.Error as error:
            if getattr(error, "sqlite_errorcode", 0) != sqlite3.SQLITE_INTERRUPT:
                raise from_sqlite(error, path) from None


def _checked(connection: sqlite3.Connection, path: Path) -> None:
    try:
        whole(connection, path)
    except (DamagedError, sqlite3.DatabaseError) as error:
        if getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) == sqlite3.SQLITE_CORRUPT:
            _keep(connection, SUSPECT)
        raise
    _keep(connection, today())


def _checked_on(connection: sqlite3.Connection) -> int:
    (day,) = connection.execute("PRAGMA user_version").fetchone()
    return int(day)


def _keep(connection: sqlite3.Connection, day: int) -> None:
    connection.execute(f"PRAGMA user_version = {day}")
