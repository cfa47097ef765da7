"""The practice book: who practised what, when, and how it went; one SQLite file.

Rule of this file: append only, each entry committed before anything is said of it.
It reads and writes rows; what to practise next is worked out in schedule.py.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import platformdirs

from callout.checklist.model import Aircraft
from callout.logbook.errors import LogbookError
from callout.trainer.scoring import Result

VERSION = 1
"""Version of the tables; kept in the file's user_version."""

APPLICATION = 0x636F7072
"""What says that a SQLite file is a practice book ("copr")."""

_TABLES = """
CREATE TABLE practice (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  aircraft TEXT NOT NULL,
  revision TEXT NOT NULL,
  fingerprint TEXT NOT NULL,
  drill TEXT NOT NULL,
  title TEXT NOT NULL,
  roles TEXT NOT NULL,
  coached INTEGER NOT NULL,
  percent INTEGER NOT NULL CHECK (percent BETWEEN 0 AND 100),
  critical_missed INTEGER NOT NULL,
  result TEXT NOT NULL
) STRICT;
CREATE INDEX practice_of ON practice (who, aircraft, at);
CREATE TRIGGER practice_kept BEFORE DELETE ON practice
BEGIN SELECT RAISE(ABORT, 'practice is never deleted'); END;
CREATE TRIGGER practice_unchanged BEFORE UPDATE ON practice
BEGIN SELECT RAISE(ABORT, 'practice is never changed'); END;
"""


@dataclass(frozen=True, slots=True)
class Entry:
    """One practice.

    Fields:
        at: when it ended, UTC
        roles: "helper", "pilot" or "pilot, helper"
        result: everything, as written
    """

    number: int
    at: datetime
    who: str
    aircraft: str
    revision: str
    fingerprint: str
    drill: str
    title: str
    roles: str
    coached: bool
    percent: int
    critical_missed: bool
    result: dict[str, Any]


def default_book() -> Path:
    """The person's own practice book, in the system's folder for a program's data."""
    return platformdirs.user_data_path("callout", appauthor=False) / "practice.db"


class PracticeBook:
    """The book in one file; made when it is not there."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with self._said():
            path.parent.mkdir(parents=True, exist_ok=True)
            with closing(self._open()) as db:
                self._make_ready(db)

    def add(
        self, who: str, aircraft: Aircraft, fingerprint: str, result: Result, at: datetime
    ) -> None:
        """Write one practice; it is on the disk when this returns.  Raises LogbookError."""
        row = (
            at.isoformat(timespec="seconds"), who, aircraft.name, aircraft.revision, fingerprint,
            result.drill, result.title, ", ".join(result.roles), int(result.coached),
            result.percent, int(result.critical_missed), json.dumps(asdict(result), default=str),
        )  # fmt: skip
        with self._said(), closing(self._open()) as db, db:
            db.execute(
                "INSERT INTO practice (at, who, aircraft, revision, fingerprint, drill, title,"
                " roles, coached, percent, critical_missed, result)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                row,
            )

    def entries(self, who: str, aircraft: str) -> tuple[Entry, ...]:
        """What this person practised for this aircraft, oldest first."""
        with self._said(), closing(self._open()) as db:
            rows = db.execute(
                "SELECT id, at, who, aircraft, revision, fingerprint, drill, title, roles, coached,"
                " percent, critical_missed, result FROM practice"
                " WHERE who = ? AND aircraft = ? ORDER BY at, id",
                (who, aircraft),
            ).fetchall()
        return tuple(_entry(row) for row in rows)

    def people(self) -> tuple[str, ...]:
        """Everybody who is in the book."""
        with self._said(), closing(self._open()) as db:
            rows = db.execute("SELECT DISTINCT who FROM practice ORDER BY who").fetchall()
        return tuple(row[0] for row in rows)

    def _open(self) -> sqlite3.Connection:
        db = sqlite3.connect(self.path, timeout=10.0)
        db.execute("PRAGMA synchronous = FULL")
        return db

    def _make_ready(self, db: sqlite3.Connection) -> None:
        version = db.execute("PRAGMA user_version").fetchone()[0]
        application = db.execute("PRAGMA application_id").fetchone()[0]
        tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        if tables and application != APPLICATION:
            raise LogbookError(f"{self.path} is another SQLite file, not a practice book.")
        if version > VERSION:
            raise LogbookError(
                f"{self.path} was written by a newer callout (version {version} of its tables; "
                f"this program knows {VERSION})."
            )
        if not tables:
            db.executescript(
                f"BEGIN; {_TABLES} PRAGMA application_id = {APPLICATION};"
                f" PRAGMA user_version = {VERSION}; COMMIT;"
            )

    @contextmanager
    def _said(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            raise LogbookError(f"The practice book {self.path} cannot be used: {error}.") from None


def _entry(row: tuple[Any, ...]) -> Entry:
    return Entry(
        number=row[0],
        at=datetime.fromisoformat(row[1]),
        who=row[2],
        aircraft=row[3],
        revision=row[4],
        fingerprint=row[5],
        drill=row[6],
        title=row[7],
        roles=row[8],
        coached=bool(row[9]),
        percent=row[10],
        critical_missed=bool(row[11]),
        result=json.loads(row[12]),
    )
