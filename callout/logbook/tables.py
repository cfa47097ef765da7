"""The tables of a logbook by their columns, for whatever goes through all of them.

Rule of this file: it says what migrations.py makes (a test compares them). A table that
keeps something of a session has a line here, and with it is exported, imported, delivered
to a server, recovered and described.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

WHEN = ("now", "wall", "boot", "boot_id")
"""When a row was written: session seconds, UTC, seconds since the machine's start, which start."""


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its key, which the database chooses where `chosen`, and its other columns."""

    name: str
    key: str
    columns: tuple[str, ...]
    chosen: bool = True

    @property
    def all(self) -> tuple[str, ...]:
        """Every column, the key first."""
        return (self.key, *self.columns)

    def insert(self, *, keyed: bool) -> str:
        """SQL that writes a row and gives its key; `keyed`: the key is given with it."""
        return _insert(self, keyed)

    def insert_many(self, rows: int) -> str:
        """SQL that writes so many rows with their keys."""
        return _insert_many(self, rows)


@cache
def _insert(table: Table, keyed: bool) -> str:
    columns = table.all if keyed else table.columns
    marks = ", ".join("?" * len(columns))
    return (
        f"INSERT INTO {table.name} ({', '.join(columns)}) VALUES ({marks}) "  # noqa: S608
        f"RETURNING {table.key}"
    )


@cache
def _insert_many(table: Table, rows: int) -> str:
    marks = ", ".join(f"({', '.join('?' * len(table.all))})" for _ in range(rows))
    return f"INSERT INTO {table.name} ({', '.join(table.all)}) VALUES {marks}"  # noqa: S608


TABLES = {
    table.name: table
    for table in (
        Table("sessions", "session", ("aircraft", "revision", "file", "fingerprint", *WHEN)),
        Table("entries", "seq", ("session", "event", "kind", "name", "about", "data", *WHEN)),
        Table("samples", "batch", ("session", "after", "readings", "data", *WHEN)),
        Table("ends", "session", ("how", *WHEN), chosen=False),
        Table("clips", "piece", ("session", "name", "format", "began", "seconds", "sound", *WHEN)),
        Table("acts", "act", ("session", "squawk", "what", "who", "how", *WHEN)),
    )
}
"""In the order in which their rows are written."""

ORIGINS = Table("origins", "writer", ("number", "session", "known"), chosen=False)
"""Which session of another logbook is which here; no part of what is exported. `writer` is
that logbook, or one import of it; `known`: it was here already, by another way."""
