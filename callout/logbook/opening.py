"""Opens a logbook file: checks first, changes afterwards.

Rule of this file: nothing is written to a file before it is known to be ours,
whole, and not newer than this program.
"""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from callout.logbook import migrations, opening_check
from callout.logbook.errors import (
    CannotOpenError,
    LogbookError,
    NotALogbookError,
    ReadOnlyError,
    from_os,
    from_sqlite,
    not_a_logbook,
)

_BUSY_SECONDS = 2.0
"""How long another program's write is waited for before it is said."""

_OLDEST_SQLITE = (3, 38, 0)
"""STRICT tables came with 3.37.0, JSON functions in every build with 3.38.0 (sqlite.org)."""


def plain_file(path: Path) -> Path:
    """Give the one name that stands for this file, whatever link or "~" it came by.

    LogbookError if a folder or a device is there, or the name can be no file.
    """
    try:
        real = path.expanduser().resolve()
        if real.is_symlink():  # what is resolved and still a link leads round (from 3.13 on)
            raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))
        other = real.exists() and not real.is_file()
    except (OSError, RuntimeError, ValueError) as error:  # a loop of links, a NUL in the name
        reason = getattr(error, "strerror", None) or error
        raise LogbookError(
            f"{str(path)!r} cannot be the name of a logbook: {reason}. "
            "Give a file with --logbook FILE.db."
        ) from None
    if other:
        raise LogbookError(
            f"{real} is no file (a folder or a device). Give a file with --logbook FILE.db."
        )
    return real


def need(path: Path) -> None:
    """LogbookError if no file is there."""
    if not path.is_file():
        raise LogbookError(
            f"There is no logbook at {path}. Run a session first, or say with "
            "--logbook FILE.db where it is."
        )


def open_to_write(path: Path, small: int = opening_check.SMALL) -> sqlite3.Connection:
    """Give a connection to a checked, migrated logbook in WAL mode; creates the file.

    Files of more than `small` bytes are checked as opening_check.py says.

    Every commit is on the disk when it returns (synchronous=FULL; on macOS
    with the barrier that fsync leaves out there, fullfsync).
    """
    _check_sqlite()
    unclean = opening_check.left_open(path)
    with _kept_if_right(path, "mode=rwc") as connection:
        _check(connection, path, small)
        if not unclean and opening_check.overdue(connection):
            opening_check.whole(connection, path)
        _set_durable(connection, path)
        migrations.migrate(connection, path)
    return connection


def open_to_read(path: Path, small: int = opening_check.SMALL) -> sqlite3.Connection:
    """Give a connection that cannot write, also while another program writes a session."""
    _check_sqlite()
    need(path)
    try:
        return _checked_to_read(path, "mode=ro", small)
    except (ReadOnlyError, CannotOpenError):
        # In a folder that may not be written SQLite cannot share the file with a
        # writer (sqlite.org/wal.html, "Read-Only Databases").  Without a log
        # beside it the file is whole, and there is no writer to share it with.
        if _holds_more(path):
            raise LogbookError(
                f"The logbook {path} cannot be read where it is: its newest entries are in the "
                "-wal file, and its folder cannot be written. Copy both files to a folder of "
                "yours and give the copy with --logbook FILE.db."
            ) from None
        return _checked_to_read(path, "immutable=1", small)


def _holds_more(path: Path) -> bool:
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def _checked_to_read(path: Path, how: str, small: int) -> sqlite3.Connection:
    with _kept_if_right(path, how) as connection:
        _check(connection, path, small)
        if set(migrations.pending(connection, path)) - migrations.ONLY_FASTER:
            raise _too_old(connection, path)
    return connection


@contextmanager
def _kept_if_right(path: Path, how: str) -> Iterator[sqlite3.Connection]:
    """A connection that stays open behind the block, unless something was wrong in it."""
    connection = _connect(path, how)
    try:
        connection.execute(f"PRAGMA busy_timeout = {int(_BUSY_SECONDS * 1000)}")
        yield connection
    except sqlite3.Error as error:
        connection.close()
        raise from_sqlite(error, path) from None
    except BaseException:
        connection.close()
        raise


def _check_sqlite() -> None:
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        oldest = ".".join(str(part) for part in _OLDEST_SQLITE)
        raise LogbookError(
            f"This Python carries SQLite {sqlite3.sqlite_version}; the logbook needs {oldest} "
            "or newer. Use a newer Python."
        )


def _connect(path: Path, how: str) -> sqlite3.Connection:
    # as_uri escapes what would end the file name in a URI ("?", "#", "%").
    uri = f"{path.absolute().as_uri()}?{how}"
    try:
        return sqlite3.connect(uri, uri=True, isolation_level=None)
    except sqlite3.Error as error:
        raise from_sqlite(error, path) from None


def make_folder(path: Path) -> None:
    """Make the file's folder and its parents durable: a folder lost takes its file along."""
    missing = [folder for folder in path.absolute().parents if not folder.exists()]
    for folder in reversed(missing):
        try:
            folder.mkdir(exist_ok=True)
            sync_folder(folder.parent)
        except OSError as error:
            raise from_os(error, path) from None


def sync_folder(folder: Path) -> None:
    """Make what a folder lists durable."""
    if os.name == "nt":  # Windows has no handle of a folder to flush
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _check(connection: sqlite3.Connection, path: Path, small: int) -> None:
    """Refuse what is not ours or new, and what is not whole."""
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if mark != migrations.APPLICATION_ID and (mark or tables):
        raise not_a_logbook(path, "it is a SQLite file of another program")
    opening_check.check(connection, path, small)


def _set_durable(connection: sqlite3.Connection, path: Path) -> None:
    (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise LogbookError(
            f"The disk that holds {path} cannot keep a write-ahead log (a network drive cannot). "
            "Give a file on this machine's own disk with --logbook FILE.db."
        )
    for pragma in ("synchronous = FULL", "fullfsync = ON", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _too_old(connection: sqlite3.Connection, path: Path) -> LogbookError:
    if not migrations.applied(connection):
        return NotALogbookError(f"The file {path} is empty: no session was written to it yet.")
    return LogbookError(
        f"The logbook {path} was written by an older callout. It is brought up to date when "
        "the next session is run with it."
    )
