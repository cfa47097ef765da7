"""The cool-down's time on the machine's clocks: suspend, a wall clock that is set, kills.

The clocks are values that the test moves; each look at one costs time, as in life.
The program's own parts run: conductor, logbook on disk, the session taken up.
The bar of 0.1 s in 10 min is the project's own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from callout.checklist.load import Loaded, load_all
from callout.ear.keys_ear import KeysEar
from callout.engine.events import Resumed
from callout.logbook.stamp import elapsed
from callout.logbook.store import Logbook
from callout.running.clock import RealClock, System
from callout.running.conductor import Conductor, Written
from callout.running.mouth import Mouth
from callout.running.opened import session_opened
from callout.running.outputs import Nowhere
from callout.running.taking_up import taken_up

FILE = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
engine_states: [cool-down]
counters:
  attempts:
    seconds: {from: cool/idle, to: shut/lever}
    most: 3
    rest: 20 min
cool_down:
  wait: cool/wait
  starts: cool/idle
  blocks: shut/lever
lists:
  cool:
    engine_state: cool-down
    items:
      - {id: idle, call: twist grip, answer: ground idle}
      - {id: wait, call: cool down, wait: 10 min, marks: [5 min, 1 min]}
  shut:
    items:
      - {id: lever, call: fuel lever, answer: closed}
"""

LENGTH = 600.0
BAR = 0.1


@dataclass
class Machine:
    """An invented machine: how long it has run, what its wall clock says, which start it is."""

    true: float = 50_000.0
    wall_offset: float = 0.0
    booted_at: float = 0.0
    boot_id: str = "first"
    cost: float = 0.001
    open: ExitStack = field(default_factory=ExitStack)
    """Logbooks of the programs that ran on it; closing one twice does nothing."""

    def _look(self) -> float:
        self.true += self.cost
        return self.true

    def system(self) -> System:
        begin = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
        return System(
            boot=lambda: self._look() - self.booted_at,
            wall=lambda: begin + timedelta(seconds=self._look() + self.wall_offset),
            boot_id=lambda: self.boot_id,
        )


class Screen:
    """Nobody looks."""

    def line(self, now: float, who: str, text: str) -> None:
        """One line."""


@dataclass
class Program:
    """One run of the program, from its start until it is killed."""

    machine: Machine
    loaded: Loaded
    path: Path
    done_at: float | None = None

    def start(self) -> Program:
        """As the live session begins, or is taken up."""
        system = self.machine.system()
        self.logbook = self.machine.open.enter_context(Logbook.open(self.path))
        row = self.logbook.unfinished()
        session, self.clock, gap = taken_up(self.loaded, self.logbook, row, system)
        first = Resumed(gap)
        number = row.session if row else 0
        if row is None:
            stamp = self.clock.stamp(0.0)
            number = self.logbook.begin("Test rig", "1", "rig.yaml", "same", stamp)
            first = session_opened((), self.loaded.aircraft, self.logbook, number, stamp)
        mouth = Mouth(None, Nowhere(), print)
        written = Written(self.logbook, number)
        self.conductor = Conductor(session, written, self.clock, mouth, _nothing, Screen())
        self.conductor.handle(first)
        return self

    def type(self, line: str) -> None:
        ear = KeysEar(self.clock.now)
        ear.listen_for(self.conductor.session.state.grammar)
        for event in ear.hear(line):
            self.conductor.handle(event)

    def run(self, seconds: float) -> None:
        """Awake for so long: whatever is due is done at once."""
        until = self.machine.true + seconds
        while self.machine.true < until:
            while self.conductor.pass_time():
                if self.done_at is None and self.done():
                    self.done_at = self.machine.true
            due = self.conductor.next_due()
            wait = until - self.machine.true
            if due is not None:
                wait = min(wait, max(0.0, due - self.clock.now()))
            self.machine.true += wait

    def suspend(self, seconds: float) -> None:
        """Asleep: the boot clock goes on, nothing runs."""
        self.machine.true += seconds

    def kill(self, away: float) -> Program:
        """SIGKILL, and started again after a while."""
        self.logbook.close()
        self.machine.true += away
        return Program(self.machine, self.loaded, self.path).start()

    def done(self) -> bool:
        return self.conductor.session.state.duties.cooling.done


def _nothing(grammar: object) -> None:
    """No ear."""


