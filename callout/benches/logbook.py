"""A logbook of many invented sessions, and how long it takes to read.

Rule of this file: the entries are like those of the recorded flying day, as many and as
long, but their figures are invented; every tenth has a squawk with its recording, and the
sessions that are reported on have half an hour of a gauge feed. They are written by bulk
into the tables that the logbook itself makes; everything after that is measured on the
commands as people use them, each in a process of its own.
"""

from __future__ import annotations

import json
import os
import random
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

from callout.benches.logbook_rows import Line, fact, feed, keep, squawk
from callout.checklist.content import counting
from callout.checklist.load import Loaded
from callout.checklist.model import Await, Item, ListKind, ReadValue
from callout.engine.answers import wanted_band
from callout.logbook.history import past
from callout.logbook.lists_flown import flown
from callout.logbook.squawks import told
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook

MANY = "many.db"
"""Name of the logbook that is made."""

_FIRST = datetime(2031, 1, 1, 8, tzinfo=UTC)
_BETWEEN = timedelta(hours=4.4)
"""From one session to the next: 20,000 of them are ten years of a busy club."""

_BATCH = 250
"""Sessions written at once."""

_SEQ = "INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_SESSION = "INSERT INTO sessions VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
_END = "INSERT INTO ends VALUES (?, ?, ?, ?, ?, ?)"


@dataclass(frozen=True, slots=True)
class Took:
    """Seconds, and what was read; `_work` is of the processor, for a machine that is not idle."""

    sessions: int
    entries: int
    megabytes: float
    writing: float
    opening: float
    opening_all: float
    opening_empty: float
    whole_check: float
    reports: tuple[float, ...]
    reports_work: float
    paper: float
    trends: float
    trends_work: float
    log: float
    backup: float
    told: tuple[str, ...]


def make(path: Path, loaded: Loaded, file: Path, sessions: int, seed: int = 1) -> int:
    """Write the logbook; gives the number of its entries."""
    with Logbook.open(path):
        pass
    dice = random.Random(seed)  # noqa: S311 - invented figures, no secret
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("PRAGMA journal_mode = OFF")
        kept = _taken_off(connection)
        seq = 0
        connection.execute("BEGIN")
        for number in range(1, sessions + 1):
            began = _FIRST + number * _BETWEEN
            seq = _write(connection, loaded, file, number, seq, began, dice, sessions)
            if number in reported_on(sessions):
                wall = began.isoformat(timespec="milliseconds").replace("+00:00", "Z")
                feed(connection, loaded.aircraft, number, seq, wall, f"invented-{number}")
        connection.execute("COMMIT")
        for sql in kept:
            connection.execute(sql)
        connection.execute("PRAGMA journal_mode = WAL")
    return seq


