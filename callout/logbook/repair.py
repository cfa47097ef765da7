"""What can be read of a damaged logbook, written into a new one; and what is lost.

Rule of this file: the damaged file is only read, and no file is written over. Every row
that is whole is kept as it was, under its own number; where something that others refer to
is lost, what stands in its place says so.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from callout.logbook.errors import LogbookError
from callout.logbook.lines import Row, line_of, row_of
from callout.logbook.salvage import Pages, Values, rows
from callout.logbook.stamp import RECORDING
from callout.logbook.store import Logbook
from callout.logbook.tables import TABLES, WHEN

LOST = "lost"
"""What stands for the aircraft of a session whose own line is lost."""

_REAL = {"now", "boot", "began", "seconds"}
"""Columns of floats: SQLite keeps 2.0 as 2."""

_SHAPES = {
    "sessions": (str, str, str, str, float, str, float, str),
    "entries": (int, (int, type(None)), str, str, str, str, float, str, float, str),
    "samples": (int, int, int, bytes, float, str, float, str),
    "ends": (str, float, str, float, str),
    "clips": (int, str, str, float, float, bytes, float, str, float, str),
    "acts": (int, int, str, str, str, float, str, float, str),
}
"""Types of the columns behind the key: no two tables have the same."""


@dataclass
class Repaired:
    """What was recovered, and what was not.

    Fields:
        kept: table -> rows
        unreadable: rows that are there, but not whole
        gaps: (first, last) number of entries that are missing
        headless: sessions whose own line is lost
        stand_ins: facts' events that are lost, each with a stand-in
    """

    kept: Counter[str] = field(default_factory=Counter)
    unreadable: int = 0
    gaps: list[tuple[int, int]] = field(default_factory=list)
    headless: list[int] = field(default_factory=list)
    stand_ins: int = 0


def repair(damaged: Path, to: Path) -> Repaired:
    """Read what can be read of `damaged` into the new logbook `to`."""
    if not damaged.is_file():
        raise LogbookError(f"There is no logbook at {damaged}.")
    if to.exists():
        raise LogbookError(f"{to} is there already. Give the name of a new file.")
    staging = to.with_name(to.name + ".part")
    staging.unlink(missing_ok=True)
    done = Repaired()
    try:
        with closing(sqlite3.connect(staging, isolation_level=None)) as stage:
            _gather(damaged, stage, done)
            if not done.kept:
                raise LogbookError(
                    f"Nothing of a logbook could be read in {damaged}. Is it the right file?"
                )
            with Logbook.open(to) as logbook, logbook.writing():
                _write(stage, logbook, done)
    except sqlite3.Error as error:
        raise LogbookError(f"{to} cannot be written: {error}.") from None
    finally:
        staging.unlink(missing_ok=True)
    return done


def _gather(damaged: Path, stage: sqlite3.Connection, done: Repaired) -> None:
    """Every whole row of every page, once, into tables without any rule."""
    stage.execute("PRAGMA synchronous = OFF")
    stage.execute("PRAGMA journal_mode = OFF")
    for table in TABLES.values():
        rest = ", ".join(table.columns)
        stage.execute(f"CREATE TABLE {table.name} ({table.key} INTEGER PRIMARY KEY, {rest})")
    pages = Pages(damaged)
    stage.execute("BEGIN")
    try:
        free = pages.free()
        for page, key, values in rows(pages):
            if page in free:
                continue  # what was removed there stays removed
            found = None if values is None else _known(key, values)
            if found is not None:
                name, row = found
                marks = ", ".join("?" * len(row))
                query = f"INSERT OR IGNORE INTO {name} VALUES ({marks})"  # noqa: S608
                done.kept[name] += stage.execute(query, row).rowcount
            elif values is None or _meant(values):
                done.unreadable += 1
    finally:
        stage.execute("COMMIT")
        pages.close()


def _meant(values: Values) -> str | None:
    """The table whose columns these could be."""
    for name, shape in _SHAPES.items():
        if len(values) != len(shape) + 1:
            continue
        wide = [(kind, int) if kind is float else kind for kind in shape]
        if all(isinstance(value, kind) for value, kind in zip(values[1:], wide, strict=True)):
            return name
    return None


def _known(key: int, values: Values) -> tuple[str, Row] | None:
    """(table, row) of a row of ours that holds what its table may hold."""
    name = _meant(values)
    if name is None or not 0 < key < 2**63:
        return None
    table = TABLES[name]
    row = (key, *(
        float(value) if column in _REAL else value
        for column, value in zip(table.columns, values[1:], strict=True)
    ))  # fmt: skip
    try:
        row_of(line_of(name, row))
    except (ValueError, KeyError, ArithmeticError, RecursionError, LogbookError):
        return None
    return name, row


def _write(stage: sqlite3.Connection, logbook: Logbook, done: Repaired) -> None:
    """The rows in an order in which each stands on those before it."""
    _heads(stage, done)
    _events(stage, done)
    removed = (
        "DELETE FROM clips WHERE EXISTS (SELECT 1 FROM acts a WHERE a.session = clips.session "
        "AND a.what = 'recording removed' AND clips.name = "
        "CASE a.squawk WHEN 0 THEN 'session' ELSE CAST(a.squawk AS TEXT) END)"
    )
    stage.execute(removed)
    for name in ("sessions", "entries", "samples", "clips", "acts", "ends"):
        table = TABLES[name]
        query = f"SELECT * FROM {name} ORDER BY {table.key}"  # noqa: S608 - our own words
        for some in _some(stage.execute(query)):
            logbook.put_all(name, some)
    for some in _some(stage.execute("SELECT '', session, session, 0 FROM sessions")):
        logbook.put_all("origins", some)
    done.gaps = list(_gaps(stage))


def _heads(stage: sqlite3.Connection, done: Repaired) -> None:
    """A line for each session whose own is lost, from the earliest that is left of it."""
    when = ", ".join(WHEN)
    parts = " UNION ALL ".join(
        f"SELECT session, {when} FROM {name}"  # noqa: S608 - our own words
        for name in ("entries", "samples", "clips", "acts", "ends")
    )
    query = (
        f"SELECT session, min(now), wall, boot, boot_id FROM ({parts}) "  # noqa: S608
        "WHERE session NOT IN (SELECT session FROM sessions) GROUP BY session"
    )
    for session, now, wall, boot, boot_id in stage.execute(query).fetchall():
        done.headless.append(session)
        when_lost = (now, wall, boot, boot_id if boot_id == RECORDING else "")
        row = (session, LOST, "", "", "", *when_lost)
        stage.execute("INSERT INTO sessions VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)


def _events(stage: sqlite3.Connection, done: Repaired) -> None:
    """A stand-in for each event that is lost and left facts: the clock, which says nothing."""
    query = (
        "SELECT f.event, f.session, f.now, f.wall, f.boot, f.boot_id FROM entries f "
        "LEFT JOIN entries e ON e.seq = f.event AND e.kind = 'event' AND e.session = f.session "
        "WHERE f.kind = 'fact' AND e.seq IS NULL GROUP BY f.event"
    )
    for event, session, *when in stage.execute(query).fetchall():
        row = (event, session, None, "event", "Clock", "", "{}", *when)
        query = "INSERT OR IGNORE INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
        done.stand_ins += stage.execute(query, row).rowcount
    query = (
        "DELETE FROM entries WHERE kind = 'fact' AND NOT EXISTS (SELECT 1 FROM entries e "
        "WHERE e.seq = entries.event AND e.kind = 'event' AND e.session = entries.session)"
    )
    orphans = stage.execute(query).rowcount
    done.unreadable += orphans
    done.kept["entries"] -= orphans


def _gaps(stage: sqlite3.Connection) -> Iterator[tuple[int, int]]:
    """Numbers of entries that are missing between others."""
    before = 0
    for (seq,) in stage.execute("SELECT seq FROM entries ORDER BY seq"):
        if seq > before + 1:
            yield before + 1, seq - 1
        before = seq


def _some(found: sqlite3.Cursor) -> Iterator[list[Row]]:
    while some := found.fetchmany(2000):
        yield some
