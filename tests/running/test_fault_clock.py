"""The machine sleeps for an hour, or its wall clock is set back a day, in mid-list.

What the pilot reads and what the log holds; the machine is the invented one of
test_duties_clock.py, which has the same for the time of a cool-down.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest
from test_duties_clock import FILE, Machine, Program

from callout.checklist.load import load_all

HOUR, DAY = 3600.0, 86_400.0


class Lines:
    """A screen that keeps what was shown."""

    def __init__(self) -> None:
        self.shown: list[str] = []

    def line(self, now: float, who: str, text: str) -> None:
        self.shown.append(text)


@pytest.fixture
def asked(tmp_path: Path) -> Iterator[tuple[Program, Lines]]:
    """The first item has been asked for five seconds."""
    file = tmp_path / "rig.yaml"
    file.write_text(FILE, encoding="utf-8")
    program = Program(Machine(), load_all(file), tmp_path / "log.db").start()
    program.run(5.0)
    lines = Lines()
    program.conductor._screen = lines
    with program.machine.open:
        yield program, lines


def facts(program: Program) -> list[str]:
    return [fact.fact for _, fact in program.logbook.facts(1)]


def test_after_an_hour_s_sleep_the_item_is_asked_again_and_nothing_is_ticked(
    asked: tuple[Program, Lines],
):
    """Nobody answered for an hour: asked once more, then parked, as without the sleep."""
    program, lines = asked
    program.suspend(HOUR)
    program.run(1.0)
    assert "Twist grip?" == lines.shown[-1]
    program.run(60.0)

    assert "No answer. Standing by." == lines.shown[-1]
    assert ["no answer", "no answer", "parked"] == facts(program)[-3:]
    assert "ticked" not in facts(program)
    program.type("resume")
    program.run(3.0)
    program.type("ground idle")
    assert "ticked" in facts(program)


def test_a_timed_wait_over_which_the_machine_slept_is_over_and_its_marks_are_not_said_late(
    asked: tuple[Program, Lines],
):
    program, lines = asked
    program.type("ground idle")
    program.run(30.0)
    lines.shown.clear()
    program.suspend(HOUR)
    program.run(1.0)

    said = " ".join(lines.shown)
    assert "Cool down, time complete." in said
    assert "minute" not in said
    assert 1 == facts(program).count("cool-down complete")


@pytest.mark.parametrize("jump", [-DAY, DAY])
def test_a_wall_clock_that_is_set_by_a_day_changes_nothing_but_the_day_written_down(
    asked: tuple[Program, Lines], jump: float
):
    program, lines = asked
    before = list(lines.shown)
    program.machine.wall_offset += jump
    program.run(1.0)
    assert before == lines.shown
    program.type("ground idle")
    program.run(0.5)
    path = program.path
    program.logbook.close()

    with closing(sqlite3.connect(path)) as base:
        rows = base.execute("SELECT now, wall FROM entries ORDER BY seq").fetchall()
    times = [now for now, _ in rows]
    assert sorted(times) == times, "session time never falls"
    first, last = (datetime.fromisoformat(wall) for _, wall in (rows[0], rows[-1]))
    assert abs((last - first).total_seconds() - jump) < 60