def reported_on(sessions: int) -> list[int]:
    """The first, the middle and the last."""
    return sorted({1, max(1, sessions // 2), sessions})


def _taken_off(connection: sqlite3.Connection) -> list[str]:
    """Indexes and triggers, which are put back when the rows stand."""
    query = (
        "SELECT type, name, sql FROM sqlite_schema "
        "WHERE type IN ('index', 'trigger') AND sql IS NOT NULL"
    )
    found = connection.execute(query).fetchall()
    for kind, name, _ in found:
        connection.execute(f"DROP {kind} {name}")
    return [sql for _, _, sql in sorted(found)]


def _write(
    connection: sqlite3.Connection, loaded: Loaded, file: Path, number: int, seq: int,
    began: datetime, dice: random.Random, of: int,
) -> int:  # fmt: skip
    """One session; gives the seq of its last entry."""
    aircraft, boot = loaded.aircraft, f"invented-{number}"
    wall = began.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    name = (aircraft.name, aircraft.revision, str(file), loaded.fingerprint)
    connection.execute(_SESSION, (number, *name, 0.0, wall, 100.0, boot))
    rows, event, now = [], 0, 0.0
    for is_fact, what, about, data, now in _day(loaded, number, dice, number / of):
        seq += 1
        event = event if is_fact else seq
        kind = "fact" if is_fact else "event"
        at = began + timedelta(seconds=now)
        wall = at.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        of_event = event if is_fact else None
        rows.append((seq, number, of_event, kind, what, about, data, now, wall, 100.0 + now, boot))
    connection.executemany(_SEQ, rows)
    connection.execute(_END, (number, "ended", now, wall, 100.0 + now, boot))
    if any(row[4] == "squawk opened" for row in rows):
        keep(connection, number, wall, boot)
    return seq


def _day(loaded: Loaded, number: int, dice: random.Random, part: float) -> Iterator[Line]:
    """The entries of one flying day; `part` of all sessions went before it."""
    tallies = [["engine-cycles", number - 1.0, 0.0, -15000.0], ["start-attempts", 0, 0, -15800.0]]
    downs = [["gauge", 39.0]] * 20
    yield _event("SessionOpened", 0.0, lists=[], tallies=tallies, run_downs=downs,
                 clock_set_back=False, counting=counting(loaded.aircraft))  # fmt: skip
    now, cold = 0.0, dice.gauss(0.0, 1.0)
    for checklist in loaded.aircraft.lists:
        if checklist.kind is not ListKind.NORMAL:
            continue
        yield fact("list opened", checklist.id, now, title=checklist.title)
        if checklist is loaded.aircraft.lists[0]:
            yield from squawk(number, f"{checklist.id}/{next(iter(checklist.items())).id}", now)
        for item in checklist.items():
            now += 1.5
            yield _event("SpeechEnded", now, say=1)
            yield fact("asked", f"{checklist.id}/{item.id}", now)
            now += 1.0
            if dice.random() < 0.15:
                yield _misheard(now)
                about = f"{checklist.id}/{item.id}"
                yield fact("not understood", about, now, guess="done", why="not in the grammar")
            now += 2.0 + 2.0 * dice.random()
            yield _event("Heard", now, text="ready", certainty=0.98, grammar=1, began=now - 1,
                         ended=now - 0.5, source="built-in")  # fmt: skip
            yield _ticked(checklist.id, item, now)
            yield _event("Clock", now)
        yield from _after(checklist.id, now, number, dice, cold, part)
        yield fact("list complete", checklist.id, now)
    yield fact("session ended", "", now, why="all lists done")


def _after(
    list_id: str, now: float, number: int, dice: random.Random, cold: float, part: float
) -> Iterator[Line]:
    """What is counted and watched in some of the lists."""
    if list_id == "start":
        lit, idle = 4.0 + 0.3 * dice.gauss(0, 1), 24.0 + dice.gauss(0, 1)
        yield fact("counted", "start/starter", now, count="1", counter="start-attempts",
                    on="0.000")  # fmt: skip
        yield fact("count ended", "start/starter-released", now, count="1",
                    counter="start-attempts", on="21.300")  # fmt: skip
        yield fact("start began", "start", now - 60)
        for phase, at in (("light-off", lit), ("idle", idle)):
            yield fact("start phase", "start", now, at=f"{at:.2f}", phase=phase, took="2.00")
        watched = {
            "at light-off": f"{lit:.2f}", "at idle": f"{idle:.2f}",
            "highest exhaust-temperature": f"{650 + 12 * cold:.1f}",
            "lowest battery-voltage": f"{17.6 + 0.25 * dice.gauss(0, 1):.2f}",
        }  # fmt: skip
        yield fact("start watched", "start", now, outcome="complete", seconds="30.00", **watched)
    elif list_id == "cool-down":
        yield fact("cool-down started", "", now - 60, seconds="120")
        yield fact("cool-down complete", "", now, seconds="120.0")
    elif list_id == "shutdown":
        yield fact("counted", "shutdown/fuel-lever", now, count=f"{number}",
                    counter="engine-cycles")  # fmt: skip
    elif list_id == "run-down":
        usual = 39.0 if part < 0.97 else 31.0  # an invented bearing
        seconds = usual + 0.8 * dice.gauss(0, 1)
        yield fact("run-down", "shutdown/fuel-lever", now, by="gauge", seconds=f"{seconds:.2f}")


def _ticked(list_id: str, item: Item, now: float) -> Line:
    band = wanted_band(item) if isinstance(item.task, ReadValue | Await) else None
    answer = "ready" if band is None else str(band.at_least or band.at_most or 40)
    return fact("ticked", f"{list_id}/{item.id}", now, answer=answer, by="built-in",
                 certainty="0.98", latency="1.90", who=item.who.value, words="ready")  # fmt: skip


def _misheard(now: float) -> Line:
    return _event("NotUnderstood", now, why="not in the grammar", guess="done", certainty=0.6,
                  grammar=1, began=now - 1, ended=now - 0.5, source="built-in")  # fmt: skip


def _event(name: str, now: float, **data: object) -> Line:
    return False, name, "", json.dumps(data, separators=(",", ":")), now


def measure(folder: Path, loaded: Loaded, file: Path, sessions: int) -> Took:
    """Make the logbook and time what people do with it."""
    path, began = folder / MANY, time.perf_counter()
    entries = make(path, loaded, file, sessions)
    writing = time.perf_counter() - began
    megabytes = path.stat().st_size / 1e6
    opened = [_opened(path, loaded, sessions) for _ in range(5)]
    every = [_opened(path, loaded, sessions, every=True) for _ in range(3)]
    empty = [_opened(folder / "empty.db", loaded, 0) for _ in range(5)]
    out, command = folder / "page.html", ["report", "--logbook", str(path)]
    reports = [_command(*command, str(one), "--out", str(out)) for one in reported_on(sessions)]
    paper = _command(*command, str(sessions), "--pdf", str(folder / "page.pdf"))[0]
    trends, trends_work, said = _command("trends", str(file), "--logbook", str(path))
    log, *_ = _command("log", "--logbook", str(path))
    backup, *_ = _command("log", "backup", str(folder / "copy.db"), "--logbook", str(path))
    (folder / "copy.db").unlink()
    with closing(sqlite3.connect(path)) as connection:
        began = time.perf_counter()
        connection.execute("PRAGMA quick_check(1)").fetchone()
        whole = time.perf_counter() - began
    return Took(
        sessions, entries, megabytes, writing, median(opened), median(every), median(empty),
        whole, tuple(one[0] for one in reports), max(one[1] for one in reports), paper, trends,
        trends_work, log, backup,
        tuple(line for line in said if line.startswith(("NEW", "Still"))),
    )  # fmt: skip


def _opened(path: Path, loaded: Loaded, sessions: int, *, every: bool = False) -> float:
    """Seconds to open it, look for a session to take up, and know what past ones left.

    `every`: as if no session could be trusted, as after an import, or where another thing is
    counted than before; else as in a session of a file in which a word was changed.
    """
    at = _FIRST + (sessions + 1) * _BETWEEN
    now = Stamp(0.0, at.isoformat().replace("+00:00", "Z"), 5.0, "today")
    began = time.perf_counter()
    with Logbook.open(path) as logbook:
        logbook.unfinished(loaded.fingerprint)
        past(logbook, loaded.aircraft, 0, now, "" if every else "of a changed file")
        told(logbook, loaded.aircraft.name, now)
        flown(logbook, loaded.aircraft.name, 0)
        return time.perf_counter() - began


def _command(*words: str) -> tuple[float, float, list[str]]:
    """Seconds of a command from its call to its end, of processor in it, and what it printed."""
    began, before = time.perf_counter(), os.times()
    done = subprocess.run(
        [sys.executable, "-c", "from callout.cli.main import main; main()", *words],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    took, after = time.perf_counter() - began, os.times()
    work = after.children_user - before.children_user
    return took, work + after.children_system - before.children_system, done.stdout.splitlines()
