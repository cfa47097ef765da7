"""What can go wrong with a logbook, as sentences for people.

Rule of this file: one family, LogbookError. Its text says what was wrong, with
which file, and what would be right; the command line prints it as it stands.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path


class LogbookError(Exception):
    """Something is wrong with the logbook; the text is for people."""


class LockedError(LogbookError):
    """Another program holds the logbook."""


class ReadOnlyError(LogbookError):
    """The logbook, or its folder, cannot be written."""


class CannotOpenError(LogbookError):
    """The system does not let the file be opened."""


class DiskFullError(LogbookError):
    """There is no room left for another entry."""


class NotALogbookError(LogbookError):
    """The file is not a callout logbook."""


class DamagedError(LogbookError):
    """The file is a logbook, but parts of it cannot be trusted."""


class NewerError(LogbookError):
    """The file was written by a newer callout."""


class EntryError(LogbookError):
    """One entry cannot be written down, or cannot be read back."""


class NoSuchSessionError(LogbookError):
    """The logbook holds no session of this number."""


class NoSuchSquawkError(LogbookError):
    """The logbook holds no squawk of this key."""


class ServerLostError(LogbookError):
    """The server that keeps the logbook does not answer."""


def _busy(path: Path) -> LogbookError:
    return LockedError(
        f"The logbook {path} is locked by another program that is writing to it. "
        "Close that program, or give another file with --logbook FILE.db."
    )


def _read_only(path: Path) -> LogbookError:
    return ReadOnlyError(
        f"The logbook {path} cannot be written: the file, its folder or the disk is read-only. "
        "Allow writing, or give another file with --logbook FILE.db."
    )


def _full(path: Path) -> LogbookError:
    return DiskFullError(
        f"There is no room left for the logbook {path}. What was written before is kept. "
        "Free some space on that disk, then go on."
    )


def not_a_logbook(path: Path, why: str) -> NotALogbookError:
    """Make the error for a file that is something else; `why` says what was found."""
    return NotALogbookError(
        f"{path} is not a callout logbook: {why}. It was left as it is. "
        "Give a logbook, or the name of a new file, with --logbook FILE.db."
    )


def damaged(path: Path, found: str) -> DamagedError:
    """Make the error for a file that fails its check; `found` is SQLite's own finding."""
    return DamagedError(
        f"The logbook {path} is damaged ({found}). It was left as it is. "
        f"`callout log repair {path} --to NEW.db` writes what can be read of it into a new file; "
        "until then give another file with --logbook FILE.db."
    )


def _cannot_open(path: Path) -> LogbookError:
    return CannotOpenError(
        f"The logbook {path} cannot be opened. "
        "Check that its folder exists, that it is a file, and that you may read and write it."
    )


def from_os(error: OSError, path: Path) -> LogbookError:
    """Find the sentence for what the system said about the logbook's file or folder."""
    if isinstance(error, PermissionError) or error.errno == 30:  # EROFS
        return _read_only(path)
    if error.errno == 28:  # ENOSPC
        return _full(path)
    return LogbookError(
        f"The logbook {path} cannot be opened: {error.strerror or error}. "
        "Give another file with --logbook FILE.db."
    )


def from_sqlite(error: sqlite3.Error, path: Path) -> LogbookError:
    """Find the sentence for what SQLite said; codes at sqlite.org/rescode.html."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    known = {
        sqlite3.SQLITE_BUSY: _busy,
        sqlite3.SQLITE_LOCKED: _busy,
        sqlite3.SQLITE_READONLY: _read_only,
        sqlite3.SQLITE_PERM: _read_only,
        sqlite3.SQLITE_FULL: _full,
        sqlite3.SQLITE_CANTOPEN: _cannot_open,
    }
    if code in known:
        return known[code](path)
    if code == sqlite3.SQLITE_NOTADB:
        return not_a_logbook(path, "it is no SQLite file")
    if code == sqlite3.SQLITE_CORRUPT:
        return damaged(path, str(error))
    if code == sqlite3.SQLITE_IOERR:
        name = getattr(error, "sqlite_errorname", "SQLITE_IOERR")
        return LogbookError(
            f"The disk did not do what the logbook {path} asked of it ({name}). What was written "
            "before is kept. Check the disk and the room left on it."
        )
    return LogbookError(f"The logbook {path} refused: {error}.")
