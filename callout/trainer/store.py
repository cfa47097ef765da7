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
from callout.trainer.model import Drill
from callout.trainer.scoring import HIT, Result
from callout.trainer.store_tables import ATTEMPTS, TABLES, VERSION

APPLICATION = 0x636F7072
"""What says that a SQLite file is a practice book ("copr")."""

_SCORED = "INSERT INTO scored (attempt, at, calls, in_time, of, how) VALUES (?, ?, ?, ?, ?, ?)"

GOES_ON, COUNTED, ENDED = 0, 1, 2
"""How a drill stands: under way (or killed), gone through and counted, ended before that."""


@dataclass(frozen=True, slots=True)
class CutShort:
    """A drill that was begun and not gone through: nothing of it counts.

    Fields:
        number: of the attempt
        at: when it was begun, UTC
        calls, in_time, of: calls that were over, those of them in time, and all of the drill
        ended: somebody ended it; False where the program was killed
    """

    number: int

    at: datetime
    drill: str
    title: str
    roles: str
    calls: int
    in_time: int
    of: int
    ended: bool


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
        self, who: str, aircraft: Aircraft, fingerprint: str, result: Result, at: datetime,
        attempt: int = 0,
    ) -> None:  # fmt: skip
        """Write one practice, and that its attempt was counted; it is on the disk then.

        Raises LogbookError.
        """
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
            if attempt:
                of = len(result.calls)
                in_time = sum(one.outcome == HIT for one in result.calls)
                db.execute(_SCORED, (attempt, row[0], of, in_time, of, COUNTED))

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

    def begin(
        self, who: str, aircraft: Aircraft, drill: Drill, roles: str, of: int, at: datetime
    ) -> int:
        """Write that a drill of so many calls begins; its number.  Raises LogbookError."""
        row = (at.isoformat(timespec="seconds"), who, aircraft.name, drill.id, drill.title, roles)
        with self._said(), closing(self._open()) as db, db:
            made = db.execute(
                "INSERT INTO attempt (at, who, aircraft, drill, title, roles)"
                " VALUES (?, ?, ?, ?, ?, ?)",
                row,
            )
            number = int(made.lastrowid or 0)
            db.execute(_SCORED, (number, row[0], 0, 0, of, GOES_ON))
        return number

    def scored(
        self, attempt: int, calls: tuple[int, int, int], at: datetime, *, ended: bool
    ) -> None:
        """Write what a drill has come to.  Raises LogbookError.

        Args:
            attempt: its number
            calls: those that are over, those of them in time, and all of the drill
            at: now
            ended: nothing more comes of it
        """
        how = ENDED if ended else GOES_ON
        row = (attempt, at.isoformat(timespec="seconds"), *calls, how)
        with self._said(), closing(self._open()) as db, db:
            db.execute(_SCORED, row)

    def cut_short(self, who: str, aircraft: str) -> tuple[CutShort, ...]:
        """The drills of this person that were begun and not gone through, oldest first."""
        with self._said(), closing(self._open()) as db:
            rows = db.execute(
                "SELECT a.id, a.at, a.drill, a.title, a.roles, s.calls, s.in_time, s.of, s.how"
                " FROM attempt a JOIN scored s"
                " ON s.id = (SELECT max(id) FROM scored WHERE attempt = a.id)"
                " WHERE a.who = ? AND a.aircraft = ? AND s.how <> ? ORDER BY a.id",
                (who, aircraft, COUNTED),
            ).fetchall()
        return tuple(_cut(row) for row in rows)

    def last_attempt(self, who: str, aircraft: str) -> CutShort | None:
        """The last drill of this person, if it was not gone through."""
        with self._said(), closing(self._open()) as db:
            last = db.execute(
                "SELECT max(id) FROM attempt WHERE who = ? AND aircraft = ?", (who, aircraft)
            ).fetchone()[0]
        return next((one for one in self.cut_short(who, aircraft) if one.number == last), None)

    def people(self) -> tuple[str, ...]:
        """Everybody who is in the book."""
        with self._said(), closing(self._open()) as db:
            rows = db.execute("SELECT DISTINCT who FROM practice ORDER BY who").fetchall()
        return tuple(row[0] for row in rows)

    def _open(self) -> sqlite3.Connection:
        db = sqlite3.connect(self.path, timeout=10.0)
        try:
            db.execute("PRAGMA synchronous = FULL")
        except sqlite3.Error:  # no database at all
            db.close()
            raise
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
                f"BEGIN; {TABLES} {ATTEMPTS} PRAGMA application_id = {APPLICATION};"
                f" PRAGMA user_version = {VERSION}; COMMIT;"
            )
        elif version < VERSION:
            db.executescript(f"BEGIN; {ATTEMPTS} PRAGMA user_version = {VERSION}; COMMIT;")

    @contextmanager
    def _said(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            raise LogbookError(f"The practice book {self.path} cannot be used: {error}.") from None


def _cut(row: tuple[Any, ...]) -> CutShort:
    number, at, drill, title, roles, calls, in_time, of, how = row
    begun = datetime.fromisoformat(at)
    return CutShort(number, begun, drill, title, roles, calls, in_time, of, ended=how == ENDED)


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
