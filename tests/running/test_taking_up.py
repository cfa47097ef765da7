"""A live session that was killed is taken up where it stopped, nothing lost or invented."""

from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import IO

from callout.checklist.load import load_all
from callout.engine.events import SessionOpened
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.clock import RealClock

AIRCRAFT = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
gauges:
  battery-voltage: {unit: V, range: 0 to 32, decimals: 1}
lists:
  before-start:
    title: before start
    items:
%s
"""

NAMES = ("alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel")


def aircraft(folder: Path) -> Path:
    items = "".join(
        f"      - {{id: {name}, call: {name} lever, answer: {name} closed}}\n" for name in NAMES
    )
    file = folder / "rig.yaml"
    file.write_text(AIRCRAFT % items, encoding="utf-8")
    return file


class Program:
    """`callout run` with typed answers, text only, in real time."""

    def __init__(self, file: Path, logbook: Path, *more: str) -> None:
        self.logbook = logbook
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "callout", "run", str(file)),
                *("--ear", "keys", "--speak", "none", "--logbook", str(logbook), *more),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            bufsize=1,
        )

    def type(self, line: str) -> None:
        stdin: IO[str] | None = self.process.stdin
        assert stdin is not None
        stdin.write(line + "\n")
        stdin.flush()

    def read_until(self, text: str) -> str:
        """Lines up to the one that holds the text; fails if the program ends before."""
        stdout: IO[str] | None = self.process.stdout
        assert stdout is not None
        lines = []
        for line in stdout:
            lines.append(line)
            if text in line:
                return "".join(lines)
        raise AssertionError(f"no line with {text!r} in {''.join(lines)}")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.close()

    def close(self) -> int:
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            if pipe is not None:
                pipe.close()
        return self.process.wait(120)


def facts(logbook: Path, name: str) -> list[str]:
    with closing(sqlite3.connect(logbook)) as base:
        rows = base.execute(
            "SELECT about FROM entries WHERE kind = 'fact' AND name = ? ORDER BY seq", (name,)
        )
        return [row[0] for row in rows]


def test_killed_after_an_answer_it_says_where_it_stands_and_goes_on(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    first = Program(file, logbook)
    first.read_until("Alpha lever?")
    first.type("alpha closed")
    first.read_until("Bravo lever?")
    first.kill()
    time.sleep(1.2)
    second = Program(file, logbook)
    told = second.read_until("Say resume.")
    assert "Interrupted for" in told
    assert "Item bravo lever." in told
    second.type("resume")
    assert "Last item: alpha lever, alpha closed." in second.read_until("Bravo lever?")
    for name in NAMES[1:]:
        second.type(f"{name} closed")
        second.read_until(f"{name} closed")
    second.read_until("Session ended.")

    assert 0 == second.close()
    assert [f"before-start/{name}" for name in NAMES] == facts(logbook, "ticked")
    assert ["before-start"] == facts(logbook, "list complete")
    assert 1 == len(facts(logbook, "came back"))


def test_killed_at_random_moments_every_tick_is_there_once(tmp_path: Path):
    """The kill falls anywhere: while it starts, replays, writes, or waits."""
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    rng, takes = random.Random(4), seconds_to("Alpha lever?", file, tmp_path / "first.db")
    for _ in NAMES[1:]:  # one answer a run at the most, so that one is left for the last
        done = set(facts(logbook, "ticked")) if has_entries(logbook) else set()
        program = Program(file, logbook)
        program.type("resume")
        for name in NAMES:
            if f"before-start/{name}" not in done:
                program.type(f"{name} closed")
                break
        time.sleep(rng.uniform(0.2, 2.0) * takes)
        program.kill()
    begun = has_entries(logbook)
    done = set(facts(logbook, "ticked")) if begun else set()
    last = Program(file, logbook)
    if begun:
        last.read_until("Say resume.")
        last.type("resume")
    for name in (name for name in NAMES if f"before-start/{name}" not in done):
        last.read_until(f"{name} lever?".capitalize())
        last.type(f"{name} closed")
    last.read_until("Session ended.")

    assert 0 == last.close()
    assert [f"before-start/{name}" for name in NAMES] == facts(logbook, "ticked")


def seconds_to(text: str, file: Path, logbook: Path) -> float:
    """How long a start takes here, up to the line that holds the text."""
    began, program = time.monotonic(), Program(file, logbook)
    program.read_until(text)
    program.kill()
    return time.monotonic() - began


def has_entries(logbook: Path) -> bool:
    if not logbook.exists():
        return False
    with closing(sqlite3.connect(logbook)) as base:
        tables = base.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'entries'")
        if not tables.fetchone()[0]:
            return False
        return bool(base.execute("SELECT count(*) FROM entries").fetchone()[0])


def test_a_changed_aircraft_file_is_not_taken_up(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    first = Program(file, logbook)
    first.read_until("Alpha lever?")
    first.kill()
    file.write_text(file.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    second = Program(file, logbook)

    assert "Interrupted" not in second.read_until("Alpha lever?")
    second.kill()


def test_new_starts_afresh_and_ends_the_unfinished_session(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    first = Program(file, logbook)
    first.read_until("Alpha lever?")
    first.kill()
    second = Program(file, logbook, "--new")
    assert "Interrupted" not in second.read_until("Alpha lever?")
    second.kill()
    with closing(sqlite3.connect(logbook)) as base:
        assert [("given up",)] == base.execute("SELECT how FROM ends").fetchall()


def test_when_nobody_can_answer_it_stops_and_says_how_to_go_on(tmp_path: Path):
    program = Program(aircraft(tmp_path), tmp_path / "log.db")
    program.read_until("Alpha lever?")
    stdin: IO[str] | None = program.process.stdin
    assert stdin is not None
    stdin.close()
    program.process.stdin = None
    _, error = program.process.communicate(timeout=120)

    assert 1 == program.process.returncode
    assert "run the same command to go on" in error


def test_a_session_killed_before_its_first_event_is_opened_all_the_same(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    with Logbook.open(logbook) as book:
        stamp = RealClock().stamp(0.0)
        book.begin("Test rig", "1", str(file), load_all(file).fingerprint, stamp)
    program = Program(file, logbook)
    program.read_until("Alpha lever?")
    program.kill()

    assert [1] == sessions(logbook)


def test_a_session_of_another_day_is_not_taken_up(tmp_path: Path):
    """Its ticks say nothing about the machine as it stands now."""
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    with Logbook.open(logbook) as book:
        long_ago = Stamp(0.0, "2026-01-01T09:00:00.000Z", 5.0, "another start of the machine")
        number = book.begin("Test rig", "1", str(file), load_all(file).fingerprint, long_ago)
        book.append(number, SessionOpened(), (), long_ago)
    program = Program(file, logbook)
    assert "Interrupted" not in program.read_until("Alpha lever?")
    program.kill()

    assert [1, 2] == sessions(logbook)
    with closing(sqlite3.connect(logbook)) as base:
        assert [("too long ago",)] == base.execute("SELECT how FROM ends").fetchall()


def sessions(logbook: Path) -> list[int]:
    with closing(sqlite3.connect(logbook)) as base:
        return [row[0] for row in base.execute("SELECT session FROM sessions ORDER BY session")]
