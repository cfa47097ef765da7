"""The program is told to end, meets itself, sleeps or starves: what is said and what is kept.

The program itself, with typed answers. Times are only lower bounds: on a machine that has
no time for it everything may take longer, but nothing may come sooner or be lost.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from test_taking_up import NAMES, Program, aircraft, facts

from callout.logbook.store import Logbook
from callout.running.signals import TERMINATED


def first_answered(file: Path, logbook: Path) -> Program:
    program = Program(file, logbook)
    program.read_until("Alpha lever?")
    program.type("alpha closed")
    program.read_until("Bravo lever?")
    return program


def unfinished(logbook: Path) -> bool:
    with Logbook.open(logbook) as one:
        return one.unfinished() is not None


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=["told to end", "closed"])
def test_ended_by_the_system_or_with_its_terminal_it_can_be_taken_up(
    tmp_path: Path, number: signal.Signals
):
    """It tells that the session is kept. The log holds the tick and no end."""
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    first = first_answered(file, logbook)
    first.process.send_signal(number)
    assert TERMINATED == first.process.wait(120)
    assert "The session is kept: run the same command to go on." in first.process.stderr.read()
    first.close()
    assert unfinished(logbook)

    second = Program(file, logbook)
    assert "Item bravo lever." in second.read_until("Say resume.")
    second.kill()
    assert ["before-start/alpha"] == facts(logbook, "ticked")


def test_ctrl_c_twice_ends_it_at_once_and_the_log_is_whole(tmp_path: Path):
    """The first ends the session, the second what is still being said."""
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    program = first_answered(file, logbook)
    program.process.send_signal(signal.SIGINT)
    program.read_until("Session ended.")
    program.process.send_signal(signal.SIGINT)
    program.process.wait(120)
    program.close()

    assert not unfinished(logbook)
    assert ["before-start/alpha"] == facts(logbook, "ticked")
    assert 1 == len(facts(logbook, "session ended"))


def test_ctrl_c_twice_at_the_same_moment_loses_no_tick(tmp_path: Path):
    """Whichever comes first, the log holds what was answered, and is whole."""
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    program = first_answered(file, logbook)
    program.process.send_signal(signal.SIGINT)
    program.process.send_signal(signal.SIGINT)
    program.process.wait(120)

    assert "Traceback" not in program.process.stderr.read()
    program.close()
    unfinished(logbook)
    assert ["before-start/alpha"] == facts(logbook, "ticked")


INTERRUPTED = """
import os, signal
from callout.running import live_run
finish = live_run.finish
def interrupted(*given):
    os.kill(os.getpid(), signal.SIGINT)
    finish(*given)
live_run.finish = interrupted
from callout.cli.main import main
main(prog_name="callout")
"""
"""The real program, and somebody who presses Ctrl-C just as the session's end is written."""


def test_ctrl_c_while_the_end_is_written_leaves_no_half_of_it(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    options = ("--ear", "keys", "--speak", "none", "--logbook", str(logbook))
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED, "run", str(file), *options],
        input="".join(f"{name} closed\n" for name in NAMES),
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip

    assert (0, "") == (done.returncode, done.stderr)
    assert not unfinished(logbook)


def test_a_second_program_on_the_same_logbook_is_refused_and_the_first_goes_on(tmp_path: Path):
    file, logbook = aircraft(tmp_path), tmp_path / "log.db"
    first = first_answered(file, logbook)
    second = Program(file, logbook)
    assert 2 == second.process.wait(120)
    told = second.process.stderr.read()
    assert f"(process {first.process.pid})" in told
    assert "Traceback" not in told
    second.close()

    first.type("bravo closed")
    first.read_until("Charlie lever?")
    first.kill()
    assert [f"before-start/{name}" for name in NAMES[:2]] == facts(logbook, "ticked")
    assert 1 == len(facts(logbook, "session opened"))


WAITING = """\
callout: 1
aircraft:
  name: Test rig
  revision: "1"
  written_by: nobody, invented for this test
  limits_from: {handbook: "none, invented"}
lists:
  look:
    title: short look
    items:
      - {call: fuel lever, answer: closed}
      - {call: warm up, wait: 3 s}
      - {call: tail rotor, answer: free to turn}
"""

BUSY = "while True: pass"


@contextmanager
def starved() -> Iterator[None]:
    """Two programs that take all they can get, and what is started here last in line."""
    loops = [subprocess.Popen([sys.executable, "-c", BUSY]) for _ in range(2)]
    try:
        yield
    finally:
        for loop in loops:
            loop.kill()
            loop.wait()


@pytest.mark.devices
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="lists threads by /proc")
def test_starved_it_is_slower_but_loses_nothing_and_no_wait_is_shorter(tmp_path: Path):
    """Nice 15 beside two busy loops, from its first call to its last."""
    file, logbook = tmp_path / "rig.yaml", tmp_path / "log.db"
    file.write_text(WAITING, encoding="utf-8")
    program = Program(file, logbook)
    program.read_until("Fuel lever?")
    with starved():
        for thread in os.listdir(f"/proc/{program.process.pid}/task"):
            os.setpriority(os.PRIO_PROCESS, int(thread), 15)
        time.sleep(1.0)
        program.type("closed")
        program.read_until("Tail rotor?")
        time.sleep(1.0)
        program.type("free to turn")
        program.read_until("Session ended.")
        assert 0 == program.process.wait(240)
    program.close()

    with Logbook.read(logbook) as one:
        ticks = [dict(fact.data)["answer"] for _, fact in one.facts(1) if fact.fact == "ticked"]
    assert ["closed", "free to turn"] == [ticks[0], ticks[2]]
    assert 3.0 <= float(ticks[1].removesuffix(" s"))
