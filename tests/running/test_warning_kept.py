"""The real program, killed while a warning stands: the next run says it again, at once.

Readings come as lines over UDP, answers are typed; text in place of a voice.
"""

from __future__ import annotations

import json
import os
import socket
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

from virtual_sound import PATIENCE, Program

from callout.engine.events import Reading
from callout.logbook.store import Logbook

WRENLET = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
settings: {answer_time: 60 s}
gauges:
  heat:
    unit: degC
    range: 0 to 1000
    limits: {any: {caution: {above: 650}, never: {above: 720}}}
lists:
  look:
    title: short look
    items:
      - {call: fuel lever, answer: closed}
      - {call: tail rotor, answer: free to turn}
"""

WARNING = "Warning. Heat seven three zero degrees, never above seven two zero."


class Run:
    """One run of the same command."""

    def __init__(self, folder: Path, port: int) -> None:
        command = [
            *(sys.executable, "-m", "callout", "run", str(folder / "wrenlet.yaml"), "look"),
            *("--ear", "keys", "--speak", "none", "--logbook", str(folder / "log.db")),
            *("--feed", f"udp:{port}"),
        ]
        self.program = Program(command, os.environ)

    def close(self) -> None:
        self.program.close()

    def count(self, text: str) -> int:
        return sum(text in line for line in self.program.lines)


def free_port() -> int:
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


class Gauge(threading.Thread):
    """Sends its value five times a second."""

    def __init__(self, port: int) -> None:
        super().__init__(daemon=True)
        self.value = 300
        self._port = port
        self._over = threading.Event()

    def run(self) -> None:
        with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as one:
            while not self._over.wait(0.2):
                line = json.dumps({"heat": self.value}) + "\n"
                one.sendto(line.encode(), ("127.0.0.1", self._port))

    def close(self) -> None:
        self._over.set()
        self.join()


def facts(folder: Path) -> list[str]:
    with Logbook.read(folder / "log.db") as logbook:
        return [fact.fact for _, fact in logbook.facts(1)]


def test_a_warning_outlives_a_kill_until_somebody_says_roger(tmp_path: Path):
    (tmp_path / "wrenlet.yaml").write_text(WRENLET, encoding="utf-8")
    port = free_port()
    with closing(Gauge(port)) as gauge:
        gauge.start()
        _hot_and_killed(tmp_path, port, gauge)
        _taken_up_and_answered(tmp_path, port, gauge)

    found = facts(tmp_path)
    assert 1 == found.count("warning answered")
    assert 2 == found.count("limit passed")


def _wait_until_read(folder: Path, value: int) -> None:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        with Logbook.read(folder / "log.db") as logbook:
            events = [event for _, event in logbook.events(1)]
        if any(isinstance(event, Reading) and event.value == value for event in events):
            return
        time.sleep(0.2)
    raise AssertionError(f"no reading of {value} is in the log")


def _hot_and_killed(folder: Path, port: int, gauge: Gauge) -> None:
    """Said, said again as nobody answers, and killed."""
    with closing(Run(folder, port)) as run:
        run.program.wait_for("Fuel lever?")
        gauge.value = 730
        here = run.program.wait_for(WARNING)
        run.program.wait_for(WARNING, after=here)
        run.program.process.kill()
        run.program.wait()
    assert "warning answered" not in facts(folder)


def _taken_up_and_answered(folder: Path, port: int, gauge: Gauge) -> None:
    """Said before anything else; silent from roger on, until the cause recurs."""
    with closing(Run(folder, port)) as run:
        run.program.wait_for("Interrupted for")
        assert WARNING in run.program.lines[0]
        time.sleep(1.5)
        run.program.type("roger")
        run.program.wait_for("roger")
        said = run.count(WARNING)
        time.sleep(7.5)
        assert said == run.count(WARNING)
        gauge.value = 600
        _wait_until_read(folder, 600)
        time.sleep(1.5)
        gauge.value = 730
        run.program.wait_for(WARNING, after=len(run.program.lines))
