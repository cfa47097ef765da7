"""A copy of a logbook as it is at one moment, also while a session is written to it.

Rule of this file: no file is written over, and what is called a backup was read back:
checked page by page, and every table has as many rows as the logbook had at that moment.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from callout.logbook import opening_check
from callout.logbook.errors import LogbookError, from_os, from_sqlite
from callout.logbook.export import lines
from callout.logbook.importing import take_in
from callout.logbook.opening import sync_folder
from callout.logbook.places import Place, Server
from callout.logbook.store import Logbook
from callout.logbook.tables import TABLES


def backup(place: Place, to: Path) -> int:
    """Copy the logbook into a new file; gives how many sessions it has.  LogbookError if not."""
    _refuse(to)
    part = to.with_name(to.name + ".part")
    with Logbook.read(place) as logbook, _removed_if_not_whole(part, to), logbook.snapshot():
        part.unlink(missing_ok=True)
        counts = _counts(logbook)  # the first look fixes the moment that the snapshot shows
        if isinstance(place, Server):
            _from_server(logbook, part)
        else:
            logbook.copy_to(part)
        counted = _verified(part, logbook, counts)
        _keep(part, to)
    return counted


def _refuse(to: Path) -> None:
    try:
        if to.exists():
            raise LogbookError(f"{to} is there already. Give the name of a new file.")
        if not to.parent.is_dir():
            raise LogbookError(f"There is no folder {to.parent} to write {to.name} to.")
    except OSError as error:
        raise from_os(error, to) from None


def _from_server(logbook: Logbook, part: Path) -> None:
    placed = enumerate(lines(logbook, logbook.numbers()), 1)
    with Logbook.open(part) as copy:
        take_in(copy, part, placed)


def _counts(logbook: Logbook) -> dict[str, int]:
    """Rows of each table."""
    there = (table for table in TABLES if logbook.has(table))
    return {
        table: int(next(logbook.select(f"SELECT count(*) FROM {table}"))[0])  # noqa: S608
        for table in there
    }


def _verified(part: Path, logbook: Logbook, counts: dict[str, int]) -> int:
    """How many sessions the copy has; LogbookError if it is not what the logbook is."""
    with closing(sqlite3.connect(part, isolation_level=None)) as copy:
        try:
            copy.execute("PRAGMA journal_mode = DELETE").fetchone()  # one file, nothing beside it
            opening_check.whole(copy, part)
            for table, rows in counts.items():
                query = f"SELECT count(*) FROM {table}"  # noqa: S608 - our own tables
                if copy.execute(query).fetchone()[0] != rows:
                    raise LogbookError(
                        f"The copy of {logbook.path} does not have all of its {table}, so it was "
                        "not kept. Check the disk, and try again."
                    )
        except sqlite3.Error as error:
            raise from_sqlite(error, part) from None
    return counts["sessions"]


def _keep(part: Path, to: Path) -> None:
    """Give the copy its name, on the disk."""
    handle = os.open(part, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
    to.touch(exist_ok=False)  # nobody else's file is written over in between
    part.replace(to)
    sync_folder(to.parent.absolute())


@contextmanager
def _removed_if_not_whole(part: Path, to: Path) -> Iterator[None]:
    try:
        yield
    except FileExistsError:
        raise LogbookError(f"{to} is there already. Give the name of a new file.") from None
    except OSError as error:
        raise from_os(error, to) from None
    finally:
        for suffix in ("", "-wal", "-shm", "-journal", ".lock"):
            with suppress(OSError):
                part.with_name(part.name + suffix).unlink()