@pytest.fixture
def begun(tmp_path: Path) -> Iterator[tuple[Program, float]]:
    """The cool-down has begun at this true time."""
    file = tmp_path / "rig.yaml"
    file.write_text(FILE, encoding="utf-8")
    program = Program(Machine(), load_all(file), tmp_path / "log.db").start()
    program.run(5.0)
    program.type("ground idle")
    assert program.conductor.session.state.duties.cooling.began is not None
    with program.machine.open:
        yield program, program.machine.true


def finished_at(program: Program) -> float:
    """True time at which the program calls it done."""
    while program.done_at is None:
        program.run(10.0)
    return program.done_at


def error(program: Program, began: float) -> float:
    return finished_at(program) - began - LENGTH


def test_undisturbed(begun: tuple[Program, float]):
    program, began = begun

    assert abs(error(program, began)) < BAR


@pytest.mark.parametrize("asleep", [1.0, 60.0, 300.0])
def test_across_a_suspend(begun: tuple[Program, float], asleep: float):
    program, began = begun
    program.run(100.0)
    program.suspend(asleep)

    assert abs(error(program, began)) < BAR


@pytest.mark.parametrize("jump", [-7200.0, -3.0, 3.0, 7200.0])
def test_across_a_jump_of_the_wall_clock(begun: tuple[Program, float], jump: float):
    program, began = begun
    program.run(100.0)
    program.machine.wall_offset += jump

    assert abs(error(program, began)) < BAR


@pytest.mark.parametrize("jump", [-7200.0, 0.0, 7200.0])
def test_across_a_kill_with_the_wall_clock_set_meanwhile(begun: tuple[Program, float], jump: float):
    program, began = begun
    program.run(100.0)
    program.machine.wall_offset += jump
    program = program.kill(away=37.3)

    assert abs(error(program, began)) < BAR


def test_across_thirty_kills_at_random_moments_and_a_suspend_between(
    begun: tuple[Program, float],
):
    """Whatever one kill loses adds up."""
    program, began = begun
    rng = random.Random(5)
    for _ in range(30):
        program.run(rng.uniform(0.0, 10.0))
        program.suspend(rng.uniform(0.0, 2.0))
        program = program.kill(away=rng.uniform(0.0, 3.0))

    assert abs(error(program, began)) < BAR


def test_across_a_kill_and_a_restart_of_the_machine(begun: tuple[Program, float]):
    """Only the wall clock is left: to its thousandth of a second."""
    program, began = begun
    program.run(100.0)
    program.logbook.close()
    program.machine.true += 40.0
    program.machine.booted_at, program.machine.boot_id = program.machine.true - 10.0, "second"
    program = Program(program.machine, program.loaded, program.path).start()

    assert abs(error(program, began)) < BAR


def test_all_of_it_together(begun: tuple[Program, float]):
    program, began = begun
    program.run(60.0)
    program.suspend(90.0)
    program.machine.wall_offset += 5000.0
    program.run(30.0)
    program = program.kill(away=45.0)
    program.machine.wall_offset -= 9000.0
    program.run(20.0)
    program.suspend(15.0)
    program = program.kill(away=5.0)

    assert abs(error(program, began)) < BAR


def test_a_kill_that_outlasts_it_leaves_it_done(begun: tuple[Program, float]):
    program, _ = begun
    program.run(100.0)
    program = program.kill(away=LENGTH)
    program.run(0.1)

    assert program.done()


def test_time_never_runs_backwards_for_it_when_the_wall_clock_does(begun: tuple[Program, float]):
    """Invariant 7, with nothing but a wall clock: no boot is known, and it was set back."""
    program, began = begun
    program.run(100.0)
    program.logbook.close()
    program.machine.wall_offset -= 3600.0
    program.machine.boot_id = ""
    program.machine.true += 40.0
    program = Program(program.machine, program.loaded, program.path).start()

    assert error(program, began) > 40.0 - BAR, "time that no clock knows of cools nothing"


def test_a_count_is_there_once_however_often_it_is_killed(begun: tuple[Program, float]):
    program, _ = begun
    for _ in range(5):
        program = program.kill(away=1.0)
        program.run(0.5)

    (tally,) = program.conductor.session.state.duties.tallies
    assert 1.0 == tally.turns
    assert 1 == [fact.fact for _, fact in program.logbook.facts(1)].count("counted")


def test_stamps_are_of_the_moment_they_name():
    """The same moment however long after it was written down."""
    machine = Machine(cost=0.25)
    clock = RealClock(system=machine.system())
    now = clock.now()
    first, second = clock.stamp(now), clock.stamp(now)

    assert 0.0 == elapsed(first, second)
    assert now == first.now
