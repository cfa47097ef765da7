"""Recordings removed for good: their rows, and their bytes in the file.

Rule of this file: it removes sound and nothing else, and writes down that it did.
A deleted row leaves its bytes in free pages and in the write-ahead log, so the
file is written anew (sqlite.org/lang_vacuum.html) and the log cut to nothing
(sqlite.org/pragma.html#pragma_wal_checkpoint). Copies elsewhere stay: backups,
exports, reports, and what a disk keeps of freed blocks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from callout.logbook.errors import LogbookError
from callout.logbook.places import Server
from callout.logbook.squawks import REMOVE, SESSION
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook


class StillThereError(LogbookError):
    """Rows are gone, but their bytes may still be read in the file."""


@dataclass(frozen=True, slots=True)
class Recording:
    """One recording: whose, how long (s), how many bytes."""

    session: int
    name: str
    seconds: float
    size: int

    @property
    def of_session(self) -> bool:
        """Whether it is of a whole session, not of a squawk."""
        return self.name == SESSION


def recordings(logbook: Logbook, sessions: Sequence[int] = (), before: str = "") -> list[Recording]:
    """Those of these sessions (all if none is named), of before a date (UTC) if one is given."""
    if not logbook.has("clips"):
        return []
    query = (
        "SELECT c.session, c.name, sum(c.seconds), sum(length(c.sound)) FROM clips c "
        "JOIN sessions s ON s.session = c.session WHERE (? = '' OR s.wall < ?) "
        "GROUP BY c.session, c.name ORDER BY c.session, c.name"
    )
    rows = (
        Recording(session, name, float(seconds), int(size))
        for session, name, seconds, size in logbook.select(query, before, before)
    )
    return [one for one in rows if not sessions or one.session in sessions]


def purge(logbook: Logbook, found: Sequence[Recording], who: str, now: Stamp) -> None:
    """Remove them, and write down that it was done.  Raises LogbookError."""
    when = (now.now, now.wall, now.boot, now.boot_id)
    delete = "DELETE FROM clips WHERE session = ? AND name = ? RETURNING piece"
    with logbook.writing():
        for one in found:
            logbook.erase(delete, one.session, one.name)
            squawk = 0 if one.of_session else int(one.name)
            logbook.put("acts", (None, one.session, squawk, REMOVE, who, "purged", *when))
    _forget_bytes(logbook)


def _forget_bytes(logbook: Logbook) -> None:
    """Write the file anew without them."""
    served = isinstance(logbook.path, Server)
    list(logbook.select("VACUUM FULL clips" if served else "VACUUM"))
    if served:
        return
    busy, *_ = next(logbook.select("PRAGMA wal_checkpoint(TRUNCATE)"))
    if busy:
        raise StillThereError(
            f"The recordings are removed from {logbook.path}, but another program reads it, so "
            "their bytes are still in its -wal file. Close that program and purge again."
        )
